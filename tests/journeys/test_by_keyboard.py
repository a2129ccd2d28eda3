"""Without the mouse, from the first start to the last remark and to paper."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.margin.finding_view import FindingView
from app.margin.remark_view import RemarkView
from app.window import MainWindow
from core.notebook.judgements import judgements_of
from core.notebook.values import RemarkKind, Ruling
from core.resources import sample_library
from tests.app import small_scores
from tests.app.printing.printed_files import opened, text_of

Opened = Callable[[], AbstractContextManager[MainWindow]]
WAIT = 60_000
NONE = Qt.KeyboardModifier.NoModifier
CONTROL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
TABS_AT_MOST = 20


def focused() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def press(key: Qt.Key, modifier: Qt.KeyboardModifier = NONE) -> None:
    QTest.keyClick(focused(), key, modifier)


def write(text: str) -> None:
    """Type, each letter to whoever has the keyboard by then."""
    for letter in text:
        QTest.keyClicks(focused(), letter)


def press_until(key: Qt.Key, is_there: Callable[[], bool]) -> None:
    for _ in range(TABS_AT_MOST):
        if is_there():
            return
        press(key)
    assert is_there()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two pieces, and a file that is none."""
    folder = tmp_path / "scores"
    folder.mkdir()
    shutil.copy(sample_library() / "barcarolle.musicxml", folder)
    small_scores.write(folder, "march.musicxml", "Slow March")
    (folder / "letter.musicxml").write_bytes(b"Dear pianist")
    return folder


def test_from_the_first_start_to_paper(
    qtbot: QtBot,
    open_window: Opened,
    folder: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with open_window() as window:
        window.activateWindow()
        qtbot.waitUntil(lambda: focused() is window.first_start.bring_in)
        _bring_a_folder_in(qtbot, window, folder, monkeypatch)
        _open_from_what_came(qtbot, window)
        _be_told_why_and_confirm(qtbot, window)
        _go_along_the_form_line(qtbot, window)
        _hear_it(window, monkeypatch)
        _write_a_reading(qtbot, window)
        _see_it_as_one_line(qtbot, window)
        _write_on_another_piece(qtbot, window)
        _print_it(qtbot, window, tmp_path)
    with open_window() as window:
        # The next day: the last piece, its remark, and the long line.
        window.desk.open_piece(window.remembered.number("desk/piece"))
        qtbot.waitUntil(lambda: [r.body for r in window.desk.remarks] == ["slower still"])
        assert window.score_view().is_one_line


def _bring_a_folder_in(
    qtbot: QtBot, window: MainWindow, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The platform's own dialog: the folder's name is typed into it, and Enter pressed.
    monkeypatch.setattr(window.doing, "choose_folder", lambda: str(folder))
    press(Qt.Key.Key_O, CONTROL | SHIFT)
    qtbot.waitUntil(lambda: window.bringing.is_shown, timeout=WAIT)
    qtbot.waitUntil(lambda: not window.desk.is_reading, timeout=WAIT)
    view = window.bringing.view
    assert view is not None
    assert view.batch.counts.words() == "2 read, 1 could not be"


def _open_from_what_came(qtbot: QtBot, window: MainWindow) -> None:
    assert window.bringing.view is not None
    assert window.bringing.view.isAncestorOf(focused()) or focused() is window.bringing.view
    write("barcar")
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=WAIT)
    assert window.desk.piece is not None
    assert window.desk.piece.title == "Barcarolle"
    view = window.score_view()
    qtbot.waitUntil(lambda: view.geometry_of(1) is not None, timeout=WAIT)
    qtbot.waitUntil(lambda: bool(window.finding_out.overlays.sections), timeout=WAIT)
    assert focused() is view


def _be_told_why_and_confirm(qtbot: QtBot, window: MainWindow) -> None:
    write("9")
    press(Qt.Key.Key_Return)
    press(Qt.Key.Key_Right, CONTROL | SHIFT)
    press(Qt.Key.Key_Right, CONTROL | SHIFT)
    assert window.desk.where() == "m. 9 to 11"
    qtbot.waitUntil(lambda: bool(window.finding_out.findings.here), timeout=WAIT)
    qtbot.waitUntil(lambda: window.here.focus_findings(), timeout=WAIT)
    press(Qt.Key.Key_J, CONTROL)
    assert isinstance(focused(), FindingView)
    press_until(Qt.Key.Key_Tab, lambda: "G Dorian" in focused().accessibleName())
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: bool(window.finding_out.overlays.evidence), timeout=WAIT)
    press(Qt.Key.Key_Y)
    store, piece = window.desk.store, window.desk.piece
    assert piece is not None
    qtbot.waitUntil(lambda: bool(judgements_of(store, piece.id)), timeout=WAIT)
    assert [kept.ruling for kept in judgements_of(store, piece.id)] == [Ruling.CONFIRMED]


