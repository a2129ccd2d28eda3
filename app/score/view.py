"""The score: pages one under the other, drawn natively, to be read and pointed at.

A unit of the scene is a device pixel. Pages are engraved and painted on the typesetter's
thread; only those in sight, and the next one, hold an image. The view decides nothing about
music: it asks ``score_geometry`` where things lie and ``walking`` what comes next.
"""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPalette,
    QResizeEvent,
    QShowEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsScene, QGraphicsView, QWidget

from app.desk.desk_model import DeskModel
from app.desk.selection import Selection
from app.score.glosses import glosses_on
from app.score.page_item import PageColors, PageItem
from app.score.page_painter import PageStyle, page_pixels
from app.score.pointing import Pointer
from app.score.score_geometry import PageGeometry, ScoreIndex
from app.score.typesetter import SignallingListener, Typesetter, TypesetterSignals
from app.score.walking import Walker
from app.theme import Theme
from core.score.engraving import PageLayout
from core.score.page_drawing import UNITS_PER_SPACE, PageDrawing

SPACE_LEAST, SPACE_MOST = 4, 40
"""Device pixels a staff space."""
SPACE_NORMAL = 10
"""Logical pixels a staff space: 100 % of zoom."""
_GAP = 16
"""Logical pixels between two pages, and above the first."""
_IMAGES_BEYOND = 1
"""Pages out of sight, before and after, that keep their images."""


