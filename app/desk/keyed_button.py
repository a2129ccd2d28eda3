"""A button that names its key inside it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QPushButton

from app.theme import Theme

HEIGHT, ROOM_FOR_KEY = 36, 64


class KeyedButton(QPushButton):
    """A button, by default of 36.

    Parameters
    ----------
    words : str
    key : str
        As it is shown; empty for none.
    """

    def __init__(self, words: str, key: str, theme: Theme, *, height: int = HEIGHT) -> None:
        super().__init__(words)
        self._key, self._theme = key, theme
        self.setProperty("role", "act")
        self.setFixedHeight(height)
        self.setAutoDefault(True)
        if key:
            self.setStyleSheet(f"padding-right: {ROOM_FOR_KEY}px;")
        self._take_font()
        theme.changed.connect(self._take_font)

    def _take_font(self) -> None:
        self.setFont(self._theme.sans(13, 500))

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._key:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._theme.sans(11))
        width = painter.fontMetrics().horizontalAdvance(self._key) + 10
        box = QRectF(self.width() - 16.5 - width, self.height() / 2 - 8.5, width, 18)
        painter.setPen(QPen(self._theme.color("hairline"), 1))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(self._theme.color("quiet"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, self._key)