def _go_along_the_form_line(qtbot: QtBot, window: MainWindow) -> None:
    press_until(Qt.Key.Key_F6, lambda: focused() is window.form_line)
    press(Qt.Key.Key_Home)
    press(Qt.Key.Key_Right)
    qtbot.waitUntil(lambda: window.desk.statement is not None)
    assert window.desk.statement is not None
    assert window.desk.statement.number == 2
    assert window.desk.where().startswith("m. 1 to 4")


def _hear_it(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    """Space plays the statement; what sounds is the player's own matter, tried elsewhere."""
    asked: list[str] = []
    listening = window.hearing.listening
    monkeypatch.setattr(listening, "toggle", lambda: asked.append(listening.what_will_play()))
    press(Qt.Key.Key_Space)
    assert len(asked) == 1
    assert asked[0].startswith("m. 1 to 4")


def _write_a_reading(qtbot: QtBot, window: MainWindow) -> None:
    press(Qt.Key.Key_Return, CONTROL)
    write("like a memory")
    press(Qt.Key.Key_3, CONTROL)
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: len(window.desk.remarks) == 1, timeout=WAIT)
    remark = window.desk.remarks[0]
    assert (remark.body, remark.kind) == ("like a memory", RemarkKind.READING)
    assert remark.anchor.statement_number == 2
    qtbot.waitUntil(lambda: len(window.here.views()) == 1, timeout=WAIT)
    press(Qt.Key.Key_Escape)
    press_until(Qt.Key.Key_Tab, lambda: isinstance(focused(), RemarkView))
    press(Qt.Key.Key_Return)
    write("; far away")
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: window.desk.remarks[0].body == "like a memory; far away", timeout=WAIT)


def _see_it_as_one_line(qtbot: QtBot, window: MainWindow) -> None:
    press(Qt.Key.Key_P, CONTROL | SHIFT)
    view = window.score_view()
    assert view.is_one_line
    qtbot.waitUntil(lambda: view.geometry_of(1) is not None, timeout=WAIT)
    press_until(Qt.Key.Key_F6, lambda: focused() is view)
    press(Qt.Key.Key_End)
    bar = view.horizontalScrollBar()
    qtbot.waitUntil(lambda: bar.value() > 0, timeout=WAIT)
    assert window.desk.where() == "m. 24"


def _write_on_another_piece(qtbot: QtBot, window: MainWindow) -> None:
    press_until(Qt.Key.Key_F6, lambda: focused() is window.shelf.list)
    write("slow")
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Return)
    piece = window.desk.piece
    qtbot.waitUntil(lambda: window.desk.piece is not piece, timeout=WAIT)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=WAIT)
    assert window.desk.piece is not None
    assert window.desk.piece.title == "Slow March"
    press(Qt.Key.Key_Return, CONTROL)
    write("slower still")
    press(Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: [r.body for r in window.desk.remarks] == ["slower still"], timeout=WAIT)


def _print_it(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    press(Qt.Key.Key_P, CONTROL)
    page = window.pages.made["print"]
    assert page.isVisible()
    page.choose_file = lambda: str(tmp_path / "march.pdf")  # type: ignore[attr-defined]
    press_until(Qt.Key.Key_Tab, lambda: focused() is page.begin)  # type: ignore[attr-defined]
    with qtbot.waitSignal(page.printing.printed, timeout=WAIT):  # type: ignore[attr-defined]
        press(Qt.Key.Key_Space)
    document = opened(tmp_path / "march.pdf")
    assert "slower still" in text_of(document, document.pageCount() - 1)
