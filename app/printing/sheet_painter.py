"""Paints one sheet: the engraved page as vectors, and the marks over it.

The same marks in the same order as on the screen, but nothing is snapped to pixels, and strokes
are as thick as they were engraved.
"""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.printing.print_wish import DOTS_AN_INCH, HEAD_LOWER, SPACE_DOTS, PrintWish
from app.score.finding_marks import bent_on, key_rules_on, letters_on
from app.score.glosses import glosses_on
from app.score.page_marks import MarkPainter, PageColors, PageMarks
from app.score.page_painter import DrawingPainter, PageStyle
from app.score.score_geometry import PageGeometry
from core.score.page_drawing import UNITS_PER_SPACE, Line, PageDrawing

_SCREEN_DOTS_AN_INCH = 96
"""Dashes are given in logical pixels of a screen."""
_LABEL_SIZE = 1.4
"""Staff spaces: on paper a key's name is as large as a fingering."""
_LEAST_STROKE = 6.0
"""Dots: a line that any printer shows."""


class SheetPainter(DrawingPainter):
    """Paints a drawing with a painter that draws on a PDF."""

    def __init__(self, drawing: PageDrawing, style: PageStyle, painter: QPainter) -> None:
        super().__init__(drawing, style)
        self._painter = painter

    def paint(self) -> None:
        """All marks of the page."""
        for _ in self._all_marks():
            pass

    def _staff_shifts(self) -> Iterable[float]:
        return (0.0 for _ in self._drawing.staves)

    def _header(self) -> None:
        self._painter.translate(0, HEAD_LOWER * SPACE_DOTS)
        super()._header()
        self._painter.resetTransform()

    def _page_number(self) -> None:
        self._painter.translate(0, HEAD_LOWER * SPACE_DOTS)
        super()._page_number()
        self._painter.resetTransform()

    def _level_line(self, line: Line) -> None:
        scale = self._scale
        thickness = max(_LEAST_STROKE, line.width * scale)
        left, right = sorted((line.x1 * scale, line.x2 * scale))
        rect = QRectF(left, line.y1 * scale - thickness / 2, right - left, thickness)
        self._painter.fillRect(rect, self._style.printed)

    def _upright_line(self, line: Line) -> None:
        scale = self._scale
        thickness = max(_LEAST_STROKE, line.width * scale)
        top, bottom = sorted((line.y1 * scale, line.y2 * scale))
        # Barlines reach to the outer edges of the staff lines.
        reach = _LEAST_STROKE / 2 if line.role == "barline" else 0.0
        left = line.x1 * scale - thickness / 2
        rect = QRectF(left, top - reach, thickness, bottom - top + 2 * reach)
        self._painter.fillRect(rect, self._style.printed)


def marks_of(geometry: PageGeometry, wish: PrintWish) -> PageMarks:
    """What is drawn over one page; nothing of where the person is just now."""
    overlays = wish.overlays
    return PageMarks(
        rules=key_rules_on(geometry, overlays.keys),
        bent=bent_on(geometry, overlays.bent),
        letters=letters_on(geometry, overlays.sections),
        glosses=tuple(glosses_on(geometry, wish.numbered, wish.sha256)),
    )


def paint_sheet(
    painter: QPainter,
    geometry: PageGeometry,
    wish: PrintWish,
    style: PageStyle,
    colors: PageColors,
) -> None:
    """One page of the music on the sheet that ``painter`` draws on."""
    SheetPainter(geometry.drawing, style, painter).paint()
    marks = MarkPainter(
        painter,
        colors,
        SPACE_DOTS / UNITS_PER_SPACE,
        device_ratio=DOTS_AN_INCH / _SCREEN_DOTS_AN_INCH,
        label_size=_LABEL_SIZE,
    )
    marks.paint(marks_of(geometry, wish))
