"""The degrees of a scale as they occur, engraved small and in graphite."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QTransform
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.margin.signed_text import advance, draw
from app.score.glyph_paths import glyph_path
from app.theme import Theme
from app.tonality.shown_finding import PaletteDegree
from app.tonality.signs import spoken
from core.score import music_font

SPACE = 5.3
"""Logical pixels from one staff line to the next."""
CLEF, HEAD = "E050", "E0A4"
ACCIDENTALS = {-2: "E264", -1: "E260", 1: "E262", 2: "E263"}
CLEF_WIDTH, FIRST_HEAD = 18.0, 30.0
ROW = 16
"""Of the degrees, and of the counts under them."""
BOTTOM_LINE = 2
"""Position of the lowest line of the treble staff, E above middle C."""
TOP_LINE = BOTTOM_LINE + 8
RING_OUT, LEDGER_OUT = 4.5, 2.5


class FindingPalette(QWidget):
    """A staff with one head a degree, its number and how often it sounds under it."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._degrees: tuple[PaletteDegree, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.update)

    def show_degrees(self, degrees: Sequence[PaletteDegree]) -> None:
        """Show other degrees."""
        self._degrees = tuple(degrees)
        said = "; ".join(
            f"degree {each.label} {each.count} times{', bent' if each.is_bent else ''}"
            for each in self._degrees
        )
        self.setAccessibleName(f"Degrees: {spoken(said)}")
        self.setFixedHeight(self._height())
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(240, self._height())

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self._height())

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._degrees:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        graphite = self._theme.color("graphite")
        self._staff(painter, graphite)
        for degree, x in zip(self._degrees, self._heads(), strict=True):
            self._head(painter, degree, x, graphite)
            self._labels(painter, degree, x, graphite)

    def _highest(self) -> int:
        return max([TOP_LINE + 1, *(each.position + 2 for each in self._degrees)])

    def _lowest(self) -> int:
        return min([BOTTOM_LINE - 3, *(each.position - 1 for each in self._degrees)])

    def _staff_height(self) -> float:
        return (self._highest() - self._lowest()) * SPACE / 2

    def _height(self) -> int:
        return round(self._staff_height()) + 2 * ROW + 4

    def _y(self, position: float) -> float:
        return (self._highest() - position) * SPACE / 2

    def _heads(self) -> list[float]:
        """Middle of each head; the first and last one keep clear of the clef and the end."""
        count = len(self._degrees)
        right = self.width() - 16.0
        pitch = (right - FIRST_HEAD) / max(count - 1, 1)
        return [FIRST_HEAD + pitch * index for index in range(count)]

    def _staff(self, painter: QPainter, color: QColor) -> None:
        # Lines of one device pixel, on the grid, or five lines come out in two weights.
        ratio = self.devicePixelRatioF()
        thin = QColor(color)
        thin.setAlphaF(0.55)
        for line in range(BOTTOM_LINE, TOP_LINE + 1, 2):
            top = round(self._y(line) * ratio) / ratio
            painter.fillRect(QRectF(0, top, self.width(), 1 / ratio), thin)
        self._glyph(painter, CLEF, CLEF_WIDTH / 2, BOTTOM_LINE + 2, color)

    def _head(self, painter: QPainter, degree: PaletteDegree, x: float, color: QColor) -> None:
        self._ledgers(painter, degree.position, x, color)
        self._glyph(painter, HEAD, x, degree.position, color)
        left, half = x, 0.6 * SPACE
        if degree.alter in ACCIDENTALS:
            left = x - 1.5 * SPACE
            self._glyph(painter, ACCIDENTALS[degree.alter], left, degree.position, color)
        if degree.is_bent:
            painter.setPen(QPen(color, 1.25, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            wide = (x + half) - (left - half) + 2 * RING_OUT
            middle = QPointF((x + left) / 2, self._y(degree.position))
            painter.drawEllipse(middle, wide / 2, max(wide / 2, 2 * SPACE))

    def _ledgers(self, painter: QPainter, position: int, x: float, color: QColor) -> None:
        below = range(BOTTOM_LINE - 2, position - 1, -2)
        above = range(TOP_LINE + 2, position + 1, 2)
        half = 0.6 * SPACE + LEDGER_OUT
        for line in (*below, *above):
            painter.fillRect(QRectF(x - half, self._y(line) - 0.5, 2 * half, 1), color)

    def _labels(self, painter: QPainter, degree: PaletteDegree, x: float, color: QColor) -> None:
        font = self._theme.sans(11, 600 if degree.is_bent else 400)
        plain = self._theme.sans(11)
        base = self._staff_height() + ROW - 3
        painter.setPen(color)
        for text, face, row in ((degree.label, font, 0), (f"{degree.count}×", plain, 1)):
            left = x - advance(text, face) / 2
            draw(painter, QPointF(left, base + row * ROW), text, face)

    def _glyph(
        self, painter: QPainter, code: str, middle: float, position: float, color: QColor
    ) -> None:
        """A sign of the music font, centred on ``middle``; an em is four staff spaces."""
        scale = 4 * SPACE / music_font.UNITS_AN_EM
        left, _, right, _ = music_font.bounds(code)
        place = QTransform(
            scale, 0, 0, -scale, middle - (left + right) / 2 * scale, self._y(position)
        )
        painter.fillPath(place.map(glyph_path(code)), color)
