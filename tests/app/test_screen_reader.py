"""What a screen reader is told, and where Tab leads: in the full window and in all that opens."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QLabel, QRadioButton, QWidget
from pytestqt.qtbot import QtBot

from app.bootstrap import build_window, settings_in
from app.screen_reader import ROLES
from app.window import MainWindow
from tests.app import barcarolle
from tests.app.bringing import folders
from tests.contracts.fake_store import FakeStore

WAIT = 60_000
SAYS_NOTHING = {QAccessible.Role.NoRole, QAccessible.Role.Client, QAccessible.Role.Border}
"""Roles that tell a listener nothing of what something is for."""
PAGES = ["help", "keys", "settings", "show_log", "about", "print"]
STEPS_AT_MOST = 60


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A window with everything in it: findings, a remark, a message, the measure's list."""
    built = build_window(FakeStore(), settings_in(tmp_path))
    qtbot.addWidget(built)
    built.resize(1440, 900)
    built.show()
    qtbot.waitExposed(built)
    built.activateWindow()
    barcarolle.on(qtbot, built.desk)
    qtbot.waitUntil(lambda: built.finding_out.analysis is not None, timeout=WAIT)
    built.desk.select_measures(8, 10)
    built.doing.do("write")
    QTest.keyClicks(built.here.writing.field, "from far away")
    QTest.keyClick(built.here.writing.field, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: len(built.here.views()) == 1, timeout=WAIT)
    qtbot.waitUntil(lambda: built.here.focus_findings(), timeout=WAIT)
    built.doing.do("list_measure")
    built.messages.tell("One sentence.")
    yield built
    built.close()


def is_viewport(widget: QWidget) -> bool:
    """Whether screen readers know it as the area around it."""
    around = widget.parentWidget()
    return isinstance(around, QAbstractScrollArea) and around.viewport() is widget


def with_keyboard(parent: QWidget) -> list[QWidget]:
    """All that is seen and can have the keyboard."""
    return [
        widget
        for widget in parent.findChildren(QWidget)
        if widget.isVisible()
        and widget.isEnabled()
        and widget.focusPolicy() != Qt.FocusPolicy.NoFocus
        and not is_viewport(widget)
        and not widget.objectName().startswith("qt_")
    ]


def told(widget: QWidget) -> tuple[str, QAccessible.Role]:
    """Name and role, as a screen reader hears them."""
    heard = QAccessible.queryAccessibleInterface(widget)
    assert heard is not None, widget
    return heard.text(QAccessible.Text.Name), heard.role()


def nameless(widgets: list[QWidget]) -> list[tuple[QWidget, str, str]]:
    found = []
    for widget in widgets:
        name, role = told(widget)
        if not name.strip() or role in SAYS_NOTHING:
            found.append((widget, name, role.name))
    return found


def takes_tab(widget: QWidget) -> bool:
    """Whether Tab leads there; of radio buttons it leads to the chosen one of each group."""
    if isinstance(widget, QRadioButton) and not widget.isChecked():
        return False
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)


def reached_by_tab(first: QWidget, key: Qt.Key = Qt.Key.Key_Tab) -> set[QWidget]:
    """Who has the keyboard while Tab is pressed, until it comes round."""
    first.setFocus()
    reached: set[QWidget] = set()
    for _ in range(STEPS_AT_MOST):
        widget = QApplication.focusWidget()
        assert widget is not None
        if widget in reached:
            break
        reached.add(widget)
        QTest.keyClick(widget, key)
    return reached


def test_everything_on_the_desk_has_a_name_and_a_role(window: MainWindow) -> None:
    parts = with_keyboard(window)
    kinds = {type(part).__name__ for part in parts}
    wanted = {*ROLES, "PieceList", "MeasureList", "TextField"} - {"BringingView"}
    assert wanted <= kinds
    assert nameless(parts) == []


def test_what_is_drawn_by_hand_is_told_as_what_it_is(window: MainWindow) -> None:
    roles = {type(part).__name__: told(part)[1] for part in with_keyboard(window)}
    drawn = set(ROLES) - {"BringingView"}
    assert {name: roles[name] for name in drawn} == {name: ROLES[name] for name in drawn}


@pytest.mark.parametrize("key", [Qt.Key.Key_Tab, Qt.Key.Key_Backtab])
def test_tab_comes_to_everything_on_the_desk(window: MainWindow, key: Qt.Key) -> None:
    wanted = {widget for widget in with_keyboard(window) if takes_tab(widget)}
    assert len(wanted) > 10
    reached = reached_by_tab(window.score_view(), key)
    assert wanted - reached == set()


def test_the_long_line_is_told_and_reached_like_the_pages(qtbot: QtBot, window: MainWindow) -> None:
    window.doing.do("one_line")
    view = window.score_view()
    qtbot.waitUntil(lambda: view.geometry_of(1) is not None, timeout=WAIT)
    assert told(view) == ("Score", QAccessible.Role.Canvas)
    assert view in reached_by_tab(window.shelf.list)


@pytest.mark.parametrize("page", PAGES)
def test_everything_on_a_page_has_a_name_and_a_role_and_is_reached(
    window: MainWindow, page: str
) -> None:
    window.doing.do(page)
    shown = next(made for made in window.pages.made.values() if made.isVisible())
    assert told(shown)[0]
    parts = with_keyboard(shown)
    assert parts
    assert nameless(parts) == []
    wanted = {widget for widget in parts if takes_tab(widget) and not isinstance(widget, QLabel)}
    assert wanted - reached_by_tab(shown.first()) == set()


def test_the_palette_has_a_name_and_a_role(window: MainWindow) -> None:
    window.doing.do("do")
    parts = with_keyboard(window.palette_panel)
    assert parts
    assert nameless(parts) == []


def test_many_files_brought_in_have_names_and_roles_and_are_reached(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    window.desk.bring_in([folders.write_all(tmp_path / "many")])
    qtbot.waitUntil(lambda: window.bringing.is_shown, timeout=WAIT)
    qtbot.waitUntil(lambda: not window.desk.is_reading, timeout=WAIT)
    view = window.bringing.view
    assert view is not None
    parts = [*with_keyboard(view), view]
    assert len(parts) > 3
    assert nameless(parts) == []
    wanted = {widget for widget in parts if takes_tab(widget)}
    assert wanted - reached_by_tab(view) == set()


def test_an_empty_desk_is_told_and_reached(qtbot: QtBot, tmp_path: Path) -> None:
    window = build_window(FakeStore(), settings_in(tmp_path))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    qtbot.waitUntil(lambda: QApplication.focusWidget() is window.first_start.bring_in)
    parts = with_keyboard(window)
    assert nameless(parts) == []
    wanted = {widget for widget in parts if takes_tab(widget)}
    assert wanted - reached_by_tab(window.first_start.bring_in) == set()
    window.close()


def test_a_piece_that_is_gone_leaves_nothing_to_be_told(window: MainWindow) -> None:
    """The role belongs to the widget and ends with it."""
    for _ in range(3):
        assert nameless(with_keyboard(window)) == []
        window.desk.select(None)
        QApplication.processEvents()
        window.desk.select_measures(8, 10)
        QApplication.processEvents()
    assert nameless(with_keyboard(window)) == []
