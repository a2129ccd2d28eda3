"""Keys that panes handle themselves: each that the page of keys names does what it says there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from app.desk.action_table import HELD_KEYS
from app.edits.remark_edits import WriteRemark
from app.window import MainWindow
from tests.app import small_scores

APP = Path(__file__).parents[1]
SEEN_IN = {
    ("Score", "a number"): "test_window.py: test_do_finds_goes_and_gives_the_keyboard_to_the_score",
    ("Score", "any letter"): "score/test_view.py: test_typing_goes_to_the_margin",
    ("Score", "Left, Right, Up, Down"): "score/test_view.py: test_keys_walk_select_and_step_back",
    ("Score", "Shift+arrows"): "score/test_view.py: test_keys_walk_select_and_step_back",
    ("Score", "Escape"): "score/test_view.py: test_keys_walk_select_and_step_back",
    ("Hearing", "Space in the score or the form line"): "desk/test_held_keys.py: test_space_plays",
    (
        "Remarks",
        "Enter, Escape",
    ): "margin/test_here.py: test_enter_ends_the_remark_and_begins_a_fresh_one",
    (
        "Remarks",
        "Alt+1, Alt+2 … while writing",
    ): "margin/test_soundings.py: test_alt_and_a_number_answer_before_it_is_kept",
    ("Remarks", "Tab, Up, Down"): "desk/test_held_keys.py: test_arrows_walk_remarks",
    ("Remarks", "Enter on a remark"): "margin/test_here.py: test_keys_on_a_focused_remark",
    ("Remarks", "Delete on a remark"): "margin/test_here.py: test_keys_on_a_focused_remark",
    (
        "Findings",
        "Tab, Up, Down",
    ): "margin/test_findings_panel.py: test_tab_walks_findings_then_remarks_then_the_field",
    (
        "Findings",
        "Enter on a finding",
    ): "margin/test_findings_panel.py: test_enter_opens_why_and_escape_steps_back",
    (
        "Findings",
        "Y on a finding",
    ): "margin/test_findings_panel.py: test_one_key_confirms_and_the_square_shows_it",
    (
        "Findings",
        "N on a finding",
    ): "margin/test_findings_panel.py: test_overruling_is_typed_in_place",
    (
        "Findings",
        "Delete on a finding",
    ): "margin/test_findings_panel.py: test_one_key_confirms_and_the_square_shows_it",
    (
        "Findings",
        "any other letter",
    ): "margin/test_findings_panel.py: test_typing_on_a_finding_begins_a_remark_on_it",
    ("Pieces", "letters in the shelf"): "test_window.py: test_the_shelf_is_filtered_by_typing",
    ("Pieces", "Enter, F2, Delete in the shelf"): "desk/test_held_keys.py: test_keys_in_the_shelf",
    (
        "Form line",
        "Left, Right, Home, End",
    ): "form/test_form_line.py: test_arrows_go_by_statement_and_end_at_the_ends",
    ("Form line", "Enter"): "form/test_form_line.py: test_enter_goes_to_the_current_place",
    ("Form line", "+, -"): "form/test_form_line.py: test_plus_and_minus_zoom",
    ("Window", "Tab in do…"): "test_window.py: test_tab_narrows_do",
    ("Window", "Escape"): "desk/test_held_keys.py: test_escape_steps_back",
}
"""Where each of them is tried."""


@pytest.fixture
def window(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> MainWindow:
    small_scores.bring_in(qtbot, window.desk, small_scores.write(tmp_path))
    return window


@pytest.mark.parametrize("row", HELD_KEYS, ids=lambda row: f"{row[0]}: {row[1]}")
def test_every_one_is_tried(row: tuple[str, str, str]) -> None:
    file, name = SEEN_IN[row[0], row[1]].split(": ")
    text = (APP / file).read_text(encoding="utf-8")
    assert re.search(rf"^def {name}\(", text, re.MULTILINE)


def test_none_is_tried_that_the_page_does_not_name() -> None:
    assert set(SEEN_IN) == {row[:2] for row in HELD_KEYS}


def test_space_plays(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    played: list[str] = []
    monkeypatch.setattr(window.hearing, "toggle", lambda: played.append("toggled"))
    for pane in (window.score_view(), window.form_line):
        pane.setFocus()
        QTest.keyClick(pane, Qt.Key.Key_Space)
    assert played == ["toggled", "toggled"]


def test_arrows_walk_remarks(window: MainWindow) -> None:
    desk = window.desk
    place = desk.place_to_write()
    assert place is not None
    for body in ("first", "second"):
        WriteRemark(
            desk, piece_id=place[0], body=body, kind=None, anchor=place[1], sitting=object()
        ).push()
    window.here.refresh()
    newest, oldest = (remark.id for remark in sorted(desk.remarks, key=lambda each: -each.id))
    window.here.focus_remark(newest)
    first = QApplication.focusWidget()
    assert first is not None
    QTest.keyClick(first, Qt.Key.Key_Down)
    below = QApplication.focusWidget()
    window.here.focus_remark(oldest)
    assert QApplication.focusWidget() is below is not first
    assert below is not None
    QTest.keyClick(below, Qt.Key.Key_Up)
    assert QApplication.focusWidget() is first


def test_keys_in_the_shelf(qtbot: QtBot, window: MainWindow) -> None:
    shelf, desk = window.shelf.list, window.desk
    window.doing.do("close_piece")
    shelf.setFocus()
    shelf.setCurrentIndex(shelf.model().index(0, 0))
    with qtbot.waitSignal(desk.piece_opened):
        QTest.keyClick(shelf, Qt.Key.Key_Return)
    assert desk.piece is not None
    shelf.setFocus()
    QTest.keyClick(shelf, Qt.Key.Key_F2)
    field = shelf.findChild(QLineEdit)
    assert field is not None
    field.setText("Another Name")
    QTest.keyClick(field, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: [piece.title for piece in desk.pieces] == ["Another Name"])
    shelf.setFocus()
    QTest.keyClick(shelf, Qt.Key.Key_Delete)
    assert desk.pieces == ()


def test_escape_steps_back(window: MainWindow) -> None:
    window.messages.tell("One sentence.")
    QTest.keyClick(window, Qt.Key.Key_Escape)
    assert window.messages.shown == ()
    window.here.writing.field.setFocus()
    QTest.keyClick(window.here.writing.field, Qt.Key.Key_Escape)
    assert QApplication.focusWidget() is window.view
    window.shelf.list.setFocus()
    QTest.keyClick(window.shelf.list, Qt.Key.Key_Escape)
    assert QApplication.focusWidget() is window.view
