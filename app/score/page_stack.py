"""The pages of one score in the scene: their places, images, drawings, and who is in sight.

Pages lie one under the other. The chunks of a long line lie side by side on one ground; each is
there once it is measured, so that a line grows to the right.
Only pages in sight and their neighbours hold an image; of a dozen further it is known what lies
where; of the rest only that they are there. So a score of a thousand pages costs no more than
one of thirty.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QGraphicsScene

from app.score.page_item import LineGround, PageItem
from app.score.page_marks import PageColors
from app.score.page_painter import PageStyle, page_pixels
from app.score.paint_queue import PaintQueue
from app.score.score_geometry import PageGeometry, ScoreIndex
from app.score.typesetter import Typesetter
from core.score.page_drawing import BLEED, UNITS_PER_SPACE, Box, PageDrawing

_IMAGES_BEYOND = 1
"""Pages out of sight, before and after, that keep their images."""
_MOST_PIXELS_BEYOND = 16_000_000
"""Larger images, of a long line that is zoomed in far, are held for what is in sight only."""
_DRAWINGS_BEYOND = 12
"""Pages out of sight, before and after, of which it is known what lies where."""


class PageStack:
    """Pages numbered from 1, or chunks of a line.

    Attributes
    ----------
    is_line : bool
        Whether what lies here are the chunks of one long line.
    """

    def __init__(self, scene: QGraphicsScene, typesetter: Typesetter, painting: PaintQueue) -> None:
        self._scene, self._typesetter, self._painting = scene, typesetter, painting
        self._style: PageStyle | None = None
        self.items: list[PageItem] = []
        self.is_line = False
        self._ground: LineGround | None = None
        self._widths: list[float] = []
        self._height = 0.0
        self._space, self._gap = 1, 0
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
        self._ground = None
        self._widths = []
        self._drawings.clear()
        self._geometries.clear()

    def begin(
        self, pages: int, width: float, height: float, colors: PageColors, *, is_line: bool = False
    ) -> None:
        """A score is laid out: that many pages of that size, in drawing units.

        Of a line it is the first chunk's size; how wide the others are, ``measured`` tells.
        """
        self.is_line, self._height = is_line, height
        self._widths = [width] if is_line else [width] * pages
        if is_line:
            self._ground = LineGround(colors)
            self._scene.addItem(self._ground)
        for number in range(1, pages + 1):
            item = PageItem(number, 1, 1, colors, is_chunk=is_line)
            item.setVisible(number <= len(self._widths))
            self.items.append(item)
            self._scene.addItem(item)

    def measured(self, number: int, width: float) -> None:
        """How long a chunk's own stretch is; told in order, and the first one's is known."""
        if number == len(self._widths) + 1:
            self._widths.append(width + 2 * BLEED)
            self.items[number - 1].setVisible(True)
            self._place(number - 1)

    def spread(self, height: float) -> None:
        """The line's frame has grown: what was drawn is shown until it is drawn anew."""
        self._height = height
        self._painting.clear()
        self._drawings.clear()
        self._geometries.clear()
        for item in self.items:
            item.is_stale = True
        self.lay(self._space, self._gap)

    def know(self, index: ScoreIndex) -> None:
        """From now on places can be found on the pages."""
        self._index = index
        self._geometries.clear()

    def lay(self, space_pixels: int, gap: int) -> None:
        """Set every page to the size of a zoom; all lengths are device pixels."""
        self._space, self._gap = space_pixels, gap
        for at in range(len(self._widths)):
            self._place(at)

    def _place(self, at: int) -> None:
        """Set one page where it belongs, behind the one before; the scene ends with it."""
        item, gap = self.items[at], self._gap
        width, height = page_pixels(self._widths[at], self._height, self._space)
        before = self.own_rect(self.items[at - 1]) if at else None
        item.resize(width, height, self._space)
        if self._ground is not None:
            left = before.right() if before is not None else 0.0
            item.setPos(left - self._bleed, 0)
            end = self.own_rect(item).right() + gap
            self._ground.resize(end, height)
            self._scene.setSceneRect(QRectF(0, -gap, end, height + 2 * gap))
            return
        item.setPos(0, before.bottom() + gap if before is not None else gap)
        self._scene.setSceneRect(QRectF(0, 0, width, max(item.y() + height + gap, 1)))

    @property
    def _bleed(self) -> float:
        return BLEED / UNITS_PER_SPACE * self._space if self.is_line else 0.0

    def own_rect(self, item: PageItem) -> QRectF:
        """What of the scene a page takes for itself: without its reach into its neighbours."""
        bleed = self._bleed
        return item.sceneBoundingRect().adjusted(bleed, 0, -bleed, 0)

    def is_placed(self, number: int) -> bool:
        """Whether it is known where a page lies."""
        return 1 <= number <= len(self._widths)

    def recolor(self, colors: PageColors) -> None:
        """Another theme: images are made anew."""
        for item in self.items:
            item.recolor(colors)
            item.show_image(None)
        if self._ground is not None:
            self._ground.recolor(colors)

    # ------------------------------------------------------------------ in sight

    def in_sight(self, seen: QRectF) -> list[PageItem]:
        """Pages of which anything can be seen."""
        placed = self.items[: len(self._widths)]
        return [item for item in placed if self.own_rect(item).intersects(seen)]

    def look(self, seen: QRectF, style: PageStyle) -> frozenset[int]:
        """Have what is in sight painted, let go of the rest; the pages that came near."""
        if not self.items:
            return frozenset()
        numbers = [item.number for item in self.in_sight(seen)] or [1]
        first, last = numbers[0], numbers[-1]
        beyond = _IMAGES_BEYOND if self._is_light(style.space_pixels) else 0
        wanted = _within(first - beyond, last + beyond, len(self._widths))
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

    def _is_light(self, space_pixels: int) -> bool:
        """Whether images are small enough for more of them to be held than are seen."""
        width, height = page_pixels(max(self._widths), self._height, space_pixels)
        return not self.is_line or width * height <= _MOST_PIXELS_BEYOND

    def _is_painted(self, number: int) -> bool:
        item, style = self.items[number - 1], self._style
        if item.image is None or item.is_stale or style is None:
            return False
        size = page_pixels(self._widths[number - 1], self._height, style.space_pixels)
        return (item.image.width(), item.image.height()) == size

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

    def at(self, point: QPointF) -> PageItem | None:
        """The page at a point of the scene, or the nearest along the way it is read."""
        placed = self.items[: len(self._widths)]
        return min(placed, key=lambda item: self._away(item, point), default=None)

    def _away(self, item: PageItem, point: QPointF) -> float:
        rect = self.own_rect(item)
        if self.is_line:
            return max(rect.left() - point.x(), point.x() - rect.right(), 0.0)
        return max(rect.top() - point.y(), point.y() - rect.bottom(), 0.0)


def _within(first: int, last: int, most: int) -> Sequence[int]:
    return range(max(first, 1), min(last, most) + 1)
