"""What the actions do that open pages."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QApplication

from app.margin.finding_view import FindingView

if TYPE_CHECKING:
    from app.window import MainWindow


def page_acts(window: MainWindow) -> dict[str, Callable[[], object]]:
    """By id of the action."""
    pages = window.pages
    return {
        "help": partial(_help, window),
        "first_minutes": partial(_chapter, window, "first_minutes"),
        "what_findings_mean": partial(_chapter, window, "findings"),
        "keys": partial(pages.open, "keys"),
        "settings": partial(pages.open, "settings"),
        "show_log": partial(pages.open, "log"),
        "about": partial(pages.open, "about"),
    }


def _help(window: MainWindow) -> None:
    """On a finding, what findings of its kind mean; elsewhere the help as it was left."""
    kind = focused_kind()
    page = window.pages.help()
    if kind:
        page.show_kind(kind)


def _chapter(window: MainWindow, name: str) -> None:
    window.pages.help().show_chapter(name)


def focused_kind() -> str:
    """The kind of the finding that has the keyboard; empty where none has it."""
    widget = QApplication.focusWidget()
    while widget is not None and not isinstance(widget, FindingView):
        widget = widget.parentWidget()
    return widget.shown.kind if widget is not None and widget.shown is not None else ""
