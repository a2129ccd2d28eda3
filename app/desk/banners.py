"""Messages on the desk: a sentence each, over the top of the page, until dismissed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.messages import Message, Messages
from app.theme import Theme

WIDTH, RULE_WIDTH = 640, 2
SHOWN = 4
"""Banners shown at once; the others are counted."""


class Banners(QWidget):
    """The messages not dismissed yet, the last one on top."""

    def __init__(self, messages: Messages, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._messages, self._theme = messages, theme
        self.setAccessibleName("Messages")
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(4)
        messages.changed.connect(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show what stands now."""
        while (item := self._column.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        shown = self._messages.shown[::-1]
        for message in shown[:SHOWN]:
            self._column.addWidget(_Banner(message, self._messages, self._theme))
        if len(shown) > SHOWN:
            others = Message(text=f"and {len(shown) - SHOWN} more; Escape dismisses the first")
            self._column.addWidget(_Banner(others, None, self._theme))
        self.setVisible(bool(shown))
        self.raise_()

    def place(self, left: int, top: int, width: int) -> None:
        """Stand at the top of a column of this width."""
        wanted = min(WIDTH, width - 24)
        self.setFixedWidth(max(wanted, 200))
        height = self._column.heightForWidth(self.width())
        self.setGeometry(left + (width - self.width()) // 2, top + 12, self.width(), height)


class _Banner(QFrame):
    def __init__(self, message: Message, messages: Messages | None, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self.setProperty("role", "banner")
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 8, 8, 8)
        row.setSpacing(8)
        words = QLabel(message.text)
        words.setWordWrap(True)
        words.setFont(theme.sans(13))
        words.setTextFormat(Qt.TextFormat.PlainText)
        words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        words.setAccessibleName(message.text)
        row.addWidget(words, 1)
        if message.report:
            copy = _button("Copy the report", theme)
            copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(message.report))
            row.addWidget(copy, 0, Qt.AlignmentFlag.AlignTop)
        if messages is not None:
            dismiss = _button("Dismiss", theme)
            dismiss.clicked.connect(lambda: messages.dismiss(message))
            row.addWidget(dismiss, 0, Qt.AlignmentFlag.AlignTop)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        QPainter(self).fillRect(0, 0, RULE_WIDTH, self.height(), self._theme.color("contrary"))


def _button(words: str, theme: Theme) -> QPushButton:
    button = QPushButton(words)
    button.setProperty("role", "link")
    button.setFont(theme.sans(13))
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    return button
