"""What actions on the score do: its shape on the screen, and the score on paper."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.score.view import ScoreView
    from app.window import MainWindow

ONE_LINE = "score/one_line"
"""Name of what is remembered: 1 for one long line, 0 for pages."""


def score_acts(window: MainWindow) -> dict[str, Callable[[], object]]:
    """The doing of each, by the action's id."""
    return {
        "one_line": lambda: _switch_line(window),
        "print": lambda: window.pages.open("print"),
    }


def take_remembered(window: MainWindow, view: ScoreView) -> None:
    """Give a new score view the shape that the person chose last."""
    view.is_one_line = window.remembered.number(ONE_LINE) == 1


def _switch_line(window: MainWindow) -> None:
    view = window.score_view()
    view.is_one_line = not view.is_one_line
    window.remembered.set_number(ONE_LINE, int(view.is_one_line))
