"""A line of text with accidentals from the music font, which text fonts lack."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QTransform

from app.score.glyph_paths import glyph_path
from core.score import music_font

_CODES = {"##": "E263", "#": "E262", "bb": "E264", "b": "E260"}
"""SMuFL code points of the accidentals (SMuFL 1.4, "Standard accidentals")."""
SIGN_EM, SIGN_RAISED, SIGN_GAP = 1.30, 0.24, 0.06
"""Size of a sign beside the sans, how far it is raised, and the air around it, in em."""
_UNITS_AN_EM = 1000.0


def parts_of(name: str) -> tuple[str, str, str]:
    """A key's name as letter, code of the accidental, rest.

    Examples
    --------
    >>> parts_of("Bb major"), parts_of("G Dorian")
    (('B', 'E260', ' major'), ('G', '', ' Dorian'))
    """
    tonic, space, rest = name.partition(" ")
    code = _CODES.get(tonic[1:], "")
    return (tonic[:1], code, space + rest) if code else (tonic, "", space + rest)


def signed_width(name: str, width: Callable[[str], float], size: int) -> float:
    """Width of a key's name in logical pixels, where ``width`` is that of a text."""
    letter, code, rest = parts_of(name)
    sign = _sign_width(code, size) + 2 * SIGN_GAP * size if code else 0.0
    return width(letter) + sign + width(rest)


def draw_key(painter: QPainter, at: QPointF, name: str, font: QFont, color: QColor) -> None:
    """Draw a key's name from a point on the base line."""
    letter, code, rest = parts_of(name)
    metrics = QFontMetricsF(font)
    painter.setFont(font)
    painter.setPen(color)
    painter.drawText(at, letter)
    x = at.x() + metrics.horizontalAdvance(letter)
    if code:
        size = font.pixelSize()
        x += SIGN_GAP * size
        painter.fillPath(_sign(code, size, x, at.y() - SIGN_RAISED * size), color)
        x += _sign_width(code, size) + SIGN_GAP * size
    painter.drawText(QPointF(x, at.y()), rest)


def _sign(code: str, size: int, x: float, y: float) -> QPainterPath:
    scale = SIGN_EM * size / _UNITS_AN_EM
    left = music_font.bounds(code)[0]
    to_place = QTransform(scale, 0, 0, -scale, x - left * scale, y)
    return to_place.map(glyph_path(code))


def _sign_width(code: str, size: int) -> float:
    left, _, right, _ = music_font.bounds(code)
    return (right - left) * SIGN_EM * size / _UNITS_AN_EM
