"""A folder comes in: good files, bad ones, some twice, in six formats; stopped, looked at again."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.bringing.bringing_view import BringingView
from app.bringing.brought_files import FileState
from app.window import MainWindow
from tests.app import small_scores
from tests.app.bringing import folders
from tests.journeys.test_spine import drop, longest_wait

Opened = Callable[[], AbstractContextManager[MainWindow]]
PATIENCE_MS = folders.PATIENCE_MS
CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folders.write_all(tmp_path / "Scores, spring")


def view_of(qtbot: QtBot, window: MainWindow) -> BringingView:
    qtbot.waitUntil(lambda: window.bringing.is_shown, timeout=PATIENCE_MS)
    view = window.bringing.view
    assert view is not None
    return view


def wait_until_through(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.waitUntil(lambda: not window.desk.is_reading, timeout=PATIENCE_MS)
    with qtbot.waitSignal(window.desk.pieces_changed, timeout=PATIENCE_MS):
        window.desk.fetch_pieces()


def focused() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def piece_labels(window: MainWindow) -> tuple[str, str]:
    """Title of the window and what the top line says first."""
    return window.windowTitle(), window.top_line._title.text()


def test_a_folder_is_dropped_and_a_row_leads_to_its_page(
    qtbot: QtBot, open_window: Opened, folder: Path
) -> None:
    with open_window() as window:
        drop(window, folder)
        view = view_of(qtbot, window)
        assert piece_labels(window) == ("Bringing in – Postil", "Bringing in")
        assert window.top_line._place.text() == "9 files, “Scores, spring”"
        assert window.shelf.isVisible()
        assert not window.here.isVisible()
        assert not window.form_line.isVisible()
        wait_until_through(qtbot, window)
        # The shelf filled meanwhile, and did not take the view away.
        assert window.bringing.is_shown
        assert len(window.desk.pieces) == 5
        assert window.messages.shown == ()
        table = view.sections[1].table
        row = next(n for n, file in enumerate(table.files()) if file.title == "Rope Dance")
        qtbot.mouseClick(
            table.viewport(),
            Qt.MouseButton.LeftButton,
            pos=table.visualRect(table.found.index(row, 0)).center(),
        )
        qtbot.waitUntil(lambda: window.desk.score is not None, timeout=PATIENCE_MS)
        assert window.middle.currentWidget() is window.view
        assert piece_labels(window) == ("Rope Dance – Postil", "Rope Dance")
        assert window.here.isVisible()
        window.doing.do("brought_in")
        assert window.bringing.is_shown
        assert not window.here.isVisible()
        # The piece that is open already is a row like the others.
        view.piece_chosen.emit(window.desk.piece.id if window.desk.piece else 0)
        assert window.middle.currentWidget() is window.view
    # The next day it is all there.
    with open_window() as window:
        assert len(window.desk.pieces) == 5
        window.doing.do("brought_in")
        assert "no files were brought in together" in window.messages.shown[-1].text


def test_without_the_mouse_stopped_taken_up_and_gone_through(
    qtbot: QtBot, open_window: Opened, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "many"
    folder.mkdir()
    for number in range(24):
        data = small_scores.four_measures(f"Piece {number:02}")
        changed = data.replace(b"<duration>2", b"<duration>%d" % (number + 2))
        (folder / f"{number:02}.musicxml").write_bytes(changed)
    (folder / "99 letter.musicxml").write_bytes(b"Dear pianist")
    with open_window() as window:
        window.activateWindow()
        qtbot.waitUntil(lambda: QApplication.focusWidget() is window.first_start.bring_in)
        monkeypatch.setattr(window.doing, "choose_folder", lambda: str(folder))
        QTest.keyClick(focused(), Qt.Key.Key_O, CONTROL | Qt.KeyboardModifier.ShiftModifier)
        view = view_of(qtbot, window)
        batch = view.batch
        qtbot.waitUntil(lambda: batch.counts.of[FileState.READ] > 0, timeout=PATIENCE_MS)
        assert view.isAncestorOf(focused()) or focused() is view
        QTest.keyClick(focused(), Qt.Key.Key_Period, CONTROL)
        wait_until_through(qtbot, window)
        read = batch.counts.of[FileState.READ]
        assert 0 < read < 24
        assert len(window.desk.pieces) == read
        assert view.go_on.isVisible()
        view.setFocus()
        QTest.keyClick(focused(), Qt.Key.Key_Tab)
        assert focused() is view.go_on
        QTest.keyClick(focused(), Qt.Key.Key_Space)
        wait_until_through(qtbot, window)
        assert batch.counts.words() == "24 read, 1 could not be"
        # A letter begins to find, Down goes to what was found, Enter opens it.
        QTest.keyClicks(focused(), "p")
        QTest.keyClicks(focused(), "iece 17")
        shown = view.sections[1].table
        qtbot.waitUntil(lambda: [file.title for file in shown.files()] == ["Piece 17"])
        QTest.keyClick(focused(), Qt.Key.Key_Down)
        QTest.keyClick(focused(), Qt.Key.Key_Return)
        qtbot.waitUntil(lambda: window.desk.score is not None, timeout=PATIENCE_MS)
        assert window.desk.piece is not None
        assert window.desk.piece.title == "Piece 17"
        # Back by name, and Escape steps back to the page.
        QTest.keyClick(focused(), Qt.Key.Key_K, CONTROL)
        QTest.keyClicks(focused(), "brought in last")
        QTest.keyClick(focused(), Qt.Key.Key_Return)
        qtbot.waitUntil(lambda: window.bringing.is_shown)
        for _ in range(3):
            QTest.keyClick(focused(), Qt.Key.Key_Escape)
        assert window.middle.currentWidget() is window.view


def test_a_score_is_worked_on_while_a_folder_comes_in(
    qtbot: QtBot, open_window: Opened, folder: Path, tmp_path: Path
) -> None:
    with open_window() as window:
        mine_at = tmp_path / "mine.musicxml"
        mine_at.write_bytes(folders.other_notes("Mine", octave=3))
        drop(window, mine_at)
        qtbot.waitUntil(lambda: window.desk.score is not None, timeout=PATIENCE_MS)
        mine = window.desk.piece
        assert mine is not None
        drop(window, folder)
        view_of(qtbot, window)
        # The open piece is asked for again on the shelf: it comes back, and nothing is stopped.
        window.desk.open_piece(mine.id)
        assert window.middle.currentWidget() is window.view
        assert window.desk.is_reading
        window.here.writing.type("sink")
        window.here.finish()
        assert [remark.body for remark in window.desk.remarks] == ["sink"]
        wait_until_through(qtbot, window)
        assert window.middle.currentWidget() is window.view
        assert window.desk.piece is not None
        assert window.desk.piece.id == mine.id
        assert len(window.desk.pieces) == 6


def test_closing_the_window_midway_keeps_what_was_read(
    qtbot: QtBot, open_window: Opened, folder: Path
) -> None:
    with open_window() as window:
        drop(window, folder)
        view = view_of(qtbot, window)
        qtbot.waitUntil(lambda: view.batch.counts.of[FileState.READ] > 0, timeout=PATIENCE_MS)
    with open_window() as window:
        titles = [piece.title for piece in window.desk.pieces]
        assert "Slow March" in titles
        for piece in window.desk.pieces:
            window.desk.open_piece(piece.id)
            qtbot.waitUntil(lambda: window.desk.score is not None, timeout=PATIENCE_MS)


def test_the_loop_does_not_stall_while_a_folder_comes_in(
    qtbot: QtBot, open_window: Opened, folder: Path
) -> None:
    with open_window() as window:
        last = time.perf_counter()
        drop(window, folder)

        def is_in() -> bool:
            return window.bringing.is_shown and not window.desk.is_reading

        wait = longest_wait(qtbot, is_in, last, PATIENCE_MS)
        # As for one piece: a generous bound for a machine under load.
        assert wait < 0.5
