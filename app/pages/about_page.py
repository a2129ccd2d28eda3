"""About Postil: its version, and the licence of everything that it ships or uses."""

from __future__ import annotations

from functools import partial

from PySide6.QtWidgets import QFrame, QListWidget, QPlainTextEdit, QWidget

from app.desk.turns import Turns
from app.pages.licences import Entry, entries, is_here, summary, text, version
from app.pages.page import Page
from app.theme import Theme

WIDTH, HEIGHT, LIST_HEIGHT = 760, 680, 232


class AboutPage(Page):
    """A list of what has a licence, and below it the text of the one that is chosen."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        title = f"Postil {version()}".strip()
        super().__init__(f"About {title}", theme, parent, width=WIDTH, height=HEIGHT)
        self._entries: list[Entry] = []
        self.list, self.text = QListWidget(), QPlainTextEdit()
        self.list.setFixedHeight(LIST_HEIGHT)
        self.list.setAccessibleName("Postil and what it is built on")
        self.text.setReadOnly(True)
        self.text.setFrameShape(QFrame.Shape.NoFrame)
        self.text.setAccessibleName("Text of the licence")
        self.column.addWidget(self.list)
        self.column.addWidget(self.text, 1)
        self.list.currentRowChanged.connect(self._show_text)
        self.take_theme()
        # To look a package up takes some milliseconds, and there are a dozen.
        self.turns = Turns(self)
        self.turns.soon(*(partial(self._add, entry) for entry in entries()))

    def first(self) -> QWidget:
        return self.list

    def take_theme(self) -> None:
        super().take_theme()
        self.list.setFont(self._theme.sans(13))
        self.text.setFont(self._theme.sans(11))

    def shut_down(self) -> None:
        self.turns.clear()

    def _add(self, entry: Entry) -> None:
        if is_here(entry):
            self._entries.append(entry)
            self.list.addItem(summary(entry))
            if len(self._entries) == 1:
                self.list.setCurrentRow(0)

    def _show_text(self, row: int) -> None:
        self.text.setPlainText(text(self._entries[row]))
