"""A folder's reader: one file never stops the others, and a stop is heeded at once. No Qt."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from app import patience
from app.bringing.brought_files import BUG, BroughtFile, FileState
from app.bringing.folder_reader import FolderReader
from core.notebook.pieces import shelf
from tests.app.bringing import folders, reading_works
from tests.contracts.fake_store import FakeStore

AT_ONCE_SECONDS = 5.0
"""A worker is told to end, and killed two seconds later; on a machine with other work."""


class Told:
    """What a reader told last of each file, and what was more than a file's trouble."""

    def __init__(self) -> None:
        self.files: dict[str, BroughtFile] = {}
        self.errors: list[Exception] = []
        self.on_file: Callable[[BroughtFile], None] = lambda _file: None

    def tell(self, file: BroughtFile) -> None:
        self.files[file.name] = file
        self.on_file(file)

    def states(self) -> dict[str, FileState]:
        return {name: file.state for name, file in sorted(self.files.items())}


@pytest.fixture
def told() -> Told:
    return Told()


@pytest.fixture
def store() -> FakeStore:
    return FakeStore()


@pytest.fixture
def reader(store: FakeStore, told: Told) -> FolderReader:
    return FolderReader(store, told.tell, told.errors.append, work=reading_works.read, workers=1)


def files(folder: Path, *names: str) -> list[BroughtFile]:
    """Files with different notes."""
    made = []
    for index, name in enumerate(names):
        path = folder / f"{name}.musicxml"
        path.write_bytes(folders.other_notes(name, octave=1 + index))
        made.append(BroughtFile(index=index, path=path))
    return made


def test_whatever_becomes_of_a_file_the_others_are_read(
    store: FakeStore,
    told: Told,
    reader: FolderReader,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    limit = patience.reading_seconds
    monkeypatch.setattr(
        patience,
        "reading_seconds",
        lambda path, length: 0.3 if path.name.startswith("hang") else limit(path, length),
    )
    reader.add(files(tmp_path, "a", "hang", "b", "die", "bug", "c", "much", "d"))
    reader.run()
    bad = {name: file.trouble for name, file in told.files.items() if file.trouble}
    whys = {name: trouble.why for name, trouble in bad.items()}
    assert whys == {
        "hang.musicxml": "It was given up after 0 seconds: reading it seems to have no end.",
        "die.musicxml": "Reading it ended unexpectedly (status 3).",
        "bug.musicxml": BUG,
        "much.musicxml": "There was not enough memory for it.",
    }
    assert all(trouble.what_to_do for trouble in bad.values())
    assert sorted(piece.title for piece in shelf(store)) == ["a", "b", "c", "d"]
    # A bug has its report; what a file does to a reader is told in its row.
    assert [type(error) for error in told.errors] == [RuntimeError]


def test_a_stop_ends_one_that_hangs(
    store: FakeStore, told: Told, reader: FolderReader, tmp_path: Path
) -> None:
    reader.add(files(tmp_path, "a", "hang", "b"))
    thread = threading.Thread(target=reader.run)
    stopped: list[float] = []

    def stop_at_the_second(file: BroughtFile) -> None:
        if file.name.startswith("hang") and file.state is FileState.READING:
            stopped.append(time.monotonic())
            reader.stop()

    told.on_file = stop_at_the_second
    thread.start()
    thread.join(60)
    assert time.monotonic() - stopped[0] < AT_ONCE_SECONDS
    assert told.states() == {
        "a.musicxml": FileState.READ,
        "b.musicxml": FileState.LEFT,
        "hang.musicxml": FileState.LEFT,
    }
    assert [piece.title for piece in shelf(store)] == ["a"]
    assert told.errors == []
    # It takes no more files.
    assert not reader.add(files(tmp_path, "c"))


def test_one_that_has_ended_takes_no_more(told: Told, reader: FolderReader) -> None:
    reader.run()
    assert not reader.add([])
    assert told.files == {}


def test_a_piece_that_is_taken_away_meanwhile_is_no_reason_to_ask(
    store: FakeStore, told: Told, reader: FolderReader, tmp_path: Path
) -> None:
    first, second = tmp_path / "first.musicxml", tmp_path / "second.musicxml"
    first.write_bytes(folders.other_notes("first"))
    folders.write_other_layout(second, "second")
    second.write_bytes(second.read_bytes().replace(b"<octave>4", b"<octave>5"))

    def take_away(file: BroughtFile) -> None:
        if file.state is FileState.READ and file.name.startswith("first"):
            with store.unit_of_work() as work:
                work.pieces.remove(file.piece_id)
                work.commit()

    told.on_file = take_away
    paths = [first, second]
    reader.add([BroughtFile(index=index, path=path) for index, path in enumerate(paths)])
    reader.run()
    assert told.states() == {
        "first.musicxml": FileState.READ,
        "second.musicxml": FileState.READ,
    }
    assert [piece.title for piece in shelf(store)] == ["second"]
