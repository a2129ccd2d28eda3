"""Several files brought in together, without widgets: what becomes of each."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.bringing.brought_files import BroughtFile, FileState, list_of_troubles
from app.desk.desk_model import DeskModel
from core.score.formats.midi import SPELLING_GUESSED, VOICES_GUESSED
from tests.app import small_scores
from tests.app.bringing import folders


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folders.write_all(tmp_path / "Scores, spring")


def by_name(files: list[BroughtFile]) -> dict[str, BroughtFile]:
    return {file.name: file for file in files}


def batch_file(desk: DeskModel, index: int) -> BroughtFile:
    assert desk.bringing.batch is not None
    return desk.bringing.batch.files[index]


def test_each_file_of_a_folder_is_told_of(qtbot: QtBot, desk: DeskModel, folder: Path) -> None:
    told: list[object] = []
    desk.notice.connect(told.append)
    batch = folders.bring_in(qtbot, desk, folder)
    assert {name: file.state for name, file in by_name(batch.files).items()} == {
        "a copy.musicxml": FileState.READ,
        "a.musicxml": FileState.HERE,
        "b other layout.musicxml": FileState.ASKS,
        "c.mxl": FileState.READ,
        "d.krn": FileState.READ,
        "e.abc": FileState.READ,
        "f.mid": FileState.READ,
        "g letter.musicxml": FileState.BAD,
        "h cut short.xml": FileState.BAD,
    }
    assert batch.counts.words() == "5 read, 2 could not be, 1 already here, 1 asks you"
    assert (batch.counts.done, batch.counts.total) == (9, 9)
    assert batch.where == "Scores, spring"
    assert told == []
    titles = {piece.title for piece in desk.pieces}
    assert titles >= {"Slow March", "Rope Dance", "Mill Song", "f"}
    assert len(desk.pieces) == 5
    # No page is forced on anybody: which of them should it be?
    assert desk.piece is None


def test_what_was_read_is_described(qtbot: QtBot, desk: DeskModel, folder: Path) -> None:
    files = by_name(folders.bring_in(qtbot, desk, folder).files)
    formats = {name: file.format for name, file in files.items() if file.format}
    assert formats == {
        "a copy.musicxml": "MusicXML",
        "b other layout.musicxml": "MusicXML",
        "c.mxl": "MXL",
        "d.krn": "Humdrum",
        "e.abc": "ABC",
        "f.mid": "MIDI",
    }
    song = files["e.abc"]
    assert (song.title, song.composer, song.measures) == ("Mill Song", "Ottavia Brenn", 2)
    assert files["f.mid"].noticed == (SPELLING_GUESSED, VOICES_GUESSED)
    assert files["c.mxl"].noticed == ()
    pieces = {piece.id: piece.title for piece in desk.pieces}
    assert pieces[files["c.mxl"].piece_id] == "Rope Dance"


def test_what_could_not_be_read_says_where_why_and_what_to_do(
    qtbot: QtBot, desk: DeskModel, folder: Path
) -> None:
    batch = folders.bring_in(qtbot, desk, folder)
    trouble = by_name(batch.files)["h cut short.xml"].trouble
    assert trouble is not None
    assert trouble.place.startswith("line ")
    assert trouble.why == "The file breaks off before its end."
    assert trouble.what_to_do == "Get a whole copy, or export it again."
    lines = list_of_troubles(batch.files).splitlines()
    assert lines[0] == "file\tplace\twhy\twhat to do"
    assert len(lines) == 3
    assert lines[2].split("\t") == [
        str(folder / "h cut short.xml"),
        trouble.place,
        trouble.why,
        trouble.what_to_do,
    ]


def test_each_tune_of_a_book_is_a_piece(qtbot: QtBot, desk: DeskModel, tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    tunes = ("X:1\nT:A\nM:4/4\nL:1/4\nK:G\nGABc|", "X:2\nT:B\nM:4/4\nL:1/4\nK:G\nBBBB|")
    book.write_text("\n\n".join(tunes), encoding="utf-8")
    batch = folders.bring_in(qtbot, desk, book)
    assert sorted(piece.title for piece in desk.pieces) == ["A", "B"]
    assert [file.name for file in batch.files] == ["book.abc#1", "book.abc#2"]


def test_a_folder_with_one_score_goes_to_the_page(
    qtbot: QtBot, desk: DeskModel, tmp_path: Path
) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    small_scores.write(inner, "two.musicxml", "Two")
    (inner / "._two.musicxml").write_bytes(b"left behind by another program")
    small_scores.bring_in(qtbot, desk, tmp_path)
    assert desk.piece is not None
    assert desk.piece.title == "Two"
    assert desk.bringing.batch is None


def test_a_folder_without_scores_is_said(qtbot: QtBot, desk: DeskModel, tmp_path: Path) -> None:
    with qtbot.waitSignal(desk.notice) as told:
        desk.bring_in([tmp_path])
    assert "There is no score in this folder (.musicxml" in str(told.args[0])
    qtbot.waitUntil(lambda: not desk.is_reading)


def test_looking_through_folders_is_stopped_and_holds_nothing_up(
    qtbot: QtBot, piece_desk: DeskModel, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    piece = piece_desk.piece
    assert piece is not None
    piece_desk.close_piece()
    walk, may_go_on = os.walk, threading.Event()

    def slow(top: Path) -> Iterator[tuple[str, list[str], list[str]]]:
        may_go_on.wait(60)
        yield from walk(top)

    monkeypatch.setattr(os, "walk", slow)
    told: list[object] = []
    piece_desk.notice.connect(told.append)
    piece_desk.bring_in([folder])
    with qtbot.waitSignal(piece_desk.score_read):
        piece_desk.open_piece(piece.id)
    assert piece_desk.is_reading
    piece_desk.stop_reading()
    may_go_on.set()
    qtbot.waitUntil(lambda: not piece_desk.is_reading)
    assert piece_desk.bringing.batch is None
    assert told == []


def test_the_same_notes_are_kept_beside_each_other_when_that_is_wanted(
    qtbot: QtBot, desk: DeskModel, folder: Path
) -> None:
    batch = folders.bring_in(qtbot, desk, folder)
    asking = by_name(batch.files)["b other layout.musicxml"]
    assert asking.twin is not None
    assert (asking.twin.title, asking.twin.is_same_file) == ("Slow March", False)
    batch.take_both(asking.index)
    folders.wait(qtbot, desk)
    taken = batch.files[asking.index]
    assert taken.state is FileState.READ
    assert taken.piece_id != asking.twin.piece_id
    assert [piece.title for piece in desk.pieces].count("Slow March") == 2


def test_or_the_one_that_is_there_stays_alone(qtbot: QtBot, desk: DeskModel, folder: Path) -> None:
    batch = folders.bring_in(qtbot, desk, folder)
    asking = by_name(batch.files)["b other layout.musicxml"]
    batch.leave(asking.index)
    assert batch.files[asking.index].state is FileState.HERE
    assert not batch.is_running
    assert batch.counts.words() == "5 read, 2 could not be, 2 already here"


def test_notes_are_compared_with_what_was_on_the_shelf_before(
    qtbot: QtBot, piece_desk: DeskModel, tmp_path: Path
) -> None:
    folder = tmp_path / "again"
    folder.mkdir()
    folders.write_other_layout(folder / "layout.musicxml", "Small Piece, revised")
    (folder / "octave.musicxml").write_bytes(folders.other_notes("Small Piece"))
    files = by_name(folders.bring_in(qtbot, piece_desk, folder).files)
    # As many notes in both, and only one has the same.
    assert files["layout.musicxml"].state is FileState.ASKS
    assert files["octave.musicxml"].state is FileState.READ


def test_what_asks_is_not_forgotten_for_other_files(
    qtbot: QtBot, desk: DeskModel, folder: Path, tmp_path: Path
) -> None:
    folders.bring_in(qtbot, desk, folder)
    others = [tmp_path / f"{name}.xml" for name in ("one", "two")]
    for number, path in enumerate(others):
        path.write_bytes(folders.other_notes(path.stem, octave=2 + number))
    batch = folders.bring_in(qtbot, desk, *others)
    assert [(file.name, file.state) for file in batch.files] == [
        ("b other layout.musicxml", FileState.ASKS),
        ("one.xml", FileState.READ),
        ("two.xml", FileState.READ),
    ]
    assert [file.index for file in batch.files] == [0, 1, 2]


def test_stopped_midway_what_is_read_stays_and_the_rest_can_go_on(
    qtbot: QtBot, desk: DeskModel, tmp_path: Path
) -> None:
    paths = [tmp_path / f"{number:02}.musicxml" for number in range(30)]
    for number, path in enumerate(paths):
        data = small_scores.four_measures(f"Piece {number}")
        path.write_bytes(data.replace(b"<duration>2", b"<duration>%d" % (number + 2)))
    desk.bring_in(paths)
    qtbot.waitUntil(lambda: desk.bringing.batch is not None)
    assert desk.bringing.batch is not None
    desk.bringing.batch.file_changed.connect(
        lambda index: desk.stop_reading() if batch_file(desk, index).piece_id else None
    )
    batch = folders.wait(qtbot, desk)
    read = batch.counts.of[FileState.READ]
    assert 1 <= read < 30
    assert len(desk.pieces) == read
    assert batch.counts.of[FileState.LEFT] == 30 - read
    batch.file_changed.disconnect()
    batch.go_on()
    folders.wait(qtbot, desk)
    assert len(desk.pieces) == 30
    assert batch.counts.words() == "30 read"


def test_others_are_brought_in_right_after_a_stop(
    qtbot: QtBot, desk: DeskModel, folder: Path, tmp_path: Path
) -> None:
    late = [tmp_path / f"{name}.xml" for name in ("one", "two")]
    for number, path in enumerate(late):
        path.write_bytes(folders.other_notes(path.stem, octave=2 + number))
    desk.bring_in([folder])
    qtbot.waitUntil(lambda: desk.bringing.batch is not None)
    desk.stop_reading()
    batch = folders.bring_in(qtbot, desk, *late)
    assert [file.state for file in batch.files[-2:]] == [FileState.READ, FileState.READ]
    assert batch.counts.done + batch.counts.of[FileState.LEFT] == batch.counts.total
    assert len(desk.pieces) == batch.counts.of[FileState.READ]


def test_a_mended_file_is_read_when_it_is_tried_again(
    qtbot: QtBot, desk: DeskModel, folder: Path
) -> None:
    batch = folders.bring_in(qtbot, desk, folder)
    letter = by_name(batch.files)["g letter.musicxml"]
    letter.path.write_bytes(folders.other_notes("Letter", octave=3))
    batch.try_again([letter.index])
    folders.wait(qtbot, desk)
    again = batch.files[letter.index]
    assert (again.state, again.title, again.trouble) == (FileState.READ, "Letter", None)


def test_a_piece_is_opened_while_files_are_read(
    qtbot: QtBot, piece_desk: DeskModel, folder: Path
) -> None:
    piece = piece_desk.piece
    assert piece is not None
    piece_desk.close_piece()
    piece_desk.bring_in([folder])
    qtbot.waitUntil(lambda: piece_desk.bringing.batch is not None)
    assert piece_desk.is_reading
    with qtbot.waitSignal(piece_desk.score_read):
        piece_desk.open_piece(piece.id)
    assert piece_desk.is_reading
    folders.wait(qtbot, piece_desk)


def test_others_are_read_behind_those_that_are_being_read(
    qtbot: QtBot, desk: DeskModel, folder: Path, tmp_path: Path
) -> None:
    late = [tmp_path / f"{name}.xml" for name in ("one", "two")]
    for number, path in enumerate(late):
        path.write_bytes(folders.other_notes(path.stem, octave=2 + number))
    desk.bring_in([folder])
    qtbot.waitUntil(lambda: desk.bringing.batch is not None)
    batch = folders.bring_in(qtbot, desk, *late)
    assert [file.name for file in batch.files[-2:]] == ["one.xml", "two.xml"]
    assert len(batch.files) == 11
    assert batch.counts.of[FileState.READ] == 7


def test_a_notebook_that_can_only_be_read_stops_it_with_one_sentence(
    qtbot: QtBot, desk: DeskModel, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from core.errors import StorageError
    from core.notebook import pieces

    def full(*_: object, **__: object) -> None:
        raise StorageError("notebook.postil", "The disk is full. Make room, then try again.")

    monkeypatch.setattr(pieces, "keep", full)
    told: list[object] = []
    desk.notice.connect(told.append)
    batch = folders.bring_in(qtbot, desk, folder)
    assert [type(error) for error in told] == [StorageError]
    bad = [file for file in batch.files if file.state is FileState.BAD]
    assert len(bad) == 1
    assert bad[0].trouble is not None
    assert bad[0].trouble.place == "the notebook"
    assert batch.counts.of[FileState.LEFT] == 8
    assert desk.pieces == ()
