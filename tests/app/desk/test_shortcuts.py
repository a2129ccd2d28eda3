"""Keys: none means two things, none is taken by the platform or swallowed by what is focused."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.desk.action_table import ACTIONS, HELD_KEYS
from app.desk.actions import Action
from app.desk.shortcuts import key_of, key_rows, native_words, sequences, shown
from app.window import MainWindow
from tests.app import small_scores

pytestmark = pytest.mark.usefixtures("qapp")

STANDARD = {
    # Qt 6 documentation, "QKeySequence: Standard Shortcuts": its columns for each platform.
    "macOS": {
        "Open": "Ctrl+O",
        "Close": "Ctrl+W",
        "Quit": "Ctrl+Q",
        "Undo": "Ctrl+Z",
        "Redo": "Ctrl+Shift+Z",
        "ZoomIn": "Ctrl++",
        "ZoomOut": "Ctrl+-",
        "FullScreen": "Ctrl+Meta+F",
        "HelpContents": "Ctrl+?",
        "Preferences": "Ctrl+,",
        "Print": "Ctrl+P",
    },
    "Windows": {
        "Open": "Ctrl+O",
        "Close": "Ctrl+F4, Ctrl+W",
        "Undo": "Ctrl+Z, Alt+Backspace",
        "Redo": "Ctrl+Y, Ctrl+Shift+Z, Alt+Shift+Backspace",
        "ZoomIn": "Ctrl++",
        "ZoomOut": "Ctrl+-",
        "FullScreen": "F11, Alt+Return",
        "HelpContents": "F1",
        "Print": "Ctrl+P",
    },
    "X11": {
        "Open": "Ctrl+O",
        "Close": "Ctrl+W",
        "Quit": "Ctrl+Q",
        "Undo": "Ctrl+Z",
        "Redo": "Ctrl+Shift+Z",
        "ZoomIn": "Ctrl++",
        "ZoomOut": "Ctrl+-",
        "FullScreen": "F11, Ctrl+Shift+F",
        "HelpContents": "F1",
        "Print": "Ctrl+P",
    },
}
RESERVED = {
    # Common practice of the three desktops, from memory: what no program is given, or should take.
    "macOS": "Ctrl+H, Ctrl+Alt+H, Ctrl+M, Ctrl+Tab, Ctrl+Space, Ctrl+`, Ctrl+Shift+3, "
    "Ctrl+Shift+4, Ctrl+Shift+5, Ctrl+Shift+Q, Ctrl+Alt+Esc, Ctrl+F1, Ctrl+F2, Ctrl+F3",
    "Windows": "Alt+F4, Alt+Tab, Alt+Esc, Alt+Space, Ctrl+Esc, Ctrl+Shift+Esc, Ctrl+Alt+Del, F10",
    "X11": "Alt+F1, Alt+F2, Alt+F4, Alt+Tab, Alt+Space, Ctrl+Alt+T, Ctrl+Alt+Del, F10, "
    "Ctrl+Shift+U, Ctrl+Space, Ctrl+Alt+Up, Ctrl+Alt+Down, Ctrl+Alt+Left, Ctrl+Alt+Right",
}
SWALLOWED = {
    # A field that undoes its own typing, or goes to where its text begins, does so first.
    "undo",
    "redo",
}

WRITING = {"writing", "filter of a page", "do…"}


def keys_on(platform: str, action: Action) -> list[str]:
    given = STANDARD[platform].get(action.standard, "")
    both = [*filter(None, given.split(", ")), *action.keys]
    return list(dict.fromkeys(QKeySequence(key).toString() for key in both))


@pytest.fixture
def window(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> MainWindow:
    small_scores.bring_in(qtbot, window.desk, small_scores.write(tmp_path))
    return window


def test_no_two_actions_share_a_key_here() -> None:
    keys = Counter(key.toString() for action in ACTIONS for key in sequences(action))
    assert [key for key, count in keys.items() if count > 1] == []


@pytest.mark.parametrize("platform", STANDARD)
def test_no_two_actions_share_a_key_elsewhere(platform: str) -> None:
    keys = Counter(key for action in ACTIONS for key in keys_on(platform, action))
    assert [key for key, count in keys.items() if count > 1] == []


@pytest.mark.parametrize("platform", RESERVED)
def test_no_key_belongs_to_the_platform(platform: str) -> None:
    reserved = {QKeySequence(key).toString() for key in RESERVED[platform].split(", ")}
    taken = {key for action in ACTIONS for key in keys_on(platform, action)}
    assert taken & reserved == set()


def test_standards_are_those_of_qt() -> None:
    names = {action.standard for action in ACTIONS if action.standard}
    assert names <= set(QKeySequence.StandardKey.__members__)
    assert {"Open", "Undo", "Redo", "Quit", "ZoomIn", "FullScreen", "HelpContents"} <= names
    assert {"Preferences", "Close"} <= names


def test_the_platforms_keys_come_first_and_ours_stay() -> None:
    undo = next(action for action in ACTIONS if action.id == "redo")
    given = QKeySequence.keyBindings(QKeySequence.StandardKey.Redo)
    found = sequences(undo)
    assert found[: len(given)] == given
    assert {key.toString() for key in found} >= set(undo.keys)
    assert shown(undo)[0] == given[0].toString(QKeySequence.SequenceFormat.NativeText)
    assert key_of("redo") == shown(undo)[0]


def test_without_a_key_nothing_is_named() -> None:
    assert key_of("show_log") == ""
    assert "Show the log" not in {row[2] for row in key_rows()}


def test_the_page_names_what_panes_handle_too() -> None:
    assert {row[0] for row in HELD_KEYS} <= {row[0] for row in key_rows()}
    assert native_words("with Ctrl from measure") == "with Ctrl from measure"


def panes_of(window: MainWindow) -> dict[str, QWidget]:
    window.pages.open("keys")
    window.doing.do("do")
    return {
        "score": window.score_view(),
        "form line": window.form_line,
        "shelf": window.shelf.list,
        "writing": window.here.writing.field,
        "filter of a page": window.pages.made["keys"].first(),
        "do…": window.palette_panel.input,
    }


@pytest.mark.parametrize(
    "pane", ["score", "form line", "shelf", "writing", "filter of a page", "do…"]
)
def test_no_pane_swallows_a_key_of_an_action(window: MainWindow, pane: str) -> None:
    widget = panes_of(window)[pane]
    assert pane not in WRITING or _is_swallowed(widget, QKeySequence("Ctrl+V"))
    swallowed = {
        action.id
        for action in ACTIONS
        for keys in sequences(action)
        if _is_swallowed(widget, keys) and action.id not in SWALLOWED
    }
    assert swallowed == set()


def _is_swallowed(widget: QWidget, keys: QKeySequence) -> bool:
    """Whether a widget wants the key for itself before it becomes a shortcut."""
    pressed = keys[0]
    event = QKeyEvent(
        QEvent.Type.ShortcutOverride, pressed.key().value, pressed.keyboardModifiers()
    )
    event.ignore()
    QCoreApplication.sendEvent(widget, event)
    return event.isAccepted()
