"""One page in the scene: its image, and the marks over it.

A unit of the scene is a device pixel. The image is set on whole device pixels whatever the
scroll position, so that its lines stay sharp at every scale of the screen.
"""

from __future__ import annotations

from dataclasses import replace
from math import floor
from typing import Any

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter, QPen, QTransform
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem, QWidget

from app.score.page_marks import MarkPainter, PageColors, PageMarks, gloss_below
from core.score.page_drawing import UNITS_PER_SPACE


class PageItem(QGraphicsItem):
    """A page, or a chunk of a long line, which lies on a ground of its own.

    Attributes
    ----------
    number : int
        From 1.
    is_stale : bool
        The image is one of an earlier engraving, shown until the new one is there.
    """

    def __init__(
        self, number: int, width: int, height: int, colors: PageColors, *, is_chunk: bool = False
    ) -> None:
        super().__init__()
        self.number = number
        self.image: QImage | None = None
        self.is_stale = False
        self._is_chunk = is_chunk
        self._size = (width, height)
        self._colors = colors
        self._scale = 1.0
        self._marks = PageMarks()

    def boundingRect(self) -> QRectF:
        """The page, in device pixels."""
        return QRectF(0, 0, *self._size)

    @property
    def units_a_pixel(self) -> float:
        """Drawing units a device pixel, at the zoom it has now."""
        return 1 / self._scale

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
        self.image, self.is_stale = image, False
        self.update()

    def mark(self, **changes: Any) -> None:
        """Change some of what is drawn over the page: fields of ``PageMarks``."""
        marks = replace(self._marks, **changes)
        if marks != self._marks:
            self._marks = marks
            self.update()

    def gloss_at(self, x: float, y: float) -> int | None:
        """Number of the remark whose bracket lies under a point of the page, in device pixels."""
        space, x, y = UNITS_PER_SPACE, x / self._scale, y / self._scale
        for gloss in self._marks.glosses:
            line = gloss.span.bottom + gloss_below(gloss) * space
            is_along = gloss.span.left - 1.6 * space <= x <= gloss.span.right + space
            if is_along and abs(y - line + 0.3 * space) <= 0.9 * space:
                return gloss.number
        return None

    # ------------------------------------------------------------------ painting

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """The image, and the marks over it."""
        painter.save()
        self._snap(painter)
        rect = self.boundingRect()
        if self.image is None:
            if not self._is_chunk:
                painter.fillRect(rect, self._colors.page)
        elif (self.image.width(), self.image.height()) == self._size:
            painter.drawImage(0, 0, self.image)
        else:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(rect, self.image)
        if not self._is_chunk:
            painter.setPen(QPen(self._colors.edge, 1))
            painter.drawRect(rect.adjusted(0, 0, -1, -1))
        ratio = painter.device().devicePixelRatioF()
        MarkPainter(painter, self._colors, self._scale, device_ratio=ratio).paint(self._marks)
        painter.restore()

    @staticmethod
    def _snap(painter: QPainter) -> None:
        """Move by less than a pixel so that this item's origin lies on a device pixel."""
        seen = painter.deviceTransform()
        dx, dy = seen.dx() - floor(seen.dx() + 0.5), seen.dy() - floor(seen.dy() + 0.5)
        own = painter.worldTransform()
        factor = own.m11() / seen.m11() if seen.m11() else 1.0
        painter.setWorldTransform(own * QTransform.fromTranslate(-dx * factor, -dy * factor))


class LineGround(QGraphicsItem):
    """The paper under a long line."""

    def __init__(self, colors: PageColors) -> None:
        super().__init__()
        self._colors = colors
        self._rect = QRectF()
        self.setZValue(-1)

    def boundingRect(self) -> QRectF:
        """All of the line, in device pixels."""
        return self._rect

    def resize(self, width: float, height: float) -> None:
        """The line has grown, or is zoomed."""
        self.prepareGeometryChange()
        self._rect = QRectF(0, 0, width, height)

    def recolor(self, colors: PageColors) -> None:
        """Another theme."""
        self._colors = colors
        self.update()

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """The paper and its edges over and under the line."""
        rect = self._rect
        painter.fillRect(rect, self._colors.page)
        for top in (rect.top(), rect.bottom() - 1):
            painter.fillRect(QRectF(rect.left(), top, rect.width(), 1), self._colors.edge)
