"""Paints a ``PageDrawing`` so that its lines sit on the device's pixels.

A staff space is a whole number of device pixels. Every staff is moved by less than a pixel
so that its first line covers one row of pixels; all lines of it then do, and what stands on the
staff is moved with it. Barlines and stems are snapped sideways.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import floor
from time import perf_counter
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QPainter,
    QPen,
    QPolygonF,
    QTransform,
)

from app.score.glyph_paths import glyph_path, path_of
from core.score import music_font
from core.score.page_drawing import (
    UNITS_PER_SPACE,
    Curve,
    Ellipse,
    Glyph,
    Line,
    PageDrawing,
    Polygon,
    TextLine,
    TextRun,
)

TITLE_SIZE, TITLE_BASELINE = 2.8, 4.3
BYLINE_SIZE, BYLINE_BASELINE, BYLINE_LOWER = 1.7, 5.9, 1.1
"""A long one goes lower, clear of the title over it."""
NUMBER_SIZE, NUMBER_BASELINE = 1.5, 4.0
"""Staff spaces, from the page's upper edge."""

_MARKS_A_LOOK = 8
"""Marks painted between two looks at the clock: about 0.1 ms."""

SerifMaker = Callable[[float, int, bool], QFont]
"""A font of the bundled serif: size in pixels, weight, italic."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageStyle:
    """What a page is painted with.

    Parameters
    ----------
    space_pixels : int
        Device pixels a staff space.
    page, printed, quiet : QColor
    serif : SerifMaker
    title, byline : str
        Set at the head of page 1 where the engraver kept room for them.
    """

    space_pixels: int
    page: QColor
    printed: QColor
    quiet: QColor
    serif: SerifMaker
    title: str = ""
    byline: str = ""

    @property
    def scale(self) -> float:
        """Device pixels a drawing unit."""
        return self.space_pixels / UNITS_PER_SPACE


def page_pixels(width: float, height: float, space_pixels: int) -> tuple[int, int]:
    """Size in device pixels of a page given in drawing units."""
    scale = space_pixels / UNITS_PER_SPACE
    return round(width * scale), round(height * scale)


class DrawingPainter:
    """Paints the marks of one drawing, snapped to the pixels of ``style``'s zoom."""

    def __init__(self, drawing: PageDrawing, style: PageStyle) -> None:
        self.drawing, self.style = drawing, style
        self._drawing, self._style, self._scale = drawing, style, style.scale
        self._shifts = [*self._staff_shifts(), 0.0]
        self._painter = QPainter()
        self._is_smooth = False

    def _staff_shifts(self) -> Iterable[float]:
        """How far each staff is moved so that its lines cover whole pixels."""
        tops = (staff.y_top * self._scale for staff in self._drawing.staves)
        return (floor(top) + 0.5 - top for top in tops)

    def _all_marks(self) -> Iterator[None]:
        """Paint mark after mark, and stop after each."""
        drawing = self._drawing
        kinds: tuple[tuple[bool, Callable[[Any], None], Sequence[Any]], ...] = (
            (False, self._line, drawing.lines),
            (True, self._polygon, drawing.polygons),
            (True, self._curve, drawing.curves),
            (True, self._glyph, drawing.glyphs),
            (True, self._ellipse, drawing.ellipses),
            (True, self._text, drawing.texts),
        )
        for is_smooth, paint, marks in kinds:
            self._set_smooth(is_smooth)
            for mark in marks:
                paint(mark)
                yield
        self._set_smooth(True)
        if drawing.header_bottom and drawing.number == 1:
            self._header()
        elif drawing.header_bottom:
            self._page_number()

    def _set_smooth(self, is_smooth: bool) -> None:
        self._is_smooth = is_smooth
        self._painter.setRenderHint(QPainter.RenderHint.Antialiasing, is_smooth)
        self._painter.setRenderHint(QPainter.RenderHint.TextAntialiasing, is_smooth)

    # ------------------------------------------------------------------ strokes

    def _line(self, line: Line) -> None:
        if line.dash or (line.x1 != line.x2 and line.y1 != line.y2):
            self._loose_line(line)
        elif line.y1 == line.y2:
            self._level_line(line)
        else:
            self._upright_line(line)

    def _level_line(self, line: Line) -> None:
        """Staff lines, one pixel; ledger lines and others as many as they come nearest to."""
        scale = self._scale
        y = line.y1 * scale + self._shifts[line.staff]
        thickness = 1 if line.role == "staff" else max(1, round(line.width * scale))
        left, right = floor(min(line.x1, line.x2) * scale), -floor(-max(line.x1, line.x2) * scale)
        top = floor(y) - (thickness - 1) // 2
        self._painter.fillRect(left, top, right - left, thickness, self._style.printed)

    def _upright_line(self, line: Line) -> None:
        scale = self._scale
        thickness = max(1, round(line.width * scale))
        left = round(line.x1 * scale - thickness / 2)
        y1, y2 = sorted((line.y1 * scale, line.y2 * scale))
        if line.role == "stem":
            shift = self._shifts[line.staff]
            top, bottom = round(y1 + shift), round(y2 + shift)
        else:
            top, bottom = floor(y1), floor(y2) + 1
        self._painter.fillRect(left, top, thickness, bottom - top, self._style.printed)

    def _loose_line(self, line: Line) -> None:
        scale, shift = self._scale, self._shifts[line.staff]
        pen = QPen(self._style.printed, max(1.0, line.width * scale))
        if line.dash:
            pen.setDashPattern([max(1.0, line.dash / max(line.width, 1.0))] * 2)
        self._painter.setPen(pen)
        self._painter.drawLine(
            QPointF(line.x1 * scale, line.y1 * scale + shift),
            QPointF(line.x2 * scale, line.y2 * scale + shift),
        )

    # ------------------------------------------------------------------ shapes

    def _polygon(self, polygon: Polygon) -> None:
        scale, painter = self._scale, self._painter
        shift = self._shifts[polygon.staff]
        shape = QPolygonF([QPointF(x * scale, y * scale + shift) for x, y in polygon.points])
        if polygon.width:
            painter.setPen(QPen(self._style.printed, max(1.0, polygon.width * scale)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolyline(shape)
        else:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(self._style.printed)
            painter.drawPolygon(shape)

    def _curve(self, curve: Curve) -> None:
        painter = self._painter
        painter.setTransform(QTransform.fromScale(self._scale, self._scale))
        pen = QPen(self._style.printed, curve.width)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if curve.dash:
            pen.setDashPattern([max(1.0, curve.dash / max(curve.width, 1.0))] * 2)
        painter.setPen(pen)
        painter.setBrush(self._style.printed if curve.is_filled else Qt.BrushStyle.NoBrush)
        painter.drawPath(path_of(curve.path))
        painter.resetTransform()

    def _glyph(self, glyph: Glyph) -> None:
        scale = self._scale
        y = glyph.y * scale + self._shifts[glyph.staff]
        x, size = glyph.x * scale, glyph.scale * scale
        if glyph.is_upright:
            self._fill(glyph.code, QTransform(0, -size, -size, 0, x, y))
        else:
            self._sign(glyph.code, x, y, size)

    def _sign(self, code: str, x: float, y: float, size: float) -> None:
        """One sign of the music font at a point of the image; ``size`` is pixels a font unit."""
        self._fill(code, QTransform(size, 0, 0, -size, x, y))

    def _fill(self, code: str, placed: QTransform) -> None:
        self._painter.setTransform(placed)
        self._painter.fillPath(glyph_path(code), self._style.printed)
        self._painter.resetTransform()

    def _ellipse(self, dot: Ellipse) -> None:
        scale, painter = self._scale, self._painter
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._style.printed)
        middle = QPointF(dot.cx * scale, dot.cy * scale + self._shifts[dot.staff])
        painter.drawEllipse(middle, dot.rx * scale, dot.ry * scale)

    # ------------------------------------------------------------------ text

    def _text(self, text: TextLine) -> None:
        widths = [self._run_width(run) for run in text.runs]
        offset = {"middle": sum(widths) / 2, "end": sum(widths)}.get(text.anchor, 0.0)
        x, y = text.x * self._scale - offset, text.y * self._scale
        self._painter.setPen(self._style.printed)
        for run, width in zip(text.runs, widths, strict=True):
            if run.is_music:
                self._music_run(run, x, y)
            else:
                self._painter.setFont(self._font(run))
                self._painter.drawText(QPointF(x, y), run.text)
            x += width

    def _font(self, run: TextRun) -> QFont:
        return self._style.serif(run.size * self._scale, 600 if run.is_bold else 400, run.is_italic)

    def _run_width(self, run: TextRun) -> float:
        if run.is_music:
            size = run.size * self._scale / music_font.UNITS_AN_EM
            return sum(music_font.advance(f"{ord(sign):04X}") for sign in run.text) * size
        return QFontMetricsF(self._font(run)).horizontalAdvance(run.text)

    def _music_run(self, run: TextRun, x: float, y: float) -> None:
        size = run.size * self._scale / music_font.UNITS_AN_EM
        for sign in run.text:
            code = f"{ord(sign):04X}"
            self._sign(code, x, y, size)
            x += music_font.advance(code) * size

    def _header(self) -> None:
        """Title in the middle of the music, composer at its right edge."""
        staves, scale = self._drawing.staves, self._scale
        left = min((s.x1 for s in staves), default=0.0) * scale
        right = max((s.x2 for s in staves), default=self._drawing.width) * scale
        space, style = self._style.space_pixels, self._style
        self._painter.setPen(style.printed)
        self._painter.setFont(style.serif(TITLE_SIZE * space, 400, False))
        width = right - left
        title = QRectF(left, (TITLE_BASELINE - 3.6) * space, width, 5.2 * space)
        middle = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter
        self._painter.drawText(title, int(middle), style.title)
        title_width = self._painter.fontMetrics().horizontalAdvance(style.title)
        self._painter.setFont(style.serif(BYLINE_SIZE * space, 400, False))
        byline_width = self._painter.fontMetrics().horizontalAdvance(style.byline)
        is_beside = byline_width + space < (width - title_width) / 2
        baseline = BYLINE_BASELINE + (0.0 if is_beside else BYLINE_LOWER)
        byline = QRectF(left, (baseline - 1.9) * space, width, 2.8 * space)
        aside = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        self._painter.drawText(byline, int(aside), style.byline)

    def _page_number(self) -> None:
        space, style = self._style.space_pixels, self._style
        self._painter.setPen(style.quiet)
        self._painter.setFont(style.serif(NUMBER_SIZE * space, 400, False))
        top = (NUMBER_BASELINE - 2) * space
        across = QRectF(0, top, self._drawing.width * self._scale, 2.8 * space)
        middle = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter
        self._painter.drawText(across, int(middle), str(self._drawing.number))


class PagePainting(DrawingPainter):
    """One painting of one page, which can be interrupted after any mark.

    Everything of it happens on the window's thread: Qt's types are made when they are first used,
    and two threads that paint for the first time at once bring the process down (seen with
    PySide6 6.11.3). So a page is painted in slices between which the window lives on.
    """

    def __init__(self, drawing: PageDrawing, style: PageStyle) -> None:
        super().__init__(drawing, style)
        width, height = page_pixels(drawing.width, drawing.height, style.space_pixels)
        if drawing.bleed:
            # A chunk of a long line: what reaches over the cut lies on its neighbour.
            self.image = QImage(width, height, QImage.Format.Format_ARGB32_Premultiplied)
            self.image.fill(Qt.GlobalColor.transparent)
        else:
            self.image = QImage(width, height, QImage.Format.Format_RGB32)
            self.image.fill(style.page)
        self._marks = self._all_marks()

    def go_on(self, *, seconds: float) -> bool:
        """Paint for about that long; whether the page is done."""
        until = perf_counter() + seconds
        self._painter = QPainter(self.image)
        self._set_smooth(self._is_smooth)
        try:
            for number, _ in enumerate(self._marks):
                if number % _MARKS_A_LOOK == 0 and perf_counter() >= until:
                    return False
            return True
        finally:
            self._painter.end()
