"""Puts what is being brought in into the middle of the window, and makes way for a piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt

if TYPE_CHECKING:
    from app.bringing.bringing_view import BringingView
    from app.window import MainWindow

TITLE = "Bringing in"
MOST_LETTERS = 32
"""Of a folder's name in the top line."""


class Showing:
    """The view of a window's batch, made when several files are first brought in."""

    def __init__(self, window: MainWindow) -> None:
        self._window, self._desk = window, window.desk
        self.view: BringingView | None = None
        desk = window.desk
        desk.bringing.batch_begun.connect(self.show)
        desk.piece_asked_for.connect(self.make_way)

    @property
    def is_shown(self) -> bool:
        """Whether it stands in the middle now."""
        return self.view is not None and self._window.middle.currentWidget() is self.view

    def show(self) -> None:
        """Show the files that come in, or came in last."""
        if self._desk.bringing.batch is None:
            return
        if self.view is None:
            # What it takes to make it would be one long wait.
            self._desk.turns.soon(self._load, self._make, self._put_there)
        else:
            self._put_there()

    def _load(self) -> None:
        import app.bringing.bringing_view  # noqa: F401

    def _make(self) -> None:
        batch = self._desk.bringing.batch
        if batch is None or self.view is not None:
            return
        from app.bringing.bringing_view import BringingView

        self.view = BringingView(batch, self._window.theme)
        self.view.piece_chosen.connect(self._desk.open_piece)
        self.view.left.connect(self._on_left)
        batch.begun.connect(self._name_it)
        self._window.middle.currentChanged.connect(lambda _index: self._name_it())

    def _put_there(self) -> None:
        if self.view is not None:
            self._window.show_middle(self.view)
            self._window.show_panels()
            self._name_it()
            self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def make_way(self) -> None:
        """Show the open piece again."""
        if self.is_shown:
            self._window.show_what_there_is()

    def _on_left(self) -> None:
        if self._desk.piece is not None:
            self.make_way()

    def _name_it(self) -> None:
        """Say in the top line what stands in the middle."""
        batch = self._desk.bringing.batch
        if not self.is_shown or batch is None:
            self._window.top_line.show_instead("", "")
            return
        number = batch.counts.total
        words = f"{number} files"
        if batch.where:
            words += f", “{_shortened(batch.where)}”"
        self._window.top_line.show_instead(TITLE, words)
        self._window.setWindowTitle(f"{TITLE} – Postil")


def _shortened(name: str) -> str:
    """Its beginning and its end, which tell it from others."""
    if len(name) <= MOST_LETTERS:
        return name
    half = MOST_LETTERS // 2
    return f"{name[:half].rstrip()}…{name[-half:].lstrip()}"
