"""One page in the scene: its image, and over it what is selected and where remarks hang.

A unit of the scene is a device pixel. The image is set on whole device pixels whatever the
scroll position, so that its lines stay sharp at every scale of the screen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QImage, QPainter, QPen, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.score.score_geometry import Span
from core.score.page_drawing import UNITS_PER_SPACE, Box

HERE_ABOVE, HERE_BELOW = 2.6, 2.0
"""How far the current place reaches over the top and under the bottom staff, in spaces."""
BRACKET_BELOW, BRACKET_STEP, BRACKET_FOOT = 3.6, 1.8, 0.5
"""A gloss bracket under the bottom staff, the next one below it, its feet, in spaces."""
NUMBER_SIZE = 1.7


@dataclass(frozen=True, slots=True, kw_only=True)
class Gloss:
    """Where a remark hangs on this page: its number, its stretch, its row under the system."""

    number: int
    span: Span
    row: int
    is_dark: bool = False
    """Drawn stronger, because the pointer is on the remark."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageColors:
    """What is drawn over the image."""

    page: QColor
    edge: QColor
    here: QColor
    rule: QColor
    ink: QColor
    number_font: QFont


class PageItem(QGraphicsItem):
    """A page; ``number`` counts from 1."""

    def __init__(self, number: int, width: int, height: int, colors: PageColors) -> None:
        super().__init__()
        self.number = number
        self.image: QImage | None = None
        self._size = (width, height)
        self._colors = colors
        self._scale = 1.0
        self._spans: Sequence[Span] = ()
        self._points: Sequence[Span] = ()
        self._marked: Sequence[Box] = ()
        self._glosses: Sequence[Gloss] = ()

    def boundingRect(self) -> QRectF:
        """The page, in device pixels."""
        return QRectF(0, 0, *self._size)

    def resize(self, width: int, height: int, space_pixels: int) -> None:
        """Another zoom: the old image is shown stretched until the new one is there."""
        self.prepareGeometryChange()
        self._size = (width, height)
        self._scale = space_pixels / UNITS_PER_SPACE
        self.update()

    def recolor(self, colors: PageColors) -> None:
        """Another theme."""
        self._colors = colors
        self.update()

    def show_image(self, image: QImage | None) -> None:
        """A new image, or none to save memory."""
        self.image = image
        self.update()

    def show_here(
        self, spans: Sequence[Span], points: Sequence[Span], marked: Sequence[Box]
    ) -> None:
        """What is selected: stretches, bare places, and single marks."""
        if (spans, points, marked) != (self._spans, self._points, self._marked):
            self._spans, self._points, self._marked = spans, points, marked
            self.update()

    def show_glosses(self, glosses: Sequence[Gloss]) -> None:
        """Brackets of the remarks that hang on this page."""
        if glosses != self._glosses:
            self._glosses = glosses
            self.update()

    def gloss_at(self, x: float, y: float) -> int | None:
        """Number of the remark whose bracket lies under a point of the page, in device pixels."""
        for gloss in self._glosses:
            span, space = gloss.span, UNITS_PER_SPACE
            line = span.bottom + (BRACKET_BELOW + gloss.row * BRACKET_STEP) * space
            is_along = span.left - 1.6 * space <= x / self._scale <= span.right + space
            if is_along and abs(y / self._scale - line + 0.3 * space) <= 0.9 * space:
                return gloss.number
        return None

    # ------------------------------------------------------------------ painting

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Image first, then the washes, then a person's brackets."""
        painter.save()
        self._snap(painter)
        rect = self.boundingRect()
        if self.image is None:
            painter.fillRect(rect, self._colors.page)
        elif (self.image.width(), self.image.height()) == self._size:
            painter.drawImage(0, 0, self.image)
        else:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(rect, self.image)
        painter.setPen(QPen(self._colors.edge, 1))
        painter.drawRect(rect.adjusted(0, 0, -1, -1))
        self._paint_here(painter)
        self._paint_glosses(painter)
        painter.restore()

    @staticmethod
    def _snap(painter: QPainter) -> None:
        """Move by less than a pixel so that this item's origin lies on a device pixel."""
        seen = painter.deviceTransform()
        dx, dy = seen.dx() - floor(seen.dx() + 0.5), seen.dy() - floor(seen.dy() + 0.5)
        own = painter.worldTransform()
        factor = own.m11() / seen.m11() if seen.m11() else 1.0
        painter.setWorldTransform(own * QTransform.fromTranslate(-dx * factor, -dy * factor))

    def _paint_here(self, painter: QPainter) -> None:
        scale = self._scale
        space = scale * UNITS_PER_SPACE
        for span in self._spans:
            rect = self._span_rect(span)
            painter.fillRect(rect, self._colors.here)
        for span in [*self._spans[:1], *self._points]:
            rect = self._span_rect(span)
            rule = QRectF(floor(rect.left()), rect.top(), max(2, round(space / 5)), rect.height())
            painter.fillRect(rule, self._colors.rule)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for left, top, right, bottom in self._marked:
            around = 0.45 * space
            rect = QRectF(left * scale, top * scale, (right - left) * scale, (bottom - top) * scale)
            rect.adjust(-around, -around, around, around)
            painter.setBrush(self._colors.here)
            painter.setPen(QPen(self._colors.rule, max(1.25, space / 8)))
            painter.drawRoundedRect(rect, 0.4 * space, 0.4 * space)

    def _span_rect(self, span: Span) -> QRectF:
        scale, space = self._scale, UNITS_PER_SPACE
        top, bottom = span.top - HERE_ABOVE * space, span.bottom + HERE_BELOW * space
        return QRectF(
            round(span.left * scale),
            round(top * scale),
            round((span.right - span.left) * scale),
            round((bottom - top) * scale),
        )

    def _paint_glosses(self, painter: QPainter) -> None:
        scale = self._scale
        space = scale * UNITS_PER_SPACE
        font = QFont(self._colors.number_font)
        font.setPixelSize(max(8, round(NUMBER_SIZE * space)))
        painter.setFont(font)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for gloss in self._glosses:
            stroke = max(1, round(space / (5 if gloss.is_dark else 8)))
            below = BRACKET_BELOW + gloss.row * BRACKET_STEP
            line = round(gloss.span.bottom * scale + below * space)
            left, right = round(gloss.span.left * scale), round(gloss.span.right * scale)
            number = QRectF(left - 3 * space, line - 1.6 * space, 2.6 * space, 2.4 * space)
            aside = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            if right - left < space:
                number.moveLeft(left - 1.3 * space)
                aside = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter
            else:
                foot = round(BRACKET_FOOT * space)
                ink = self._colors.ink
                painter.fillRect(left, line, right - left, stroke, ink)
                painter.fillRect(left, line - foot, stroke, foot, ink)
                painter.fillRect(right - stroke, line - foot, stroke, foot, ink)
            painter.setPen(self._colors.ink)
            painter.drawText(number, int(aside), str(gloss.number))
