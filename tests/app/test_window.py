"""The window's parts together: every action done, panels folded, everything named."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from app import bootstrap
from app.bootstrap import build_window, settings_in
from app.commands_desktop import ICON_SIZES
from app.desk.action_table import ACTIONS
from app.desk.remembered import Remembered
from app.desk.selection import Selection
from app.desk.shortcuts import key_rows
from app.kept_where import HOME_VARIABLE, home
from app.window import MainWindow
from core.notebook.values import AnchorKind
from core.score.places import Passage
from tests.app import small_scores
from tests.contracts.fake_store import FakeStore


@pytest.fixture
def piece_window(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> MainWindow:
    small_scores.bring_in(qtbot, window.desk, small_scores.write(tmp_path))
    return window


def test_every_action_has_a_doing(window: MainWindow) -> None:
    assert set(window.doing._acts) == {action.id for action in ACTIONS}
    assert set(window.actions_by_id) == {action.id for action in ACTIONS}


@pytest.mark.usefixtures("qapp")
def test_every_key_stands_on_the_page_of_keys() -> None:
    does = {row[2] for row in key_rows()}
    assert {action.name for action in ACTIONS if action.keys} <= does


def test_an_action_that_can_not_be_done_says_why(window: MainWindow) -> None:
    window.doing.do("close_piece")
    assert window.messages.shown[-1].text == "Close the piece: not now, no piece is open."


def test_panels_stand_folded_on_an_empty_desk_only(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    assert not window.shelf.isVisible()
    assert not window.here.isVisible()
    small_scores.bring_in(qtbot, window.desk, small_scores.write(tmp_path))
    assert window.shelf.isVisible()
    assert window.here.isVisible()


def test_a_folded_panel_stays_folded(piece_window: MainWindow, tmp_path: Path) -> None:
    piece_window.doing.do("fold_shelf")
    piece_window.doing.do("fold_here")
    assert not piece_window.shelf.isVisible()
    assert not piece_window.here.isVisible()
    piece_window.remembered.save()
    again = Remembered(settings_in(tmp_path))
    assert again.is_folded("shelf")
    assert again.is_folded("here")
    piece_window.doing.do("fold_shelf")
    assert piece_window.shelf.isVisible()


def test_writing_unfolds_here(piece_window: MainWindow) -> None:
    piece_window.doing.do("fold_here")
    piece_window.desk.typing_begun.emit("s")
    assert piece_window.here.isVisible()
    assert piece_window.here.writing.field.toPlainText() == "s"


def test_do_finds_goes_and_gives_the_keyboard_to_the_score(piece_window: MainWindow) -> None:
    piece_window.desk.typing_begun.emit("3")
    panel = piece_window.palette_panel
    assert panel.isVisible()
    QTest.keyClick(panel.input, Qt.Key.Key_Return)
    assert not panel.isVisible()
    assert piece_window.desk.where() == "m. 3"
    assert QApplication.focusWidget() is piece_window.view


def test_escape_leaves_do_where_one_was(piece_window: MainWindow) -> None:
    field = piece_window.here.writing.field
    field.setFocus()
    piece_window.doing.do("do")
    QTest.keyClicks(piece_window.palette_panel.input, "zoom")
    QTest.keyClick(piece_window.palette_panel.input, Qt.Key.Key_Escape)
    assert not piece_window.palette_panel.isVisible()
    assert QApplication.focusWidget() is field


def test_tab_narrows_do(piece_window: MainWindow) -> None:
    piece_window.doing.do("do")
    panel = piece_window.palette_panel
    for _ in range(3):
        QTest.keyClick(panel.input, Qt.Key.Key_Tab)
    assert {row.name for row in panel.rows.rows} == {"piece"}


def test_the_shelf_is_filtered_by_typing(
    qtbot: QtBot, piece_window: MainWindow, tmp_path: Path
) -> None:
    other = small_scores.write(tmp_path, "other.musicxml", "Evening Round")
    small_scores.bring_in(qtbot, piece_window.desk, other)
    shelf = piece_window.shelf
    assert shelf.model.rowCount() == 2
    shelf.list.setFocus()
    QTest.keyClicks(shelf.list, "sm")
    assert shelf.model.rowCount() == 1
    with qtbot.waitSignal(piece_window.desk.score_read):
        QTest.keyClick(shelf._filter, Qt.Key.Key_Return)
    assert piece_window.desk.piece is not None
    assert piece_window.desk.piece.title == "Small Piece"
    assert shelf.model.rowCount() == 2


def test_panes_are_walked_by_one_key(piece_window: MainWindow) -> None:
    piece_window.shelf.list.setFocus()
    met = []
    for _ in range(4):
        piece_window.doing.do("next_pane")
        met.append(QApplication.focusWidget())
    assert met == [
        piece_window.view,
        piece_window.here.writing.field,
        piece_window.form_line,
        piece_window.shelf.list,
    ]
    piece_window.doing.do("previous_pane")
    assert QApplication.focusWidget() is piece_window.form_line


def test_the_list_of_the_measure_unfolds_under_here(piece_window: MainWindow) -> None:
    piece_window.desk.select_measures(0, 0)
    piece_window.doing.do("list_measure")
    assert piece_window.measure_list is not None
    assert piece_window.measure_list.isVisible()
    piece_window.doing.do("list_measure")
    assert not piece_window.measure_list.isVisible()


def is_viewport(widget: QWidget) -> bool:
    """Whether screen readers know it as the area around it."""
    around = widget.parentWidget()
    return isinstance(around, QAbstractScrollArea) and around.viewport() is widget


def test_whoever_can_have_the_keyboard_has_a_name(piece_window: MainWindow) -> None:
    piece_window.doing.do("list_measure")
    piece_window.doing.do("keys")
    nameless = [
        (widget, widget.parentWidget())
        for widget in piece_window.findChildren(QWidget)
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus
        and not widget.objectName().startswith("qt_")
        and not widget.accessibleName()
        and not getattr(widget, "text", str)()
        and not isinstance(widget, QLabel)
        and not is_viewport(widget)
    ]
    assert nameless == []


def dragged(kind: type, *paths: str) -> QDragEnterEvent | QDropEvent:
    """What the platform sends while files, or something else, are over the window."""
    matter = QMimeData()
    matter.setUrls([QUrl(path) if "://" in path else QUrl.fromLocalFile(path) for path in paths])
    event: QDragEnterEvent | QDropEvent = kind(
        QPoint(5, 5),
        Qt.DropAction.CopyAction,
        matter,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    event.matter = matter  # type: ignore[union-attr]  # the event does not keep it
    event.ignore()
    return event


def test_files_and_folders_are_taken_where_they_are_dropped(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    brought: list[list[Path]] = []
    monkeypatch.setattr(window.desk, "bring_in", brought.append)
    names = [str(tmp_path / "a b.mxl"), str(tmp_path)]
    entering = dragged(QDragEnterEvent, *names)
    window.dragEnterEvent(entering)
    assert entering.isAccepted()
    assert window.first_start.target.is_dragged_over
    window.dropEvent(dragged(QDropEvent, *names, "https://example.org/a.mxl"))
    assert brought == [[tmp_path / "a b.mxl", tmp_path]]
    assert not window.first_start.target.is_dragged_over


def test_what_is_no_file_is_not_taken(window: MainWindow) -> None:
    entering = dragged(QDragEnterEvent, "https://example.org/a.mxl")
    window.dragEnterEvent(entering)
    assert not entering.isAccepted()


def test_a_notebook_that_can_only_be_read_takes_no_files(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(type(window.desk), "is_read_only", True)
    entering = dragged(QDragEnterEvent, str(tmp_path / "a.mxl"))
    window.dragEnterEvent(entering)
    assert not entering.isAccepted()


def test_geometry_is_remembered(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    # Smaller than the screen that tests have, or it would be fitted to it.
    window.resize(790, 600)
    window.close()
    again = build_window(FakeStore(), settings_in(tmp_path))
    qtbot.addWidget(again)
    assert (again.width(), again.height()) == (790, 600)
    again.close()


def test_the_icon_comes_in_the_sizes_that_are_drawn(window: MainWindow) -> None:
    assert window.windowIcon().isNull()
    bootstrap._set_icon(window)
    widths = {size.width() for size in window.windowIcon().availableSizes()}
    assert widths == set(ICON_SIZES)


def test_a_selection_is_remembered(tmp_path: Path) -> None:
    selection = Selection(kind=AnchorKind.PASSAGE, passage=Passage.of_measures(2, 3))
    remembered = Remembered(settings_in(tmp_path))
    remembered.selection = selection
    remembered.save()
    assert Remembered(settings_in(tmp_path)).selection == selection


@pytest.mark.parametrize("text", ["", "[]", "{", '{"kind": "x", "start": [1, "0", null, null]}'])
def test_a_damaged_selection_is_none(tmp_path: Path, text: str) -> None:
    settings = settings_in(tmp_path)
    settings.setValue("desk/selection", text)
    assert Remembered(settings).selection is None


def test_the_notebook_can_be_elsewhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path))
    assert home() == tmp_path
    monkeypatch.delenv(HOME_VARIABLE)
    assert home().name == "Postil"
