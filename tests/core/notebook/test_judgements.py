"""A person's word on findings: kept, replaced, withdrawn, and each of them undone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from core.analysis.keys import Key
from core.errors import ConflictError, InvalidEntryError, MissingError
from core.notebook.judgements import (
    Judged,
    change_judgement,
    judge,
    judge_again,
    judged_value,
    judgements_of,
    restore,
    take_back,
    value_text,
    withdraw,
)
from core.notebook.pieces import remove_piece, restore_piece
from core.notebook.ports import NotebookStore
from core.notebook.typed_json import from_json
from core.notebook.values import JudgedValue, Judgement, Ruling
from core.score.findings import Finding
from core.score.places import Passage
from tests.core.notebook.small_scores import SHA

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
G_MINOR, B_FLAT = Key(tonic=1, mode="minor"), Key(tonic=-2, mode="major")
REGION = Finding(
    kind="key", passage=Passage.of_measures(0, 7), value=B_FLAT, confidence=0.6, evidence=("n1",)
)
OWN = judged_value(G_MINOR)


def say(store: NotebookStore, piece_id: int, **changes: object) -> Judged:
    words = {
        "finding": REGION,
        "score_sha256": SHA,
        "ruling": Ruling.OVERRULED,
        "own_value": OWN,
        "reason": "the D is a pedal point",
        "now": NOW,
        "zone": "Europe/Vienna",
        **changes,
    }
    return judge(store, piece_id=piece_id, **words)


def test_a_judgement_keeps_what_was_judged_and_what_is_said(
    store: NotebookStore, piece_id: int
) -> None:
    judged = say(store, piece_id)
    assert judged.earlier is None
    assert judgements_of(store, piece_id) == (judged.judgement,)
    assert judged.judgement == Judgement(
        id=judged.judgement.id,
        piece_id=piece_id,
        finding_kind="key",
        score_sha256=SHA,
        passage=REGION.passage,
        ruling=Ruling.OVERRULED,
        value=JudgedValue(text="Bb major", data='{"tonic":-2,"mode":"major"}'),
        own_value=JudgedValue(text="G minor", data='{"tonic":1,"mode":"minor"}'),
        reason="the D is a pedal point",
        created_at=NOW,
        edited_at=NOW,
        zone="Europe/Vienna",
    )
    assert from_json(Key, judged.judgement.own_value.data.encode()) == G_MINOR


def test_one_of_the_whole_piece_hangs_on_no_edition(store: NotebookStore, piece_id: int) -> None:
    said = say(store, piece_id, finding=replace(REGION, passage=None))
    assert (said.judgement.score_sha256, said.judgement.passage) == (None, None)


def test_confirming_and_overruling_without_a_word(store: NotebookStore, piece_id: int) -> None:
    yes = say(store, piece_id, ruling=Ruling.CONFIRMED, own_value=None, reason="")
    no = say(store, piece_id, own_value=None, now=NOW + MINUTE)
    assert judgements_of(store, piece_id) == (no.judgement, yes.judgement)


def test_words_are_kept_in_nfc_without_edges(store: NotebookStore, piece_id: int) -> None:
    said = say(
        store, piece_id, reason="trio\u0301", own_value=JudgedValue(text="  mise\u0300re ")
    ).judgement
    assert (said.reason, said.own_value) == ("trió", JudgedValue(text="misère"))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"own_value": JudgedValue(text=" ")}, "own value ' ': write what it is instead"),
        ({"own_value": JudgedValue(text="a\0")}, "own value .*: leave out the character"),
        ({"reason": "a\0"}, "reason .*: leave out the character"),
    ],
)
def test_what_can_t_be_said(
    store: NotebookStore, piece_id: int, changes: dict[str, object], words: str
) -> None:
    with pytest.raises(InvalidEntryError, match=words):
        say(store, piece_id, **changes)
    assert judgements_of(store, piece_id) == ()


def test_who_confirms_says_nothing_else(store: NotebookStore, piece_id: int) -> None:
    with pytest.raises(ValueError, match="own_value is 'G minor' and ruling confirmed"):
        say(store, piece_id, ruling=Ruling.CONFIRMED)


def test_judging_again_replaces_and_every_step_is_undone_and_done_again(
    store: NotebookStore, piece_id: int
) -> None:
    first = say(store, piece_id)
    second = say(
        store,
        piece_id,
        finding=replace(REGION, passage=Passage.of_measures(0, 8)),
        ruling=Ruling.CONFIRMED,
        own_value=None,
        now=NOW + MINUTE,
        replaces=first.judgement.id,
    )
    third = change_judgement(
        store,
        first.judgement.id,
        ruling=Ruling.OVERRULED,
        own_value=OWN,
        reason="after all",
        now=NOW + 2 * MINUTE,
    )
    assert second.earlier == first.judgement
    assert third.earlier == second.judgement
    assert {each.judgement.id for each in (first, second, third)} == {first.judgement.id}
    assert third.judgement.created_at == NOW
    states = [(), *((each.judgement,) for each in (first, second, third))]
    steps = (first, second, third)
    assert judgements_of(store, piece_id) == states[3]
    for _ in range(2):
        for index in (2, 1, 0):
            assert take_back(store, steps[index]) == steps[index].earlier
            assert judgements_of(store, piece_id) == states[index]
        for index in (0, 1, 2):
            assert judge_again(store, steps[index]) == steps[index].judgement
            assert judgements_of(store, piece_id) == states[index + 1]


def test_withdrawing_and_bringing_back(store: NotebookStore, piece_id: int) -> None:
    said = say(store, piece_id).judgement
    assert withdraw(store, said.id) == said
    assert judgements_of(store, piece_id) == ()
    other = say(store, piece_id, now=NOW - MINUTE).judgement
    assert restore(store, said) == said
    assert judgements_of(store, piece_id) == (said, other)
    with pytest.raises(ConflictError, match=f"judgement {said.id} is already"):
        restore(store, said)


def test_undo_does_not_write_over_what_changed_meanwhile(
    store: NotebookStore, piece_id: int
) -> None:
    first = say(store, piece_id)
    second = say(store, piece_id, reason="another", replaces=first.judgement.id)
    with pytest.raises(ConflictError, match=f"judgement {first.judgement.id} is already"):
        take_back(store, first)
    with pytest.raises(ConflictError, match="was changed meanwhile"):
        judge_again(store, second)
    assert judgements_of(store, piece_id) == (second.judgement,)


def test_there_is_no_such_thing(store: NotebookStore, piece_id: int) -> None:
    acts = [
        lambda: withdraw(store, 77),
        lambda: say(store, piece_id, replaces=77),
        lambda: change_judgement(store, 77, ruling=Ruling.CONFIRMED, now=NOW),
    ]
    for act in acts:
        with pytest.raises(MissingError, match="no judgement 77 in this notebook"):
            act()
    with pytest.raises(MissingError, match="no piece 999 "):
        say(store, 999)


def test_judgements_go_with_their_piece_and_come_back_with_it(
    store: NotebookStore, piece_id: int
) -> None:
    said = [say(store, piece_id, now=NOW + n * MINUTE).judgement for n in range(3)]
    removed = remove_piece(store, piece_id)
    assert judgements_of(store, piece_id) == ()
    restore_piece(store, removed)
    assert judgements_of(store, piece_id) == tuple(reversed(said))


def test_a_value_says_what_it_is() -> None:
    assert value_text(G_MINOR) == "G minor"
    assert value_text("Allegro") == "Allegro"
    assert value_text(3) == "3"
