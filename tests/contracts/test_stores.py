"""What every store keeps to: the fake, SQLite and PostgreSQL."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from fractions import Fraction

import pytest

from core.errors import ConflictError, MissingError, StorageError
from core.notebook.ports import NotebookStore
from core.notebook.values import (
    Anchor,
    AnchorKind,
    Edition,
    Piece,
    Remark,
    RemarkKind,
    RemarkVersion,
)
from core.score.places import Passage, Place

NOW = datetime(2025, 3, 1, 18, 30, 15, 123456, tzinfo=UTC)
SHA = "ab" * 32


def piece(**changes: object) -> Piece:
    return replace(Piece(title="Barcarolle", composer="A. Nobody", created_at=NOW), **changes)


def edition(piece_id: int, **changes: object) -> Edition:
    plain = Edition(
        piece_id=piece_id,
        score_sha256=SHA,
        canonical_version=1,
        source_name="barcarolle.mxl",
        imported_at=NOW,
    )
    return replace(plain, **changes)


def remark(piece_id: int, **changes: object) -> Remark:
    plain = Remark(
        piece_id=piece_id,
        kind=RemarkKind.READING,
        body="Bass *under* the melody.",
        anchor=Anchor(kind=AnchorKind.PIECE),
        created_at=NOW,
        edited_at=NOW,
        zone="Europe/Vienna",
    )
    return replace(plain, **changes)


def kept_piece(store: NotebookStore, **changes: object) -> Piece:
    with store.unit_of_work() as work:
        stored = work.pieces.add(piece(**changes))
        work.commit()
    return stored


def kept_remark(store: NotebookStore, piece_id: int, **changes: object) -> Remark:
    with store.unit_of_work() as work:
        stored = work.remarks.add(remark(piece_id, **changes))
        work.commit()
    return stored


# ------------------------------------------------------------------------------ transactions


def test_what_is_not_committed_is_gone(store: NotebookStore) -> None:
    with store.unit_of_work() as work:
        work.pieces.add(piece())
    with store.unit_of_work() as work:
        assert work.pieces.all() == ()


def test_an_error_takes_back_the_whole_unit(store: NotebookStore) -> None:
    def add_and_fail() -> None:
        with store.unit_of_work() as work:
            work.pieces.add(piece())
            work.pieces.get(999)

    with pytest.raises(MissingError, match="no piece 999"):
        add_and_fail()
    with store.unit_of_work() as work:
        assert work.pieces.all() == ()


def test_what_follows_a_commit_needs_another(store: NotebookStore) -> None:
    with store.unit_of_work() as work:
        first = work.pieces.add(piece())
        work.commit()
        work.pieces.add(piece(title="Second"))
    with store.unit_of_work() as work:
        assert work.pieces.all() == (first,)


def test_a_closed_store_says_so_and_closes_twice(store: NotebookStore) -> None:
    store.close()
    store.close()
    with pytest.raises(StorageError, match="the notebook is closed"), store.unit_of_work():
        pass


def test_nothing_is_begun_twice_in_one_thread(store: NotebookStore) -> None:
    with store.unit_of_work(), pytest.raises(RuntimeError, match="a unit of work is open"):
        store.unit_of_work().__enter__()
    kept_piece(store)


def test_threads_take_turns(store: NotebookStore) -> None:
    done: list[Piece] = []
    threads = [threading.Thread(target=lambda: done.append(kept_piece(store))) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with store.unit_of_work() as work:
        assert {one.id for one in work.pieces.all()} == {one.id for one in done}
    assert len(done) == 4


# ------------------------------------------------------------------------------------- pieces


def test_a_piece_comes_back_as_it_was(store: NotebookStore) -> None:
    stored = kept_piece(store, title="Élégie für ♭ 𝄞", opened_at=NOW)
    assert stored == piece(title="Élégie für ♭ 𝄞", opened_at=NOW, id=stored.id)
    with store.unit_of_work() as work:
        assert work.pieces.get(stored.id) == stored


def test_moments_come_back_in_utc_whatever_zone_they_had(store: NotebookStore) -> None:
    east = datetime(2025, 7, 1, 0, 30, tzinfo=timezone(timedelta(hours=5, minutes=45)))
    stored = kept_piece(store, created_at=east)
    with store.unit_of_work() as work:
        found = work.pieces.get(stored.id)
    assert found.created_at == east
    if type(store).__name__ != "FakeStore":
        assert found.created_at.tzinfo == UTC


def test_the_shelf_has_the_one_opened_last_first_then_titles(store: NotebookStore) -> None:
    b = kept_piece(store, title="Zortzico")
    a = kept_piece(store, title="aria")
    old = kept_piece(store, title="Old", opened_at=NOW)
    new = kept_piece(store, title="New", opened_at=NOW + timedelta(microseconds=1))
    with store.unit_of_work() as work:
        assert work.pieces.all() == (new, old, a, b)


def test_a_piece_is_replaced_whole(store: NotebookStore) -> None:
    stored = kept_piece(store, opened_at=NOW)
    changed = replace(stored, title="Nocturne", composer="", opened_at=None)
    with store.unit_of_work() as work:
        work.pieces.replace(changed)
        work.commit()
    with store.unit_of_work() as work:
        assert work.pieces.all() == (changed,)


def test_there_is_no_such_piece(store: NotebookStore) -> None:
    with store.unit_of_work() as work:
        for act in (work.pieces.get, work.pieces.remove):
            with pytest.raises(MissingError, match="no piece 7 "):
                act(7)
        with pytest.raises(MissingError, match="no piece 7 "):
            work.pieces.replace(piece(id=7))


def test_removing_a_piece_takes_editions_and_remarks_along(store: NotebookStore) -> None:
    gone, stays = kept_piece(store), kept_piece(store)
    own, other = kept_remark(store, gone.id), kept_remark(store, stays.id)
    with store.unit_of_work() as work:
        kept = work.editions.add(edition(gone.id), b"original", b"canonical")
        work.pieces.remove(gone.id)
        work.commit()
    with store.unit_of_work() as work:
        assert work.pieces.all() == (stays,)
        assert work.editions.by_hash(SHA) is None
        assert work.remarks.get(other.id) == other
        with pytest.raises(MissingError, match=f"no edition {kept.id} "):
            work.editions.canonical(kept.id)
        with pytest.raises(MissingError, match=f"no remark {own.id} "):
            work.remarks.get(own.id)


def test_an_id_is_never_given_twice(store: NotebookStore) -> None:
    first = kept_piece(store)
    with store.unit_of_work() as work:
        work.pieces.remove(first.id)
        work.commit()
    assert kept_piece(store).id != first.id
    with store.unit_of_work() as work:
        assert work.pieces.add(first) == first
        work.commit()
    with (
        store.unit_of_work() as work,
        pytest.raises(ConflictError, match=f"piece {first.id} is already"),
    ):
        work.pieces.add(first)


def test_new_ids_go_on_after_one_from_elsewhere(store: NotebookStore) -> None:
    kept_piece(store, id=50)
    assert kept_piece(store).id > 50


# ----------------------------------------------------------------------------------- editions


def test_an_edition_keeps_both_byte_strings(store: NotebookStore) -> None:
    owner = kept_piece(store)
    original, canonical = bytes(range(256)) * 5000, b"<score-partwise/>"
    with store.unit_of_work() as work:
        stored = work.editions.add(edition(owner.id), original, canonical)
        work.commit()
    with store.unit_of_work() as work:
        assert work.editions.by_hash(SHA) == stored
        assert work.editions.by_hash("0" * 64) is None
        assert work.editions.original(stored.id) == original
        assert work.editions.canonical(stored.id) == canonical


def test_the_newest_edition_comes_first(store: NotebookStore) -> None:
    owner = kept_piece(store)
    with store.unit_of_work() as work:
        later = edition(owner.id, score_sha256="2" * 64, imported_at=NOW + timedelta(days=1))
        newest = work.editions.add(later, b"", b"")
        oldest = work.editions.add(edition(owner.id), b"", b"")
        same_time = work.editions.add(edition(owner.id, score_sha256="3" * 64), b"", b"")
        assert work.editions.of_piece(owner.id) == (newest, same_time, oldest)


def test_one_score_is_one_edition(store: NotebookStore) -> None:
    owner = kept_piece(store)
    with store.unit_of_work() as work:
        work.editions.add(edition(owner.id), b"a", b"b")
        with pytest.raises(ConflictError, match=f"score {SHA} is already"):
            work.editions.add(edition(owner.id), b"a", b"b")
        with pytest.raises(MissingError, match="no piece 999"):
            work.editions.add(edition(999, score_sha256="c" * 64), b"a", b"b")
        for read in (work.editions.original, work.editions.canonical):
            with pytest.raises(MissingError, match="no edition 999"):
                read(999)


# ------------------------------------------------------------------------------------ remarks


def test_a_remark_comes_back_as_it_was(store: NotebookStore) -> None:
    owner = kept_piece(store)
    start = Place(
        measure_index=11, offset_quarters=Fraction(7, 12), staff=2, voice="5", note_id="n1.30"
    )
    anchor = Anchor(
        kind=AnchorKind.PASSAGE,
        score_sha256=SHA,
        passage=Passage(start=start, end=Place(measure_index=13)),
        element_id="n1.30",
        fingerprint="-1/2:55 0:48.64",
    )
    stored = kept_remark(store, owner.id, anchor=anchor, kind=None)
    assert stored == remark(owner.id, anchor=anchor, kind=None, id=stored.id)
    with store.unit_of_work() as work:
        assert work.remarks.get(stored.id) == stored


def test_the_newest_remark_comes_first(store: NotebookStore) -> None:
    owner, other = kept_piece(store), kept_piece(store)
    newest = kept_remark(store, owner.id, created_at=NOW + timedelta(seconds=1))
    oldest = kept_remark(store, owner.id)
    same_time = kept_remark(store, owner.id)
    kept_remark(store, other.id)
    with store.unit_of_work() as work:
        assert work.remarks.of_piece(owner.id) == (newest, same_time, oldest)


def test_a_remark_is_replaced_whole(store: NotebookStore) -> None:
    first, second = kept_piece(store), kept_piece(store)
    stored = kept_remark(store, first.id)
    changed = Remark(
        id=stored.id,
        piece_id=second.id,
        kind=RemarkKind.MEMORY_CUE,
        body="Thumb.",
        anchor=Anchor(
            kind=AnchorKind.PLACE,
            score_sha256=SHA,
            passage=Passage.at(Place(measure_index=2)),
        ),
        created_at=NOW - timedelta(days=1),
        edited_at=NOW + timedelta(days=1),
        zone="Asia/Kathmandu",
    )
    with store.unit_of_work() as work:
        work.remarks.replace(changed)
        work.commit()
    with store.unit_of_work() as work:
        assert work.remarks.of_piece(second.id) == (changed,)
        assert work.remarks.of_piece(first.id) == ()
        work.remarks.replace(stored)  # and back to an anchor without a passage
        assert work.remarks.get(stored.id) == stored


def test_earlier_wordings_come_last_kept_first_and_go_with_the_remark(
    store: NotebookStore,
) -> None:
    stored = kept_remark(store, kept_piece(store).id)
    versions = [
        RemarkVersion(remark_id=stored.id, kind=kind, body=f"wording {n}", written_at=NOW)
        for n, kind in enumerate((None, RemarkKind.QUESTION, None))
    ]
    with store.unit_of_work() as work:
        for version in versions:
            work.remarks.add_version(version)
        work.commit()
    with store.unit_of_work() as work:
        assert work.remarks.versions(stored.id) == tuple(reversed(versions))
        work.remarks.forget_versions(stored.id)
        assert work.remarks.versions(stored.id) == ()
    with store.unit_of_work() as work:
        work.remarks.remove(stored.id)
        assert work.remarks.versions(stored.id) == ()
        work.remarks.add(stored)
        assert work.remarks.versions(stored.id) == ()


def test_there_is_no_such_remark(store: NotebookStore) -> None:
    with store.unit_of_work() as work:
        for act in (work.remarks.get, work.remarks.remove):
            with pytest.raises(MissingError, match="no remark 7 "):
                act(7)
        with pytest.raises(MissingError, match="no remark 7 "):
            work.remarks.replace(remark(1, id=7))
        with pytest.raises(MissingError, match="no remark 7 "):
            work.remarks.add_version(RemarkVersion(remark_id=7, kind=None, body="", written_at=NOW))
        with pytest.raises(MissingError, match="no piece 999 "):
            work.remarks.add(remark(999))


def test_a_removed_remark_comes_back_under_its_id(store: NotebookStore) -> None:
    owner = kept_piece(store)
    stored = kept_remark(store, owner.id)
    with store.unit_of_work() as work:
        work.remarks.remove(stored.id)
        work.commit()
    other = kept_remark(store, owner.id)
    with store.unit_of_work() as work:
        assert work.remarks.add(stored) == stored
        work.commit()
    with store.unit_of_work() as work:
        assert set(work.remarks.of_piece(owner.id)) == {stored, other}
        with pytest.raises(ConflictError, match=f"remark {stored.id} is already"):
            work.remarks.add(stored)


def test_many_removed_remarks_come_back_at_once(store: NotebookStore) -> None:
    owner, other = kept_piece(store), kept_piece(store)
    remarks = [kept_remark(store, owner.id, body=str(n)) for n in range(5)]
    bystander = kept_remark(store, other.id)
    with store.unit_of_work() as work:
        for n, one in enumerate((*remarks, bystander, *remarks)):
            work.remarks.add_version(
                RemarkVersion(remark_id=one.id, kind=None, body=f"v{n}", written_at=NOW)
            )
        work.commit()
    with store.unit_of_work() as work:
        versions = work.remarks.versions_of_piece(owner.id)
        assert len(versions) == 10
        own = {one.id: work.remarks.versions(one.id) for one in remarks}
        for one in remarks:
            work.remarks.remove(one.id)
        work.commit()
    with store.unit_of_work() as work:
        work.remarks.add_removed(remarks, versions)
        work.commit()
    with store.unit_of_work() as work:
        assert set(work.remarks.of_piece(owner.id)) == set(remarks)
        assert {one.id: work.remarks.versions(one.id) for one in remarks} == own
        assert len(work.remarks.versions(bystander.id)) == 1
        assert work.remarks.add(remark(owner.id)).id > bystander.id
        work.remarks.add_removed((), ())


def test_not_every_remark_can_come_back(store: NotebookStore) -> None:
    owner = kept_piece(store)
    stored = kept_remark(store, owner.id)
    gone = replace(stored, id=stored.id + 100)
    with store.unit_of_work() as work:
        with pytest.raises(ConflictError, match=f"remark {stored.id} is already"):
            work.remarks.add_removed((stored,), ())
        with pytest.raises(MissingError, match="no piece 999 "):
            work.remarks.add_removed((replace(gone, piece_id=999),), ())
        with pytest.raises(ValueError, match="has id 0; a new one"):
            work.remarks.add_removed((replace(stored, id=0),), ())
