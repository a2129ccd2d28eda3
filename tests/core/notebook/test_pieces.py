"""Bringing scores in, the shelf, and pieces taken away and brought back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.errors import ConflictError, InvalidEntryError, MissingError, StorageError
from core.notebook.pieces import (
    BroughtIn,
    canonical_of,
    find_score,
    keep_score,
    mark_opened,
    remove_piece,
    rename_piece,
    restore_piece,
    shelf,
)
from core.notebook.ports import NotebookStore
from core.notebook.remarks import remarks_of, reword_remark, versions_of, write_remark
from core.notebook.values import Anchor, AnchorKind, Edition, Piece, Remark
from core.score.reading import ReadScore
from core.storage import open_store
from tests.core.notebook.small_scores import SHA, small_score

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def bring_in(
    store: NotebookStore, source_name: str = "barcarolle.mxl", **of_score: str
) -> BroughtIn:
    read = ReadScore(score=small_score(**of_score), original=b"PK as it came")
    return keep_score(store, read, source_name=source_name, now=NOW)


def write(store: NotebookStore, piece_id: int, body: str) -> Remark:
    return write_remark(
        store,
        piece_id=piece_id,
        body=body,
        kind=None,
        anchor=Anchor(kind=AnchorKind.PIECE),
        now=NOW,
        zone="UTC",
    )


def test_a_score_becomes_a_piece_with_an_edition(store: NotebookStore) -> None:
    brought = bring_in(store, title="Barcarolle", composer="A. Nobody")
    piece = Piece(id=brought.piece.id, title="Barcarolle", composer="A. Nobody", created_at=NOW)
    edition = Edition(
        id=brought.edition.id,
        piece_id=piece.id,
        score_sha256=SHA,
        canonical_version=1,
        source_name="barcarolle.mxl",
        imported_at=NOW,
    )
    assert brought == BroughtIn(piece=piece, edition=edition, was_there=False)
    assert shelf(store) == (piece,)
    assert canonical_of(store, piece.id) == (edition, b"<score-partwise/>")
    with store.unit_of_work() as work:
        assert work.editions.original(edition.id) == b"PK as it came"


def test_the_same_score_twice_is_the_piece_that_is_there(store: NotebookStore) -> None:
    first = bring_in(store, title="Barcarolle")
    renamed = rename_piece(store, first.piece.id, "Mine")
    again = bring_in(store, "copy.mxl", title="Barcarolle")
    assert again == BroughtIn(piece=renamed, edition=first.edition, was_there=True)
    assert shelf(store) == (renamed,)


def test_a_score_is_found_by_what_it_is_known_by(store: NotebookStore) -> None:
    first = bring_in(store, title="Barcarolle", sha256="a" * 64)
    assert find_score(store, "b" * 64) is None
    found = find_score(store, "a" * 64)
    assert found == BroughtIn(piece=first.piece, edition=first.edition, was_there=True)


@pytest.mark.parametrize(
    ("source_name", "title"),
    [
        ("barcarolle.mxl", "barcarolle"),
        ("op. 10 no. 2.musicxml", "op. 10 no. 2"),
        ("some/folder/barcarolle.xml", "barcarolle"),
        (".mxl", ".mxl"),
        ("e\u0301tude.xml", "étude"),
        ("\udce9tude.xml", "\ufffdtude"),
    ],
)
def test_without_a_title_the_file_s_name_is_it(
    store: NotebookStore, source_name: str, title: str
) -> None:
    assert bring_in(store, source_name, title="  ").piece.title == title


def test_names_are_kept_in_nfc(store: NotebookStore) -> None:
    piece = bring_in(store, title=" E\u0301tude ", composer="Rene\u0301e").piece
    assert (piece.title, piece.composer) == ("Étude", "Renée")
    assert rename_piece(store, piece.id, " E\u0301le\u0301gie ").title == "Élégie"


def test_a_piece_without_a_title_is_not_found_again(store: NotebookStore) -> None:
    piece = bring_in(store, title="Barcarolle").piece
    with pytest.raises(InvalidEntryError, match="title ' ': a piece needs a title"):
        rename_piece(store, piece.id, " ")
    assert shelf(store) == (piece,)


def test_the_shelf_has_the_one_opened_last_first(store: NotebookStore) -> None:
    names = ("one", "two", "three")
    one, two, three = (
        bring_in(store, title=name, sha256=str(n) * 64).piece for n, name in enumerate(names)
    )
    assert shelf(store) == (one, three, two)
    opened_two = mark_opened(store, two.id, NOW)
    opened_three = mark_opened(store, three.id, NOW + MINUTE)
    assert opened_two.opened_at == NOW
    assert shelf(store) == (opened_three, opened_two, one)


def test_opening_a_piece_in_a_notebook_that_can_only_be_read(tmp_path: Path) -> None:
    writer = open_store(tmp_path / "notebook.postil")
    piece = bring_in(writer).piece
    reader = open_store(tmp_path / "notebook.postil")
    assert reader.is_read_only
    assert mark_opened(reader, piece.id, NOW) == piece
    assert shelf(writer) == (piece,)
    with pytest.raises(StorageError, match="another Postil has this notebook open"):
        bring_in(reader, sha256="e" * 64)
    reader.close()
    writer.close()


def test_the_newest_edition_is_the_one_that_is_shown(store: NotebookStore) -> None:
    first = bring_in(store)
    corrected = Edition(
        piece_id=first.piece.id,
        score_sha256="c" * 64,
        canonical_version=1,
        source_name="corrected.mxl",
        imported_at=NOW + MINUTE,
    )
    with store.unit_of_work() as work:
        corrected = work.editions.add(corrected, b"", b"corrected")
        work.commit()
    assert canonical_of(store, first.piece.id) == (corrected, b"corrected")


def test_a_removed_piece_comes_back_whole(store: NotebookStore) -> None:
    brought = bring_in(store, title="Barcarolle")
    stays = bring_in(store, title="Nocturne", sha256="d" * 64)
    piece_id = brought.piece.id
    first, second = write(store, piece_id, "one"), write(store, piece_id, "two")
    reword_remark(store, first.id, "uno", NOW, begins_sitting=True)
    reword_remark(store, first.id, "eins", NOW + MINUTE, begins_sitting=True)
    before = remarks_of(store, piece_id), versions_of(store, first.id)

    removed = remove_piece(store, piece_id)
    assert shelf(store) == (stays.piece,)
    with pytest.raises(MissingError, match=f"no piece {piece_id} "):
        canonical_of(store, piece_id)

    write(store, stays.piece.id, "meanwhile")
    assert restore_piece(store, removed) == brought.piece
    assert set(shelf(store)) == {brought.piece, stays.piece}
    assert canonical_of(store, piece_id) == (brought.edition, b"<score-partwise/>")
    with store.unit_of_work() as work:
        assert work.editions.original(brought.edition.id) == b"PK as it came"
    assert (remarks_of(store, piece_id), versions_of(store, first.id)) == before
    assert second in remarks_of(store, piece_id)


def test_a_piece_does_not_come_back_beside_its_own_score(store: NotebookStore) -> None:
    removed = remove_piece(store, bring_in(store).piece.id)
    again = bring_in(store)
    with pytest.raises(ConflictError, match=f"score {SHA} is already in this notebook"):
        restore_piece(store, removed)
    assert shelf(store) == (again.piece,)


def test_there_is_no_such_piece(store: NotebookStore) -> None:
    acts = [
        lambda: canonical_of(store, 7),
        lambda: mark_opened(store, 7, NOW),
        lambda: rename_piece(store, 7, "Title"),
        lambda: remove_piece(store, 7),
    ]
    for act in acts:
        with pytest.raises(MissingError, match="no piece 7 in this notebook"):
            act()


def test_a_piece_may_have_no_edition(store: NotebookStore) -> None:
    with store.unit_of_work() as work:
        piece = work.pieces.add(Piece(title="Only a name", composer="", created_at=NOW))
        work.commit()
    with pytest.raises(MissingError, match=f"no edition of piece {piece.id} "):
        canonical_of(store, piece.id)
