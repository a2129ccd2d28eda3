"""Pages waiting for their images, painted in slices on the window's thread."""

from __future__ import annotations

from collections import OrderedDict

from PySide6.QtCore import QObject, QTimer, Signal

from app.desk.rests import RESTS
from app.score.page_painter import PagePainting, PageStyle
from core.score.page_drawing import PageDrawing

SLICE_SECONDS = 0.005
"""Of painting in one turn of the event loop: well under a frame, also beside other work."""


class PaintQueue(QObject):
    """Paints one page at a time; the page asked for last comes first."""

    painted = Signal(int, object, object)
    """Number, style, image of a page."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._waiting: OrderedDict[int, tuple[PageDrawing, PageStyle]] = OrderedDict()
        self._painting: PagePainting | None = None
        self._turns = QTimer(self, interval=0)
        self._turns.timeout.connect(self._on_turn)

    def add(self, drawing: PageDrawing, style: PageStyle) -> None:
        """Have a page painted, unless just that is being done."""
        now = self._painting
        if now is not None and now.drawing is drawing and _is_same(now.style, style):
            return
        self._waiting[drawing.number] = (drawing, style)
        self._waiting.move_to_end(drawing.number)
        self._turns.start()

    def keep_only(self, numbers: set[int]) -> None:
        """Drop what waits for other pages."""
        for number in [n for n in self._waiting if n not in numbers]:
            del self._waiting[number]
        if self._painting is not None and self._painting.drawing.number not in numbers:
            self._painting = None

    def clear(self) -> None:
        """Drop everything."""
        self._waiting.clear()
        self._painting = None
        self._turns.stop()

    def _on_turn(self) -> None:
        RESTS.take(self._go_on)

    def _go_on(self) -> None:
        if self._painting is None:
            if not self._waiting:
                self._turns.stop()
                return
            _, (drawing, style) = self._waiting.popitem()
            # Its empty image alone takes some milliseconds.
            self._painting = PagePainting(drawing, style)
            return
        if self._painting.go_on(seconds=SLICE_SECONDS):
            done, self._painting = self._painting, None
            self.painted.emit(done.drawing.number, done.style, done.image)


def _is_same(first: PageStyle, second: PageStyle) -> bool:
    """Whether two styles give one image; each has a font maker of its own."""
    return (first.space_pixels, first.page, first.printed, first.title, first.byline) == (
        second.space_pixels,
        second.page,
        second.printed,
        second.title,
        second.byline,
    )
