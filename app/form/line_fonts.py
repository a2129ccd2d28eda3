"""The fonts of the form line, and widths in them, measured once each."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetricsF

from app.sign_text import advance
from app.theme import Theme
from app.tonality.signs import with_signs

MOST_KEPT = 4096
"""Widths that are kept; of more, all are measured anew."""


class MeasuredFont:
    """A font that remembers how wide its texts are, in logical pixels."""

    def __init__(self, font: QFont) -> None:
        self.font = font
        self._metrics = QFontMetricsF(font)
        self._widths: dict[str, float] = {}
        self._keys: dict[str, tuple[str, float]] = {}

    def width(self, text: str) -> float:
        """Width of a text."""
        width = self._widths.get(text)
        if width is None:
            if len(self._widths) >= MOST_KEPT:
                self._widths.clear()
            width = self._widths[text] = self._metrics.horizontalAdvance(text)
        return width

    def key(self, name: str) -> tuple[str, float]:
        """A key's name with its accidental as a sign, and its width."""
        key = self._keys.get(name)
        if key is None:
            text = with_signs(name)
            key = self._keys[name] = text, advance(text, self.font)
        return key

    def cut(self, text: str, room: float) -> str:
        """The longest beginning of a text, with "…", that is no wider than so much."""
        return self._metrics.elidedText(text, Qt.TextElideMode.ElideRight, room)


class LineFonts:
    """The four fonts of the line."""

    def __init__(self, theme: Theme) -> None:
        self.small = MeasuredFont(theme.sans(11))
        self.letter = MeasuredFont(theme.serif(17))
        self.words = MeasuredFont(theme.serif(15, italic=True))
        self.number = MeasuredFont(theme.serif(15, 600))
