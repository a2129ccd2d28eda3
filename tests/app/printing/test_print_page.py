"""The page from which the score is printed: what it offers, and what comes of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.printing.print_page import PrintPage
from app.printing.print_wish import Paper
from app.tonality.overlays import OverlayKind
from app.window import MainWindow
from tests.app import small_scores
from tests.app.printing.printed_files import opened, text_of

WAIT = 40_000


@pytest.fixture
def window(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> MainWindow:
    small_scores.bring_in(qtbot, window.desk, small_scores.write(tmp_path))
    qtbot.waitUntil(lambda: window.finding_out.analysis is not None, timeout=WAIT)
    return window


def page_of(window: MainWindow) -> PrintPage:
    window.doing.do("print")
    page = window.pages.made["print"]
    assert isinstance(page, PrintPage)
    return page


def test_it_is_opened_with_the_keyboard_on_the_paper(window: MainWindow) -> None:
    page = page_of(window)
    assert page.isVisible()
    assert QApplication.focusWidget() in page.papers.values()
    assert page.stop.isHidden()


def test_it_offers_what_the_score_shows_at_present(window: MainWindow) -> None:
    window.doing.do("show_keys")
    window.doing.do("show_glosses")
    page = page_of(window)
    assert {kind: box.isChecked() for kind, box in page.overlays.items()} == {
        OverlayKind.KEYS: False,
        OverlayKind.BENT: True,
        OverlayKind.LETTERS: True,
    }
    assert not page.brackets.isChecked()
    assert not page.words.isChecked()


def test_the_score_and_its_remarks_are_printed_by_keyboard_alone(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    window.desk.select_measures(1, 2)
    window.doing.do("write")
    field = window.here.writing.field
    qtbot.keyClicks(field, "hold the last chord")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: len(window.desk.remarks) == 1, timeout=WAIT)
    page = page_of(window)
    page.choose_file = lambda: str(tmp_path / "on paper")
    while QApplication.focusWidget() is not page.begin:
        focused = QApplication.focusWidget()
        assert focused is not None
        assert page.isAncestorOf(focused)
        qtbot.keyClick(focused, Qt.Key.Key_Tab)
    with qtbot.waitSignal(page.printing.printed, timeout=WAIT):
        qtbot.keyClick(page.begin, Qt.Key.Key_Space)
        assert page.stop.isVisible()
        assert QApplication.focusWidget() is page.stop
    document = opened(tmp_path / "on paper.pdf")
    assert document.pageCount() == 2
    assert "hold the last chord" in text_of(document, 1)
    assert window.messages.shown[-1].text == "on paper.pdf is written, 2 pages."
    assert page.isHidden()


def test_the_paper_chosen_is_remembered(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    page = page_of(window)
    page.papers[Paper.LETTER].click()
    page.choose_file = lambda: str(tmp_path / "a.pdf")
    with qtbot.waitSignal(page.printing.printed, timeout=WAIT):
        page.begin.click()
    assert window.remembered.number("print/paper") == 2
    assert opened(tmp_path / "a.pdf").pagePointSize(0).width() == 612


def test_stopping_gives_the_page_back(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    page = page_of(window)
    page.choose_file = lambda: str(tmp_path / "a.pdf")
    page.begin.setFocus()
    qtbot.keyClick(page.begin, Qt.Key.Key_Space)
    assert page.told.text() == "Getting ready"
    qtbot.keyClick(page.stop, Qt.Key.Key_Space)
    assert page.begin.isVisible()
    assert QApplication.focusWidget() is page.begin
    assert not (tmp_path / "a.pdf").exists()


def test_no_file_chosen_is_nothing_done(window: MainWindow) -> None:
    page = page_of(window)
    page.choose_file = lambda: ""
    page.begin.click()
    assert not page.printing.is_busy


def test_a_file_that_cannot_be_written_is_said(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    page = page_of(window)
    page.choose_file = lambda: str(tmp_path / "nowhere" / "a.pdf")
    with qtbot.waitSignal(page.printing.failed, timeout=WAIT):
        page.begin.click()
    assert "a.pdf" in window.messages.shown[-1].text
    assert "could not be written" in window.messages.shown[-1].text
    assert page.begin.isVisible()


def test_the_window_can_be_closed_while_it_prints(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    page = page_of(window)
    page.choose_file = lambda: str(tmp_path / "a.pdf")
    with qtbot.waitSignal(page.printing.progress_changed, timeout=WAIT):
        page.begin.click()
    window.close()
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".pdf"] == []
