"""Brings a measure into sight, scrolling no more than needed; waits for its page if it must."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtWidgets import QGraphicsView

from app.desk.selection import Selection
from app.score.page_stack import PageStack
from app.score.scrolling import Scrolling
from app.score.typesetter import Typesetter
from core.score.page_drawing import UNITS_PER_SPACE
from core.score.score import Score

_ROOM_ABOVE, _ROOM_BELOW = 8, 7
"""Staff spaces kept in sight over and under a measure that is scrolled to."""
_LINE_ABOVE = 11
"""The same over a long line, where section letters stand over the key's name."""
_ROOM_BESIDE = 40
"""Logical pixels, the same sideways."""


class Bringing:
    """Scrolls one view.

    Attributes
    ----------
    staff_space : int
        Device pixels a staff space, as the pages are laid out now.
    """

    def __init__(
        self,
        view: QGraphicsView,
        pages: PageStack,
        typesetter: Typesetter,
        scrolling: Scrolling,
    ) -> None:
        self._view, self._pages, self._typesetter = view, pages, typesetter
        self._scrolling = scrolling
        self._page = 0
        """Number of the page on which it stands, once that is known."""
        self._awaited: tuple[str, bool] | None = None
        """Id of a measure whose page isn't engraved yet, and whether it shall stand at the top."""
        self.staff_space = 0

    def forget(self) -> None:
        """Another score: nothing is waited for."""
        self._awaited, self._page = None, 0

    def bring(self, score: Score, measure_index: int, *, is_jump: bool) -> None:
        """Bring a measure into sight; with a jump, near the top."""
        if not self._pages.items:
            return
        measure = score.measures[min(measure_index, len(score.measures) - 1)]
        if self._pages.page_of_measure(measure.id) is None:
            self._awaited, self._page = (measure.id, is_jump), 0
            self._typesetter.locate(measure.id)
        else:
            self._scroll_to(measure.id, is_jump=is_jump)

    def reveal(self, score: Score, selection: Selection) -> None:
        """Scroll no more than needed for the end of what is selected to be seen."""
        passage = selection.passage
        measure_index = passage.start.measure_index
        if not passage.is_point:
            end = passage.end
            measure_index = max(measure_index, end.measure_index - (end.offset_quarters == 0))
        self.bring(score, measure_index, is_jump=False)

    def on_drawn(self) -> None:
        """Another page is there: perhaps the one that is waited for."""
        if self._awaited is not None and self._pages.page_of_measure(self._awaited[0]):
            (measure_id, is_jump), self._awaited = self._awaited, None
            self._scroll_to(measure_id, is_jump=is_jump)

    def on_located(self, element_id: str, page: int) -> None:
        """It is known on which page a measure stands; the page is drawn once it is in sight."""
        if page >= 1 and self._awaited is not None and self._awaited[0] == element_id:
            self._page = page
            self.on_placed()

    def on_placed(self) -> None:
        """Another chunk of the line has its place: perhaps the one that is waited for."""
        if self._page and self._pages.is_placed(self._page):
            page, self._page = self._page, 0
            self._scrolling.to_page(page)

    def _scroll_to(self, measure_id: str, *, is_jump: bool) -> None:
        found = self._pages.page_of_measure(measure_id)
        if found is None:
            return
        item, box = found
        view, space = self._view, self.staff_space
        ratio = view.devicePixelRatioF()
        left, top, right, bottom = (edge * space / UNITS_PER_SPACE for edge in box)
        above = _LINE_ABOVE if self._pages.is_line else _ROOM_ABOVE
        high = (above + _ROOM_BELOW) * space + bottom - top
        rect = QRectF(item.x() + left, item.y() + top - above * space, right - left, high)
        seen = view.mapToScene(view.viewport().rect()).boundingRect()
        down, across = view.verticalScrollBar(), view.horizontalScrollBar()
        is_below, is_higher = rect.bottom() > seen.bottom(), rect.height() > seen.height()
        if rect.top() < seen.top() or (is_below and (is_jump or is_higher)):
            down.setValue(round(rect.top() / ratio))
        elif is_below:
            down.setValue(round((rect.bottom() - seen.height()) / ratio))
        if rect.left() < seen.left() or rect.right() > seen.right():
            across.setValue(round(rect.left() / ratio) - _ROOM_BESIDE)