class ScoreView(QGraphicsView):
    """The pages of the open piece."""

    first_page_shown = Signal()
    remark_pointed = Signal(int)
    """Number of the remark whose bracket was clicked."""
    zoomed = Signal(int)

    def __init__(
        self,
        desk: DeskModel,
        theme: Theme,
        parent: QWidget | None = None,
        *,
        typesetter: Typesetter | None = None,
    ) -> None:
        super().__init__(parent)
        self.desk, self._theme = desk, theme
        self._layout = PageLayout()
        self._job = 0
        self._page_units = (0.0, 0.0)
        self._items: list[PageItem] = []
        self._drawings: dict[int, PageDrawing] = {}
        self._geometries: dict[int, PageGeometry] = {}
        self._index: ScoreIndex | None = None
        self.walker: Walker | None = None
        self._space = 0
        self._is_first_page_due = False
        self._darkened: int | None = None
        self._awaited: tuple[str, bool] | None = None
        self._set_up_view()
        self._signals = TypesetterSignals(self)
        self._typesetter = typesetter or Typesetter()
        self._join()
        if not self._typesetter.is_alive():
            self._typesetter.start()
        self._typesetter.listen(SignallingListener(self._signals))
        self.pointer = Pointer(self)
        if desk.piece is not None:
            self._on_piece_opened()

    def _set_up_view(self) -> None:
        self.setScene(QGraphicsScene(self))
        self.setAccessibleName("Score")
        self.setAccessibleDescription(
            "Arrows walk from note to note, with Control from measure to measure, with Shift "
            "they select. The measure's notes stand in the list beside the score."
        )
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setDragMode(QGraphicsView.DragMode.NoDrag)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)
        self.setAlignment(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.viewport().setMouseTracking(True)
        self._tidying = QTimer(self, singleShot=True, interval=0)
        self._tidying.timeout.connect(self._ask_for_pages)
        self._paint_desk()

    def _join(self) -> None:
        queued = Qt.ConnectionType.QueuedConnection
        self._signals.laid_out.connect(self._on_laid_out, queued)
        self._signals.drawn.connect(self._on_drawn, queued)
        self._signals.painted.connect(self._on_painted, queued)
        self._signals.located.connect(self._on_located, queued)
        self._signals.failed.connect(self._on_failed, queued)
        self.desk.piece_opened.connect(self._on_piece_opened)
        self.desk.score_read.connect(self._on_score_read)
        self.desk.selection_changed.connect(self._on_selection_changed)
        self.desk.remarks_changed.connect(self._show_glosses)
        self.desk.going_to.connect(self.go_to)
        self._theme.changed.connect(self._on_theme_changed)
        self.verticalScrollBar().valueChanged.connect(lambda _: self._tidying.start())

    # ------------------------------------------------------------------ zoom

    @property
    def staff_space(self) -> int:
        """Device pixels a staff space: always a whole number."""
        return self._space or round(SPACE_NORMAL * self.devicePixelRatioF())

    @staff_space.setter
    def staff_space(self, pixels: int) -> None:
        pixels = max(SPACE_LEAST, min(SPACE_MOST, int(pixels)))
        if pixels != self._space:
            self._space = pixels
            self._lay_pages()
            self.zoomed.emit(pixels)

    def zoom_in(self) -> None:
        """One device pixel more a staff space."""
        self.staff_space = self.staff_space + 1

    def zoom_out(self) -> None:
        """One device pixel less a staff space."""
        self.staff_space = self.staff_space - 1

    def zoom_reset(self) -> None:
        """Back to 100 %."""
        self.staff_space = round(SPACE_NORMAL * self.devicePixelRatioF())

    # ------------------------------------------------------------------ from the desk

    def _on_piece_opened(self) -> None:
        self._job += 1
        self._clear()
        if self.desk.piece is None or not self.desk.canonical:
            return
        self._is_first_page_due = True
        self._typesetter.load(
            self._job, self.desk.canonical, self._layout, name=self.desk.piece.title
        )
        if self.desk.score is not None:
            self._on_score_read()

    def _on_score_read(self) -> None:
        score = self.desk.score
        if score is None:
            return
        self._index = ScoreIndex(score)
        self.walker = Walker(self._index)
        self._geometries.clear()
        self._typesetter.know(self._job, score)
        self._on_selection_changed()
        self._show_glosses()

    def _clear(self) -> None:
        self.scene().clear()
        self._items, self._index, self.walker = [], None, None
        self._drawings.clear()
        self._geometries.clear()
        self.scene().setSceneRect(QRectF())

    def _on_selection_changed(self) -> None:
        self._show_here()
        if self.hasFocus() and self.desk.selection is not None:
            self.reveal(self.desk.selection)

    def _on_theme_changed(self) -> None:
        self._paint_desk()
        for item in self._items:
            item.recolor(self._page_colors())
            item.show_image(None)
        self._ask_for_pages()

    def go_to(self, measure_index: int) -> None:
        """Bring a measure into sight."""
        if self.desk.score is None or not self._items:
            return
        measure = self.desk.score.measures[measure_index]
        self._awaited = (measure.id, True)
        self._typesetter.locate(measure.id)

    def reveal(self, selection: Selection) -> None:
        """Scroll no more than needed for what is selected to be seen."""
        score = self.desk.score
        if score is None or not self._items:
            return
        start = min(selection.passage.start.measure_index, len(score.measures) - 1)
        if not selection.passage.is_point:
            end = selection.passage.end
            start = max(start, end.measure_index - (end.offset_quarters == 0))
        measure = score.measures[min(start, len(score.measures) - 1)]
        number = self._page_with(measure.index)
        if number is not None:
            self._scroll_to(number, measure.id, is_jump=False)
        else:
            self._awaited = (measure.id, False)
            self._typesetter.locate(measure.id)

    # ------------------------------------------------------------------ from the typesetter

    def _on_laid_out(self, job: int, pages: int, width: float, height: float) -> None:
        if job != self._job:
            return
        self._page_units = (width, height)
        colors = self._page_colors()
        for number in range(1, pages + 1):
            item = PageItem(number, 1, 1, colors)
            self._items.append(item)
            self.scene().addItem(item)
        self._lay_pages()
        self.verticalScrollBar().setValue(0)

    def _on_drawn(self, job: int, drawing: PageDrawing) -> None:
        if job != self._job:
            return
        self._drawings[drawing.number] = drawing
        self._geometries.pop(drawing.number, None)
        self._show_here()
        self._show_glosses()

    def _on_painted(self, job: int, number: int, style: PageStyle, image: object) -> None:
        if job != self._job or style.space_pixels != self.staff_space:
            return
        if style.page != self._theme.page_color("page"):
            return
        self._items[number - 1].show_image(image)  # type: ignore[arg-type]  # a QImage, by signal
        if self._is_first_page_due and number == 1:
            self._is_first_page_due = False
            QTimer.singleShot(0, self.first_page_shown.emit)

    def _on_located(self, job: int, element_id: str, page: int) -> None:
        if job != self._job or self._awaited is None or page < 1:
            return
        if element_id == self._awaited[0]:
            self._scroll_to(page, element_id, is_jump=self._awaited[1])
            if page in self._drawings:
                self._awaited = None

    def _on_failed(self, job: int, error: object) -> None:
        if job == self._job:
            self.desk.notice.emit(error)

    # ------------------------------------------------------------------ pages

    def _lay_pages(self) -> None:
        """Set every page to the size of the zoom, keeping what is in the middle there."""
        ratio = self.devicePixelRatioF()
        middle = self._middle()
        width, height = page_pixels(*self._page_units, self.staff_space)
        gap, top = round(_GAP * ratio), round(_GAP * ratio)
        for item in self._items:
            item.resize(width, height, self.staff_space)
            item.setPos(0, top)
            top += height + gap
        self.scene().setSceneRect(QRectF(0, 0, width, max(top, 1)))
        self.resetTransform()
        self.scale(1 / ratio, 1 / ratio)
        if middle is not None and self._items:
            self._return_to(*middle)
        self._ask_for_pages()

    def _middle(self) -> tuple[int, float] | None:
        """The page at the top of the view, and how far down it, as a share of its height."""
        at = self.mapToScene(self.viewport().rect().topLeft()).y()
        for item in self._items:
            height = item.boundingRect().height()
            if height > 1 and item.y() + height >= at:
                return item.number, (at - item.y()) / height
        return None

    def _return_to(self, number: int, share: float) -> None:
        item = self._items[number - 1]
        y = item.y() + share * item.boundingRect().height()
        self.verticalScrollBar().setValue(round(y / self.devicePixelRatioF()))

    def pages_in_sight(self) -> list[PageItem]:
        """Pages of which anything can be seen."""
        seen = self.mapToScene(self.viewport().rect()).boundingRect()
        return [item for item in self._items if item.sceneBoundingRect().intersects(seen)]

    def _ask_for_pages(self) -> None:
        """Have the pages in sight painted, and let go of images far from it."""
        if not self._items or not self._page_units[0]:
            return
        seen = [item.number for item in self.pages_in_sight()] or [1]
        near = range(seen[0] - _IMAGES_BEYOND, seen[-1] + _IMAGES_BEYOND + 1)
        wanted = [n for n in near if 1 <= n <= len(self._items)]
        self._typesetter.forget_pages(set(wanted))
        size = page_pixels(*self._page_units, self.staff_space)
        style = self._page_style()
        for number in sorted(wanted, key=lambda n: (n in seen, -n)):
            image = self._items[number - 1].image
            if image is None or (image.width(), image.height()) != size:
                self._typesetter.paint(number, style)
        for item in self._items:
            if item.image is not None and item.number not in near:
                item.show_image(None)

    def _scroll_to(self, number: int, measure_id: str, *, is_jump: bool) -> None:
        """Bring a measure of a page into sight; with a jump, near the top."""
        ratio = self.devicePixelRatioF()
        item = self._items[number - 1]
        drawing = self._drawings.get(number)
        boxes = {box.id: box.box for box in drawing.measures} if drawing else {}
        scale = self.staff_space / UNITS_PER_SPACE
        if measure_id not in boxes:
            self.verticalScrollBar().setValue(round(item.y() / ratio) - _GAP)
            self._ask_for_pages()
            return
        left, top, right, bottom = (edge * scale for edge in boxes[measure_id])
        above, below = 8 * self.staff_space, 7 * self.staff_space
        rect = QRectF(left, item.y() + top - above, right - left, bottom - top + above + below)
        seen = self.mapToScene(self.viewport().rect()).boundingRect()
        if rect.top() < seen.top() or (is_jump and rect.bottom() > seen.bottom()):
            self.verticalScrollBar().setValue(round(rect.top() / ratio))
        elif rect.bottom() > seen.bottom():
            self.verticalScrollBar().setValue(round((rect.bottom() - seen.height()) / ratio))
        if rect.left() < seen.left() or rect.right() > seen.right():
            self.horizontalScrollBar().setValue(round(rect.left() / ratio) - 40)

    def _page_style(self) -> PageStyle:
        piece, theme = self.desk.piece, self._theme
        return PageStyle(
            space_pixels=self.staff_space,
            page=theme.page_color("page"),
            printed=theme.page_color("print"),
            quiet=theme.page_color("quiet"),
            serif=lambda size, weight, italic: theme.serif(max(1, round(size)), weight, italic),
            title=piece.title if piece else "",
            byline=piece.composer if piece else "",
        )

    def _page_colors(self) -> PageColors:
        theme = self._theme
        return PageColors(
            page=theme.page_color("page"),
            edge=theme.page_color("hairline2"),
            here=theme.page_color("here"),
            rule=theme.page_color("print"),
            ink=theme.page_color("ink"),
            number_font=theme.serif(17, 600),
        )

    def _paint_desk(self) -> None:
        palette = self.palette()
        palette.setColor(QPalette.ColorRole.Base, self._theme.color("desk"))
        self.setPalette(palette)
        self.setBackgroundBrush(self._theme.color("desk"))

    # ------------------------------------------------------------------ what lies over the pages

    def geometry_of(self, number: int) -> PageGeometry | None:
        """Where things lie on a page that has been engraved; None before that."""
        if self._index is None or number not in self._drawings:
            return None
        if number not in self._geometries:
            self._geometries[number] = PageGeometry(self._drawings[number], self._index)
        return self._geometries[number]

    def _page_with(self, measure_index: int) -> int | None:
        for number in self._drawings:
            geometry = self.geometry_of(number)
            if geometry is not None and geometry.measure_range is not None:
                first, last = geometry.measure_range
                if first <= measure_index <= last:
                    return number
        return None

    def _pages_with_geometry(self) -> Iterator[tuple[PageItem, PageGeometry]]:
        for number in sorted(self._drawings):
            geometry = self.geometry_of(number)
            if geometry is not None and number <= len(self._items):
                yield self._items[number - 1], geometry

    def _show_here(self) -> None:
        selection = self.desk.selection
        for item, geometry in self._pages_with_geometry():
            if selection is None:
                item.show_here((), (), ())
                continue
            box = geometry.element_box(selection.element_id) if selection.element_id else None
            if box is not None:
                item.show_here((), (), (box,))
            elif selection.passage.is_point:
                point = geometry.point_span(selection.passage.start)
                item.show_here((), (point,) if point else (), ())
            else:
                item.show_here(tuple(geometry.spans(selection.passage)), (), ())
        self._settle_awaited()

    def _settle_awaited(self) -> None:
        """Scroll on to a measure whose page was not engraved when it was asked for."""
        if self._awaited is None:
            return
        for number, drawing in self._drawings.items():
            if any(box.id == self._awaited[0] for box in drawing.measures):
                measure_id, is_jump = self._awaited
                self._awaited = None
                self._scroll_to(number, measure_id, is_jump=is_jump)
                return

    def _show_glosses(self) -> None:
        score = self.desk.score
        if score is None:
            return
        numbered = self.desk.numbered()
        for item, geometry in self._pages_with_geometry():
            item.show_glosses(glosses_on(geometry, numbered, score.sha256, darkened=self._darkened))

    def darken_remark(self, number: int | None) -> None:
        """Draw one remark's bracket stronger, because the pointer is on it in the margin."""
        if number != self._darkened:
            self._darkened = number
            self._show_glosses()

    # ------------------------------------------------------------------ hands

    def page_point(self, position: QPointF) -> tuple[PageItem, float, float] | None:
        """The page under a point of the viewport (or the nearest), and the point on it."""
        at = self.mapToScene(position.toPoint())
        if not self._items:
            return None
        item = min(
            self._items,
            key=lambda i: max(i.y() - at.y(), at.y() - i.y() - i.boundingRect().height(), 0),
        )
        return item, at.x() - item.x(), at.y() - item.y()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Point at something, or begin a passage."""
        self.pointer.press(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Draw out a passage."""
        self.pointer.move(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a passage."""
        self.pointer.release(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Select the whole measure."""
        self.pointer.double_click(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk, select, or begin to write."""
        if not self.pointer.key(event):
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll; with Control, zoom."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            steps = event.angleDelta().y()
            if steps:
                self.staff_space = self.staff_space + (1 if steps > 0 else -1)
            event.accept()
            return
        super().wheelEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show again what is selected."""
        super().focusInEvent(event)
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """More or fewer pages are in sight."""
        super().resizeEvent(event)
        self._tidying.start()

    def showEvent(self, event: QShowEvent) -> None:
        """The screen's scale is known now."""
        super().showEvent(event)
        self._lay_pages()

    def event(self, event: QEvent) -> bool:
        """Follow the window to a screen of another scale."""
        if event.type() == QEvent.Type.DevicePixelRatioChange and self._items:
            self._lay_pages()
        return super().event(event)

    def shut_down(self) -> None:
        """End the engraving thread."""
        self._typesetter.shut_down()
