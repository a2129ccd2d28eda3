"""What a batch asks: whether a file is kept beside a piece with the same notes. Nothing waits."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.bringing.batch import Batch
from app.bringing.brought_files import BroughtFile, FileState
from app.margin.dates import day_name
from app.theme import Theme

SHOWN = 5
"""Questions at a time; the others follow as these are answered."""
RULE_WIDTH, MARGIN, BUTTON_HEIGHT = 2, 12, 32
LEAVE, TAKE_BOTH = "leave the one you have", "take both"
MARKED, UNMARKED = "●", "○"
"""What is done while nothing is decided, and the other."""
UNTIL_THEN = "Until you decide, the one you have stays."


class Questions(QFrame):
    """The panel; there only while something is asked."""

    def __init__(self, batch: Batch, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._batch, self._theme = batch, theme
        self.setObjectName("here")
        self.setAccessibleName("Asks you")
        self._title, self._can_wait = QLabel("Asks you"), QLabel("can wait; nothing is held up")
        self._foot = QLabel()
        self._foot.setWordWrap(True)
        for label in (self._can_wait, self._foot):
            label.setProperty("role", "quiet")
        self._blocks: dict[int, _Question] = {}
        self._lay_out()
        batch.begun.connect(self.refresh)
        batch.file_changed.connect(self._on_file_changed)
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self.refresh()

    @property
    def blocks(self) -> list[_Question]:
        """The questions that are shown."""
        return list(self._blocks.values())

    @property
    def words_at_foot(self) -> str:
        """How many more there are, and what is done meanwhile."""
        return self._foot.text()

    def refresh(self) -> None:
        """Show the first of what is asked now."""
        asking = self._batch.of(FileState.ASKS)
        shown = {file.index: file for file in asking[:SHOWN]}
        had_focus = any(
            block.isAncestorOf(self.focusWidget())
            for block in self.blocks
            if self.focusWidget() is not None
        )
        for index in [index for index, b in self._blocks.items() if b.file != shown.get(index)]:
            block = self._blocks.pop(index)
            block.hide()
            block.deleteLater()
        for index, file in shown.items():
            if index not in self._blocks:
                block = self._blocks[index] = _Question(file, self._batch, self._theme)
                self._column.addWidget(block)
        if had_focus and self._blocks:
            self.blocks[0].leave.setFocus(Qt.FocusReason.OtherFocusReason)
        more = len(asking) - len(shown)
        self._foot.setText(f"{more} more. {UNTIL_THEN}" if more else UNTIL_THEN)
        self.setVisible(bool(asking))

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self._title, 1)
        head.addWidget(self._can_wait)
        self._column = QVBoxLayout()
        self._column.setSpacing(2 * MARGIN)
        column = QVBoxLayout(self)
        column.setContentsMargins(MARGIN + 8, MARGIN + 2, MARGIN, MARGIN)
        column.setSpacing(MARGIN)
        column.addLayout(head)
        column.addLayout(self._column)
        column.addWidget(self._foot)
        column.addStretch(1)

    def _take_theme(self) -> None:
        self._title.setFont(self._theme.sans(13, 600))
        for label in (self._can_wait, self._foot):
            label.setFont(self._theme.sans(11))

    def _on_file_changed(self, index: int) -> None:
        if index in self._blocks or self._batch.files[index].state is FileState.ASKS:
            self.refresh()


class _Question(QFrame):
    def __init__(self, file: BroughtFile, batch: Batch, theme: Theme) -> None:
        super().__init__()
        self.file, self._theme = file, theme
        twin = file.twin
        assert twin is not None
        day = day_name(twin.brought_in_at, date.today())
        when = f"on {day}" if day != "today" else day
        words = f"brought in {when}: the same notes as in {file.name}, laid out otherwise."
        self._kind, self._how = QLabel("Already here"), QLabel("note for note")
        self._piece, self._words = QLabel(twin.title), QLabel(words)
        for label in (self._piece, self._words):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
        self._kind.setProperty("role", "graphite")
        self._how.setProperty("role", "quiet")
        self._words.setProperty("role", "quiet")
        self.leave, self.take_both = (
            QPushButton(f"{mark}  {words}")
            for mark, words in ((MARKED, LEAVE), (UNMARKED, TAKE_BOTH))
        )
        self.leave.setAccessibleName(f"{LEAVE}: {twin.title}")
        self.take_both.setAccessibleName(f"{TAKE_BOTH}: {twin.title} and {file.name}")
        self.leave.clicked.connect(lambda: batch.leave(file.index))
        self.take_both.clicked.connect(lambda: batch.take_both(file.index))
        self._lay_out()
        theme.changed.connect(self._take_theme)
        self._take_theme()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        color = self._theme.color("graphite")
        QPainter(self).fillRect(0, 0, RULE_WIDTH, self.height(), color)

    def _lay_out(self) -> None:
        head, buttons = QHBoxLayout(), QBoxLayout(QBoxLayout.Direction.LeftToRight)
        head.addWidget(self._kind, 1)
        head.addWidget(self._how)
        buttons.setSpacing(8)
        for button in (self.leave, self.take_both):
            button.setFixedHeight(BUTTON_HEIGHT)
            buttons.addWidget(button)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(MARGIN, 0, 0, 0)
        column.setSpacing(2)
        column.addLayout(head)
        column.addWidget(self._piece)
        column.addWidget(self._words)
        column.addSpacing(6)
        column.addLayout(buttons)

    def _take_theme(self) -> None:
        self._kind.setFont(self._theme.sans(16))
        self._how.setFont(self._theme.sans(11))
        self._piece.setFont(self._theme.serif(17))
        self._words.setFont(self._theme.sans(13))
        for button in (self.leave, self.take_both):
            button.setFont(self._theme.sans(13))
