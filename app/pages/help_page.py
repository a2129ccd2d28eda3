"""The page of help: its chapters at the left, the text at the right, found by typing."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QKeyEvent, QTextCharFormat, QTextCursor
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QTextBrowser,
    QTextEdit,
    QWidget,
)

from app.pages.chapters import Chapter, slug
from app.pages.page import Page
from app.pages.text_look import set_in_type
from app.theme import Theme

WIDTH, HEIGHT, LIST_WIDTH = 880, 720, 184
SCHEME = "help"


class HelpPage(Page):
    """Help; F1 opens it, Escape puts it away."""

    def __init__(self, chapters: Sequence[Chapter], theme: Theme, parent: QWidget) -> None:
        super().__init__("Help", theme, parent, width=WIDTH, height=HEIGHT)
        self._chapters = tuple(chapters)
        self.filter, self.contents, self.text = QLineEdit(), QListWidget(), _Text()
        self._lay_out()
        self.contents.currentRowChanged.connect(self._show_chapter)
        self.filter.textChanged.connect(self._find_first)
        self.filter.returnPressed.connect(self._find_next)
        self.text.anchorClicked.connect(self._follow)
        self.take_theme()
        self.contents.setCurrentRow(0)

    def first(self) -> QWidget:
        return self.filter

    def show_chapter(self, name: str, heading: str = "") -> None:
        """Turn to a chapter, and in it to a heading."""
        names = [chapter.name for chapter in self._chapters]
        self.contents.setCurrentRow(names.index(name))
        if heading:
            self.text.scroll_to_heading(heading)

    def show_kind(self, kind: str) -> None:
        """Turn to what is said of a kind of finding; to the first chapter where nothing is."""
        for chapter in self._chapters:
            if kind in chapter.headings:
                self.show_chapter(chapter.name, slug(chapter.headings[kind]))
                return
        self.contents.setCurrentRow(0)

    def take_theme(self) -> None:
        super().take_theme()
        self.filter.setFont(self._theme.sans(13))
        self.contents.setFont(self._theme.sans(13))
        self._set_in_type()

    def _lay_out(self) -> None:
        self.filter.setPlaceholderText("find a word; Enter goes on to the next")
        self.filter.setAccessibleName("Find in the help")
        self.contents.setAccessibleName("Chapters")
        self.contents.setFixedWidth(LIST_WIDTH)
        self.contents.setWordWrap(True)
        self.contents.addItems([chapter.title for chapter in self._chapters])
        self.text.setAccessibleName("Text of the chapter")
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self.contents)
        row.addWidget(self.text, 1)
        self.column.addWidget(self.filter)
        self.column.addLayout(row, 1)

    def _show_chapter(self, row: int) -> None:
        self.text.setMarkdown(self._chapters[row].text)
        self._set_in_type()
        self._mark_found()

    def _set_in_type(self) -> None:
        set_in_type(self.text.document(), self._theme)

    def _follow(self, url: QUrl) -> None:
        if url.scheme() == SCHEME:
            self.show_chapter(url.path(), url.fragment())

    def _find_first(self, wanted: str) -> None:
        """Stay in this chapter if the words are in it, else turn to the first that has them."""
        self.text.moveCursor(QTextCursor.MoveOperation.Start)
        if wanted.strip() and not self.text.find(wanted):
            self._turn_to_next_with(wanted)
        self._mark_found()

    def _find_next(self) -> None:
        wanted = self.filter.text()
        if wanted.strip() and not self.text.find(wanted):
            self._turn_to_next_with(wanted)

    def _turn_to_next_with(self, wanted: str) -> None:
        count = len(self._chapters)
        for step in range(1, count + 1):
            row = (self.contents.currentRow() + step) % count
            if wanted.casefold() in self._chapters[row].text.casefold():
                self.contents.setCurrentRow(row)
                self.text.moveCursor(QTextCursor.MoveOperation.Start)
                self.text.find(wanted)
                return

    def _mark_found(self) -> None:
        """Wash every place where the words stand."""
        look = QTextCharFormat()
        look.setBackground(self._theme.color("graphite_wash"))
        self.text.setExtraSelections(
            [_selection(cursor, look) for cursor in self.text.places_of(self.filter.text())]
        )


class _Text(QTextBrowser):
    """A chapter: nothing is loaded, and no link leads out of the program."""

    def __init__(self) -> None:
        super().__init__()
        self.setOpenLinks(False)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.document().setDocumentMargin(8)

    def loadResource(self, type: int, name: QUrl | str) -> object:
        return None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_Backspace):
            event.ignore()
        else:
            super().keyPressEvent(event)

    def scroll_to_heading(self, heading: str) -> None:
        """Bring a heading to the top."""
        block = self.document().begin()
        while block.isValid():
            if block.blockFormat().headingLevel() and slug(block.text()) == heading:
                top = self.document().documentLayout().blockBoundingRect(block).top()
                self.verticalScrollBar().setValue(round(top))
                self.setTextCursor(QTextCursor(block))
                return
            block = block.next()

    def places_of(self, wanted: str) -> list[QTextCursor]:
        """Where words stand in the chapter."""
        found: list[QTextCursor] = []
        if not wanted.strip():
            return found
        cursor = self.document().find(wanted, 0)
        while not cursor.isNull():
            found.append(cursor)
            cursor = self.document().find(wanted, cursor)
        return found


def _selection(cursor: QTextCursor, look: QTextCharFormat) -> QTextEdit.ExtraSelection:
    selection = QTextEdit.ExtraSelection()
    selection.cursor = cursor
    selection.format = look
    return selection
