"""What every store keeps to with judgements and analyses."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest

from core.errors import ConflictError, MissingError
from core.notebook.ports import NotebookStore
from core.notebook.values import AnalysisKey, Edition, JudgedValue, Judgement, Piece, Ruling
from core.score.places import Passage, Place

NOW = datetime(2025, 3, 1, 18, 30, 15, 123456, tzinfo=UTC)
SHA, OTHER = "ab" * 32, "cd" * 32


@pytest.fixture
def piece_id(store: NotebookStore) -> int:
    return add_piece(store)


def add_piece(store: NotebookStore) -> int:
    with store.unit_of_work() as work:
        piece = work.pieces.add(Piece(title="Barcarolle", composer="", created_at=NOW))
        work.commit()
    return piece.id


def judgement(piece_id: int, **changes: object) -> Judgement:
    start = Place(
        measure_index=11, offset_quarters=Fraction(7, 12), staff=2, voice="5", note_id="n1.30"
    )
    plain = Judgement(
        piece_id=piece_id,
        finding_kind="key",
        score_sha256=SHA,
        passage=Passage(start=start, end=Place(measure_index=13)),
        ruling=Ruling.OVERRULED,
        value=JudgedValue(text="Bb major", data='{"tonic": -2}'),
        own_value=JudgedValue(text="G minor"),
        reason="♭ is a neighbour",
        created_at=NOW,
        edited_at=NOW,
        zone="Europe/Vienna",
    )
    return replace(plain, **changes)


def add(store: NotebookStore, one: Judgement) -> Judgement:
    with store.unit_of_work() as work:
        stored = work.judgements.add(one)
        work.commit()
    return stored


def test_a_judgement_comes_back_as_it_was(store: NotebookStore, piece_id: int) -> None:
    stored = add(store, judgement(piece_id))
    assert stored == judgement(piece_id, id=stored.id)
    with store.unit_of_work() as work:
        assert work.judgements.get(stored.id) == stored


def test_the_one_edited_last_comes_first(store: NotebookStore, piece_id: int) -> None:
    newest = add(store, judgement(piece_id, edited_at=NOW + timedelta(seconds=1)))
    oldest = add(store, judgement(piece_id))
    same_time = add(store, judgement(piece_id))
    add(store, judgement(add_piece(store)))
    with store.unit_of_work() as work:
        assert work.judgements.of_piece(piece_id) == (newest, same_time, oldest)


def test_a_judgement_is_replaced_whole(store: NotebookStore, piece_id: int) -> None:
    stored = add(store, judgement(piece_id))
    changed = Judgement(
        id=stored.id,
        piece_id=add_piece(store),
        finding_kind="global key",
        ruling=Ruling.CONFIRMED,
        value=JudgedValue(text="D minor"),
        created_at=NOW - timedelta(days=1),
        edited_at=NOW + timedelta(days=1),
    )
    with store.unit_of_work() as work:
        work.judgements.replace(changed)
        work.commit()
    with store.unit_of_work() as work:
        assert work.judgements.of_piece(changed.piece_id) == (changed,)
        assert work.judgements.of_piece(piece_id) == ()


def test_a_withdrawn_one_comes_back_under_its_id_which_is_never_given_again(
    store: NotebookStore, piece_id: int
) -> None:
    stored = add(store, judgement(piece_id))
    with store.unit_of_work() as work:
        work.judgements.remove(stored.id)
        work.commit()
    assert add(store, judgement(piece_id)).id != stored.id
    assert add(store, stored) == stored
    with pytest.raises(ConflictError, match=f"judgement {stored.id} is already"):
        add(store, stored)
    assert add(store, judgement(piece_id, id=stored.id + 50)).id == stored.id + 50
    assert add(store, judgement(piece_id)).id > stored.id + 50


def test_there_is_no_such_judgement(store: NotebookStore, piece_id: int) -> None:
    with store.unit_of_work() as work:
        for act in (work.judgements.get, work.judgements.remove):
            with pytest.raises(MissingError, match="no judgement 7 "):
                act(7)
        with pytest.raises(MissingError, match="no judgement 7 "):
            work.judgements.replace(judgement(piece_id, id=7))
        with pytest.raises(MissingError, match="no piece 999 "):
            work.judgements.add(judgement(999))


def test_judgements_go_with_their_piece(store: NotebookStore, piece_id: int) -> None:
    gone, stays = add(store, judgement(piece_id)), add(store, judgement(add_piece(store)))
    with store.unit_of_work() as work:
        work.pieces.remove(piece_id)
        work.commit()
    with store.unit_of_work() as work:
        assert work.judgements.get(stays.id) == stays
        with pytest.raises(MissingError, match=f"no judgement {gone.id} "):
            work.judgements.get(gone.id)


# ------------------------------------------------------------------------------------ analyses


def key(**changes: object) -> AnalysisKey:
    plain = AnalysisKey(score_sha256=SHA, canonical_version=1, analyser_version=3)
    return replace(plain, **changes)


def add_edition(store: NotebookStore, piece_id: int, sha256: str = SHA) -> None:
    edition = Edition(
        piece_id=piece_id,
        score_sha256=sha256,
        canonical_version=1,
        source_name="a.mxl",
        imported_at=NOW,
    )
    with store.unit_of_work() as work:
        work.editions.add(edition, b"original", b"canonical")
        work.commit()


def put(store: NotebookStore, one: AnalysisKey, payload: bytes) -> None:
    with store.unit_of_work() as work:
        work.analyses.put(one, payload)
        work.commit()


def get(store: NotebookStore, one: AnalysisKey) -> bytes | None:
    with store.unit_of_work() as work:
        return work.analyses.get(one)


def test_an_analysis_is_known_by_its_whole_key(store: NotebookStore, piece_id: int) -> None:
    add_edition(store, piece_id)
    add_edition(store, piece_id, OTHER)
    payload = bytes(range(256)) * 100
    put(store, key(), payload)
    put(store, key(), payload)
    others = [
        key(score_sha256=OTHER),
        key(canonical_version=2),
        key(analyser_version=4),
        key(settings="other"),
    ]
    assert [get(store, one) for one in others] == [None] * 4
    assert get(store, key()) == payload
    put(store, key(settings="other"), b"other")
    put(store, key(), b"newer")
    assert (get(store, key()), get(store, key(settings="other"))) == (b"newer", b"other")


def test_a_later_version_drops_what_earlier_ones_made_of_that_score(
    store: NotebookStore, piece_id: int
) -> None:
    add_edition(store, piece_id)
    add_edition(store, piece_id, OTHER)
    for one in (key(), key(settings="other"), key(score_sha256=OTHER)):
        put(store, one, b"old")
    put(store, key(analyser_version=4), b"new")
    assert get(store, key(analyser_version=4)) == b"new"
    assert (get(store, key()), get(store, key(settings="other"))) == (None, None)
    assert get(store, key(score_sha256=OTHER)) == b"old"
    put(store, key(), b"old again")  # an older Postil on the same notebook
    assert get(store, key(analyser_version=4)) == b"new"


def test_an_analysis_needs_its_score_and_goes_with_it(store: NotebookStore, piece_id: int) -> None:
    with pytest.raises(MissingError, match=f"no score {SHA} "):
        put(store, key(), b"payload")
    add_edition(store, piece_id)
    put(store, key(), b"payload")
    with store.unit_of_work() as work:
        work.pieces.remove(piece_id)
        work.commit()
    assert get(store, key()) is None
