"""Lines of text with accidentals from the music font, which the text fonts lack.

A line is a plain text in which accidentals stand as their Unicode signs
(``app.tonality.signs.with_signs`` puts them there). All sizes are logical pixels.
"""

from __future__ import annotations

import re

from PySide6.QtCore import QPointF
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QTransform

from app.score.glyph_paths import glyph_path
from app.theme import SERIF_FAMILY
from app.tonality.signs import GLYPHS
from core.score import music_font

SIGN_EM_SANS, SIGN_EM_SERIF = 1.30, 1.08
SIGN_RAISED, SIGN_GAP = 0.24, 0.05
"""How far a sign stands over the base line, and the air at either side of it, in em."""
ADVANCES_KEPT = 4096
"""Widths of texts that are remembered, by text and font."""
_advances: dict[tuple[str, str], float] = {}
_SIGNS = re.compile(f"([{''.join(GLYPHS)}])")


def advance(text: str, font: QFont) -> float:
    """Width of a line of text."""
    # Words are measured again at every width that a layout tries.
    key = (text, font.key())
    width = _advances.get(key)
    if width is None:
        if len(_advances) >= ADVANCES_KEPT:
            _advances.clear()
        width = _advances[key] = _measured(text, font)
    return width


def _measured(text: str, font: QFont) -> float:
    metrics = QFontMetricsF(font)
    size = font.pixelSize()
    return sum(
        _sign_width(part, font) + 2 * SIGN_GAP * size
        if part in GLYPHS
        else metrics.horizontalAdvance(part)
        for part in _SIGNS.split(text)
        if part
    )


def draw(painter: QPainter, at: QPointF, text: str, font: QFont) -> None:
    """Draw a line of text from a point on the base line, in the painter's pen."""
    metrics, size, x = QFontMetricsF(font), font.pixelSize(), at.x()
    painter.setFont(font)
    for part in _SIGNS.split(text):
        if part in GLYPHS:
            x += SIGN_GAP * size
            scale, code = _sign_em(font) * size / music_font.UNITS_AN_EM, GLYPHS[part]
            left = x - music_font.bounds(code)[0] * scale
            place = QTransform(scale, 0, 0, -scale, left, at.y() - SIGN_RAISED * size)
            painter.fillPath(place.map(glyph_path(code)), painter.pen().color())
            x += _sign_width(part, font) + SIGN_GAP * size
        elif part:
            painter.drawText(QPointF(x, at.y()), part)
            x += metrics.horizontalAdvance(part)


def _sign_em(font: QFont) -> float:
    return SIGN_EM_SERIF if font.family() == SERIF_FAMILY else SIGN_EM_SANS


def _sign_width(sign: str, font: QFont) -> float:
    left, _, right, _ = music_font.bounds(GLYPHS[sign])
    return (right - left) * _sign_em(font) * font.pixelSize() / music_font.UNITS_AN_EM
