"""Printing beside the window: in a process, told of, stopped, and failed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.printing.printing import Printing, beside
from core.errors import StorageError
from tests.app.printing.printed_files import opened, wish

WAIT = 40_000


@pytest.fixture
def printing(qtbot: QtBot) -> Iterator[Printing]:
    printing = Printing()
    yield printing
    printing.shut_down()


def test_a_score_is_printed_elsewhere_and_told_of(
    qtbot: QtBot, printing: Printing, tmp_path: Path
) -> None:
    words: list[str] = []
    printing.progress_changed.connect(lambda _share, word: words.append(word))
    with qtbot.waitSignal(printing.printed, timeout=WAIT) as told:
        printing.begin(wish(tmp_path))
        assert printing.is_busy
    assert told.args[0].path == tmp_path / "piece.pdf"
    assert opened(tmp_path / "piece.pdf").pageCount() == told.args[0].sheets
    assert "page 1 of 1" in words
    assert not printing.is_busy
    assert [path.name for path in tmp_path.iterdir()] == ["piece.pdf"]


def test_what_is_stopped_leaves_nothing(qtbot: QtBot, printing: Printing, tmp_path: Path) -> None:
    told: list[object] = []
    printing.printed.connect(told.append)
    with qtbot.waitSignal(printing.progress_changed, timeout=WAIT):
        printing.begin(wish(tmp_path))
    with qtbot.waitSignal(printing.over, timeout=WAIT):
        printing.stop()
    assert not printing.is_busy
    qtbot.waitUntil(lambda: not printing._runner._running, timeout=WAIT)
    assert list(tmp_path.iterdir()) == []
    assert told == []


def test_a_file_that_cannot_be_written_is_told(
    qtbot: QtBot, printing: Printing, tmp_path: Path
) -> None:
    nowhere = tmp_path / "nowhere"
    with qtbot.waitSignal(printing.failed, timeout=WAIT) as told:
        printing.begin(wish(tmp_path, path=nowhere / "a.pdf", beside=nowhere / ".a.pdf"))
    assert isinstance(told.args[0], StorageError)
    assert "could not be written" in str(told.args[0])


def test_it_is_written_under_another_name_in_the_same_folder(tmp_path: Path) -> None:
    path = tmp_path / "piece.pdf"
    first, second = beside(path), beside(path)
    assert first.parent == tmp_path
    assert first.name.startswith(".piece-")
    assert first != second
