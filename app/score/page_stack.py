"""The pages of one score in the scene: their places, images, drawings, and who is in sight.

Only pages in sight and their neighbours hold an image; of a dozen further it is known what lies
where; of the rest only that they are there. So a score of a thousand pages costs no more than
one of thirty.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QGraphicsScene

from app.score.page_item import PageItem
from app.score.page_marks import PageColors
from app.score.page_painter import PageStyle, page_pixels
from app.score.paint_queue import PaintQueue
from app.score.score_geometry import PageGeometry, ScoreIndex
from app.score.typesetter import Typesetter
from core.score.page_drawing import Box, PageDrawing

_IMAGES_BEYOND = 1
"""Pages out of sight, before and after, that keep their images."""
_DRAWINGS_BEYOND = 12
"""Pages out of sight, before and after, of which it is known what lies where."""


class PageStack:
    """Pages numbered from 1, one under the other."""

    def __init__(self, scene: QGraphicsScene, typesetter: Typesetter, painting: PaintQueue) -> None:
        self._scene, self._typesetter, self._painting = scene, typesetter, painting
        self._style: PageStyle | None = None
        self.items: list[PageItem] = []
        self._units = (0.0, 0.0)
        self._drawings: dict[int, PageDrawing] = {}
        self._geometries: dict[int, PageGeometry] = {}
        self._near: frozenset[int] = frozenset()
        self._index: ScoreIndex | None = None

    def clear(self) -> None:
        """No score."""
        self._painting.clear()
        self._scene.clear()
        self._scene.setSceneRect(QRectF())
        self.items, self._near, self._index = [], frozenset(), None
        self._drawings.clear()
        self._geometries.clear()

    def begin(self, pages: int, width: float, height: float, colors: PageColors) -> None:
        """A score is laid out: that many pages of that size, in drawing units."""
        self._units = (width, height)
        for number in range(1, pages + 1):
            item = PageItem(number, 1, 1, colors)
            self.items.append(item)
            self._scene.addItem(item)

    def know(self, index: ScoreIndex) -> None:
        """From now on places can be found on the pages."""
        self._index = index
        self._geometries.clear()

    def lay(self, space_pixels: int, gap: int) -> None:
        """Set every page to the size of a zoom; all lengths are device pixels."""
        width, height = page_pixels(*self._units, space_pixels)
        top = gap
        for item in self.items:
            item.resize(width, height, space_pixels)
            item.setPos(0, top)
            top += height + gap
        self._scene.setSceneRect(QRectF(0, 0, width, max(top, 1)))

    def recolor(self, colors: PageColors) -> None:
        """Another theme: images are made anew."""
        for item in self.items:
            item.recolor(colors)
            item.show_image(None)

    # ------------------------------------------------------------------ in sight

    def in_sight(self, seen: QRectF) -> list[PageItem]:
        """Pages of which anything can be seen."""
        return [item for item in self.items if item.sceneBoundingRect().intersects(seen)]

    def look(self, seen: QRectF, style: PageStyle) -> frozenset[int]:
        """Have what is in sight painted, let go of the rest; the pages that came near."""
        if not self.items:
            return frozenset()
        numbers = [item.number for item in self.in_sight(seen)] or [1]
        first, last = numbers[0], numbers[-1]
        wanted = _within(first - _IMAGES_BEYOND, last + _IMAGES_BEYOND, len(self.items))
        self._style = style
        self._typesetter.forget_pages(set(wanted))
        self._painting.keep_only(set(wanted))
        for number in sorted(wanted, key=lambda n: (n in numbers, -n)):
            if not self._is_painted(number):
                self._have_painted(number, style)
        for item in self.items:
            if item.image is not None and item.number not in wanted:
                item.show_image(None)
        self._let_go_of_drawings(first, last)
        came, self._near = frozenset(wanted) - self._near, frozenset(wanted)
        return came

    def _is_painted(self, number: int) -> bool:
        image, style = self.items[number - 1].image, self._style
        if image is None or style is None:
            return False
        size = page_pixels(*self._units, style.space_pixels)
        return (image.width(), image.height()) == size

    def _have_painted(self, number: int, style: PageStyle) -> None:
        drawing = self._drawings.get(number)
        if drawing is None:
            self._typesetter.draw(number)
        else:
            self._painting.add(drawing, style)

    def _let_go_of_drawings(self, first_seen: int, last_seen: int) -> None:
        kept = range(first_seen - _DRAWINGS_BEYOND, last_seen + _DRAWINGS_BEYOND + 1)
        for number in [n for n in self._drawings if n not in kept]:
            del self._drawings[number]
            self._geometries.pop(number, None)

    # ------------------------------------------------------------------ from the typesetter

    def put_image(self, number: int, image: QImage) -> None:
        """A page's image is there."""
        self.items[number - 1].show_image(image)

    def put_drawing(self, drawing: PageDrawing) -> None:
        """It is known what lies where on a page."""
        self._drawings[drawing.number] = drawing
        self._geometries.pop(drawing.number, None)
        is_near = drawing.number in self._near
        if is_near and self._style is not None and not self._is_painted(drawing.number):
            self._painting.add(drawing, self._style)

    # ------------------------------------------------------------------ what lies where

    def geometry_of(self, number: int) -> PageGeometry | None:
        """What lies where on a page; None until it is engraved and the score is read."""
        if self._index is None or number not in self._drawings:
            return None
        if number not in self._geometries:
            self._geometries[number] = PageGeometry(self._drawings[number], self._index)
        return self._geometries[number]

    def near(
        self, numbers: Collection[int] | None = None
    ) -> Iterator[tuple[PageItem, PageGeometry]]:
        """Pages in sight or next to it; of these numbers only, where they are given."""
        for number in sorted(self._near if numbers is None else self._near.intersection(numbers)):
            geometry = self.geometry_of(number)
            if geometry is not None:
                yield self.items[number - 1], geometry

    def page_of_measure(self, measure_id: str) -> tuple[PageItem, Box] | None:
        """The page on which a measure stands, and its box there, if that is known."""
        for number, drawing in self._drawings.items():
            for box in drawing.measures:
                if box.id == measure_id:
                    return self.items[number - 1], box.box
        return None

    def at(self, y: float) -> PageItem | None:
        """The page at a height of the scene, or the nearest."""
        return min(self.items, key=lambda item: _away(item, y), default=None)


def _within(first: int, last: int, most: int) -> Sequence[int]:
    return range(max(first, 1), min(last, most) + 1)


def _away(item: PageItem, y: float) -> float:
    return max(item.y() - y, y - item.y() - item.boundingRect().height(), 0.0)
