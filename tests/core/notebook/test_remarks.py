"""Writing, rewording, moving and removing remarks, and each of them undone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from core.errors import ConflictError, InvalidEntryError, MissingError
from core.notebook.anchors import (
    anchor_at_finding,
    anchor_at_section,
    anchor_at_statement,
    anchor_for,
)
from core.notebook.ports import NotebookStore
from core.notebook.remarks import (
    RewordedRemark,
    change_kind,
    move_remark,
    remarks_here,
    remarks_of,
    remove_remark,
    restore_remark,
    restore_wording,
    reword_remark,
    versions_of,
    write_remark,
)
from core.notebook.values import Anchor, AnchorKind, Remark, RemarkKind
from core.score.places import Passage
from core.score.statements import Section, statements_of
from tests.core.notebook.small_scores import at, small_score

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
PIECE = Anchor(kind=AnchorKind.PIECE)
SCORE = small_score()


def write(
    store: NotebookStore,
    piece_id: int,
    body: str = "Sing.",
    *,
    anchor: Anchor = PIECE,
    now: datetime = NOW,
) -> Remark:
    return write_remark(
        store,
        piece_id=piece_id,
        body=body,
        kind=RemarkKind.READING,
        anchor=anchor,
        now=now,
        zone="Europe/Vienna",
    )


def whole(store: NotebookStore, remark_id: int) -> tuple[object, ...]:
    with store.unit_of_work() as work:
        return work.remarks.get(remark_id), work.remarks.versions(remark_id)


def test_a_remark_is_kept_as_typed(store: NotebookStore, piece_id: int) -> None:
    body = "  *Bass* under the melody,\n\n- pp  \n- **not** slower\n"
    remark = write(store, piece_id, body)
    assert remark == Remark(
        id=remark.id,
        piece_id=piece_id,
        kind=RemarkKind.READING,
        body=body,
        anchor=PIECE,
        created_at=NOW,
        edited_at=NOW,
        zone="Europe/Vienna",
    )
    assert remarks_of(store, piece_id) == (remark,)
    assert versions_of(store, remark.id) == ()


def test_words_are_kept_in_nfc(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id, "e\u0301le\u0301giaque")
    assert remark.body == "élégiaque"
    reworded = reword_remark(store, remark.id, "u\u0308ber", NOW, begins_sitting=True)
    assert reworded.remark.body == "über"


@pytest.mark.parametrize("body", ["", " ", "\n\t\u00a0\n"])
def test_an_empty_remark_is_none(store: NotebookStore, piece_id: int, body: str) -> None:
    remark = write(store, piece_id)
    with pytest.raises(InvalidEntryError, match="write something; to take a remark away, remove"):
        write(store, piece_id, body)
    with pytest.raises(InvalidEntryError, match="write something"):
        reword_remark(store, remark.id, body, NOW, begins_sitting=True)
    assert remarks_of(store, piece_id) == (remark,)


@pytest.mark.parametrize(("body", "code"), [("a\0b", "0000"), ("a\ud834", "D834")])
def test_what_no_database_keeps_is_refused(
    store: NotebookStore, piece_id: int, body: str, code: str
) -> None:
    with pytest.raises(InvalidEntryError, match=rf"leave out the character U\+{code}"):
        write(store, piece_id, body)


def test_no_remark_without_its_piece(store: NotebookStore) -> None:
    with pytest.raises(MissingError, match="no piece 99 "):
        write(store, 99)


def test_one_earlier_wording_a_sitting(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id, "one")
    for minute, (body, begins) in enumerate(
        [("two", True), ("two and a half", False), ("three", True)], start=1
    ):
        reword_remark(store, remark.id, body, NOW + minute * MINUTE, begins_sitting=begins)
    (now,) = remarks_of(store, piece_id)
    assert (now.body, now.created_at, now.edited_at) == ("three", NOW, NOW + 3 * MINUTE)
    kept = [(version.body, version.written_at) for version in versions_of(store, remark.id)]
    assert kept == [("two and a half", NOW + 2 * MINUTE), ("one", NOW)]


def test_the_same_words_change_nothing(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id, "é")
    same = reword_remark(store, remark.id, "e\u0301", NOW + MINUTE, begins_sitting=True)
    assert same.remark == remark
    assert whole(store, remark.id) == (remark, ())
    assert restore_wording(store, same) == remark


def test_rewording_undone_and_done_again(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id, "one")
    states = [whole(store, remark.id)]
    done: list[RewordedRemark] = []
    for body, begins in [("two", True), ("three", False), ("four", True)]:
        done.append(reword_remark(store, remark.id, body, NOW + MINUTE, begins_sitting=begins))
        states.append(whole(store, remark.id))
    for step in (2, 1, 0):
        restore_wording(store, done[step])
        assert whole(store, remark.id) == states[step]
    reword_remark(store, remark.id, "two", NOW + MINUTE, begins_sitting=True)
    assert whole(store, remark.id) == states[1]


def test_two_rewordings_undone_as_one(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id, "one")
    first = reword_remark(store, remark.id, "two", NOW, begins_sitting=True)
    second = reword_remark(store, remark.id, "three", NOW, begins_sitting=False)
    restore_wording(store, RewordedRemark(earlier=first.earlier, remark=second.remark))
    assert whole(store, remark.id) == (remark, ())


def test_undoing_refuses_what_was_changed_meanwhile(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id, "one")
    mine = reword_remark(store, remark.id, "two", NOW, begins_sitting=True)
    reword_remark(store, remark.id, "a colleague's", NOW, begins_sitting=True)
    before = whole(store, remark.id)
    with pytest.raises(ConflictError, match=f"remark {remark.id} .*changed meanwhile"):
        restore_wording(store, mine)
    assert whole(store, remark.id) == before


def test_a_kind_is_changed_and_changed_back(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id)
    changed = change_kind(store, remark.id, RemarkKind.QUESTION)
    assert changed == replace(remark, kind=RemarkKind.QUESTION)
    assert change_kind(store, remark.id, None).kind is None
    change_kind(store, remark.id, remark.kind)
    assert whole(store, remark.id) == (remark, ())


def test_a_remark_is_moved_and_moved_back(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id)
    anchor = anchor_for(SCORE, Passage.of_measures(1, 2))
    assert move_remark(store, remark.id, anchor) == replace(remark, anchor=anchor)
    assert remarks_of(store, piece_id) == (replace(remark, anchor=anchor),)
    move_remark(store, remark.id, remark.anchor)
    assert whole(store, remark.id) == (remark, ())


def test_a_removed_remark_comes_back_whole(store: NotebookStore, piece_id: int) -> None:
    remark = write(store, piece_id, anchor=anchor_for(SCORE, at(1, 2)))
    reword_remark(store, remark.id, "two", NOW, begins_sitting=True)
    reword_remark(store, remark.id, "three", NOW, begins_sitting=True)
    before = whole(store, remark.id)
    removed = remove_remark(store, remark.id)
    assert remarks_of(store, piece_id) == ()
    with pytest.raises(MissingError, match=f"no remark {remark.id} "):
        remove_remark(store, remark.id)
    restore_remark(store, removed)
    assert whole(store, remark.id) == before
    with pytest.raises(ConflictError, match=f"remark {remark.id} is already"):
        restore_remark(store, removed)


def test_there_is_no_such_remark(store: NotebookStore) -> None:
    acts = [
        lambda: reword_remark(store, 7, "words", NOW, begins_sitting=True),
        lambda: change_kind(store, 7, None),
        lambda: move_remark(store, 7, PIECE),
        lambda: remove_remark(store, 7),
    ]
    for act in acts:
        with pytest.raises(MissingError, match="no remark 7 in this notebook"):
            act()


# --------------------------------------------------------------------------------------- here


def remark_at(passage: Passage | None, number: int) -> Remark:
    return Remark(
        id=number,
        piece_id=1,
        kind=None,
        body=str(number),
        anchor=anchor_for(SCORE, passage),
        created_at=NOW + number * MINUTE,
        edited_at=NOW,
    )


REMARKS = (
    remark_at(None, 1),
    remark_at(at(1), 2),
    remark_at(Passage.of_measures(1, 2), 3),
    remark_at(at(4), 4),
    remark_at(None, 5),
    remark_at(at(1, 2), 6),
)


def numbers(passage: Passage | None) -> list[int]:
    return [remark.id for remark in remarks_here(REMARKS, passage, SCORE)]


def test_here_speaks_of_the_current_place_only_the_newest_first() -> None:
    assert numbers(at(1)) == [3, 2]
    assert numbers(Passage.of_measures(1, 1)) == [6, 3, 2]
    assert numbers(Passage.of_measures(2, 3)) == [3]
    assert numbers(at(3)) == []


def test_with_nothing_selected_the_piece_s_own_come_first() -> None:
    assert numbers(None) == [5, 1, 6, 4, 3, 2]


def test_those_of_one_moment_come_by_id() -> None:
    same = [replace(remark, created_at=NOW) for remark in REMARKS]
    assert [remark.id for remark in remarks_here(same, None, SCORE)] == [5, 1, 6, 4, 3, 2]


# ---------------------------------------------------------------------------- at a statement

A = Section(passage=Passage.of_measures(1, 2), label="A")
STATEMENTS = statements_of([A], [0, 1, 2, 1, 2, 3, 4])
FIRST, SECOND = STATEMENTS
ON_FORM = tuple(
    replace(remark_at(None, number), anchor=anchor)
    for number, anchor in enumerate(
        (
            anchor_at_statement(SCORE, FIRST),
            anchor_at_statement(SCORE, SECOND),
            anchor_at_section(SCORE, A, 0),
            anchor_at_finding(SCORE, "key", Passage.of_measures(1, 1)),
            anchor_for(SCORE, at(2)),
            anchor_for(SCORE, at(3)),
        ),
        start=1,
    )
)


def test_second_time_only_is_shown_the_second_time_only() -> None:
    def here(statement: object, passage: Passage | None = None) -> list[int]:
        shown = remarks_here(ON_FORM, passage, SCORE, statement=statement, statements=STATEMENTS)
        return sorted(remark.id for remark in shown)

    assert here(FIRST) == [1, 3, 4, 5]
    assert here(SECOND) == [2, 3, 4, 5]
    assert here(SECOND, Passage.of_measures(2, 2)) == [2, 3, 5]
    assert here(None, Passage.of_measures(1, 2)) == [1, 2, 3, 4, 5]
    assert here(None) == [1, 2, 3, 4, 5, 6]
