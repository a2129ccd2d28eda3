"""The window on a small screen: nothing keeps it wide, nothing lies over anything else."""

from __future__ import annotations

from itertools import combinations

import pytest
from PySide6.QtWidgets import QApplication, QFrame, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from app.desk.top_line import FIELD_WIDTH, TOGGLE_WIDTH, DoField
from app.window import MainWindow
from tests.app import barcarolle

SIZES = [(760, 560), (900, 600), (1440, 900), (2560, 1080)]


@pytest.fixture
def window(qtbot: QtBot, window: MainWindow) -> MainWindow:
    barcarolle.on(qtbot, window.desk)
    qtbot.waitUntil(lambda: window.finding_out.analysis is not None, timeout=60_000)
    window.desk.select_measures(8, 10)
    qtbot.waitUntil(lambda: bool(window.top_line._hearing.text()), timeout=60_000)
    return window


def told(window: MainWindow) -> list[QWidget]:
    """What stands in the top line."""
    line = window.top_line
    parts = [*line.findChildren(QLabel), *line.findChildren(QPushButton), line.field]
    return [
        part
        for part in parts
        if part.isVisible() and (part is line.field or part.parentWidget() is line)
    ]


def settle(qtbot: QtBot, window: MainWindow, size: tuple[int, int]) -> None:
    # Panels are as wide as drawn in a wide window, and get narrower on the way.
    window.resize(max(size[0], 1000), max(size[1], 600))
    qtbot.waitUntil(lambda: window.layout().minimumSize().width() <= size[0])
    QApplication.processEvents()
    window.resize(*size)
    assert (window.width(), window.height()) == size
    qtbot.waitUntil(lambda: window.top_line.width() == size[0])


@pytest.mark.parametrize("size", SIZES)
def test_the_window_takes_the_size_and_the_top_line_fits_in(
    qtbot: QtBot, window: MainWindow, size: tuple[int, int]
) -> None:
    settle(qtbot, window, size)
    line = window.top_line
    line.layout().activate()
    parts = told(window)
    assert len(parts) >= 5
    for part in parts:
        assert line.rect().contains(part.geometry()), part
    for one, other in combinations(parts, 2):
        assert not one.geometry().intersects(other.geometry()), (one, other)


def test_the_field_and_the_toggle_give_way_before_words_do(
    qtbot: QtBot, window: MainWindow
) -> None:
    def widths() -> tuple[int, int]:
        line = window.top_line
        return line.findChild(QPushButton).width(), line.findChild(DoField).width()

    settle(qtbot, window, (1440, 900))
    assert widths() == (TOGGLE_WIDTH, FIELD_WIDTH)
    settle(qtbot, window, (800, 600))
    window.top_line.layout().activate()
    assert widths() < (TOGGLE_WIDTH, FIELD_WIDTH)
    place = next(w for w in told(window) if isinstance(w, QLabel) and w.text() == "m. 9 to 11")
    assert place.width() >= place.fontMetrics().horizontalAdvance("m. 9 to 11")
    settle(qtbot, window, (1440, 900))
    assert widths() == (TOGGLE_WIDTH, FIELD_WIDTH)


def test_the_middle_keeps_room_for_the_score(qtbot: QtBot, window: MainWindow) -> None:
    settle(qtbot, window, (760, 560))
    frames: list[QFrame | QWidget] = [window.shelf, window.middle, window.here]
    assert [frame.isVisible() for frame in frames] == [True, True, True]
    assert window.middle.width() >= 240
    assert window.middle.height() >= 240
