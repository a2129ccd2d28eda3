"""The score: pages one under the other, or one long line, drawn natively, to be pointed at.

A unit of the scene is a device pixel. Pages are engraved and painted on the typesetter's
thread; only those in sight, and the next one, hold an image. The view decides nothing about
music: it asks ``score_geometry`` where things lie and ``walking`` what comes next.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QImage,
    QKeyEvent,
    QMouseEvent,
    QResizeEvent,
    QShowEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QGraphicsScene, QGraphicsView, QWidget

from app.desk.desk_model import DeskModel
from app.desk.selection import Selection
from app.score.bringing import Bringing
from app.score.marking import Marking
from app.score.page_item import PageItem
from app.score.page_looks import page_colors, page_style, paint_desk
from app.score.page_painter import PageStyle
from app.score.page_stack import PageStack
from app.score.paint_queue import PaintQueue
from app.score.pointing import Pointer
from app.score.score_geometry import PageGeometry, ScoreIndex
from app.score.scrolling import GAP, Scrolling, prepare
from app.score.typesetter import Typesetter
from app.score.typesetter_signals import SignallingListener, TypesetterSignals
from app.score.walking import Walker
from app.theme import Theme
from core.score.engraving import PageLayout
from core.score.page_drawing import PageDrawing
from core.score.places import Place

if TYPE_CHECKING:
    from core.score.reading import FirstLook

SPACE_LEAST, SPACE_MOST = 4, 40
"""Device pixels a staff space."""
SPACE_NORMAL = 10
"""Logical pixels a staff space: 100 % of zoom."""


class ScoreView(QGraphicsView):
    """The pages of the open piece.

    Attributes
    ----------
    marking : Marking
        What is drawn over the pages.
    """

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
        self._engraved, self._head = b"", ("", "")
        self._index: ScoreIndex | None = None
        self._walker: Walker | None = None
        self._space = 0
        self._is_first_page_due = False
        self._measure_kept: int | None = None
        self._set_up_view()
        self._signals = TypesetterSignals(self)
        self._typesetter = typesetter or Typesetter()
        self._painting = PaintQueue(self)
        self._pages = PageStack(self.scene(), self._typesetter, self._painting)
        self._scrolling = Scrolling(self, self._pages)
        self._bringing = Bringing(self, self._pages, self._typesetter, self._scrolling)
        self.marking = Marking(desk, self._pages)
        self._join()
        if not self._typesetter.is_alive():
            self._typesetter.start()
        self._typesetter.listen(SignallingListener(self._signals))
        self.pointer = Pointer(self)
        if desk.piece is not None:
            self._on_piece_opened()
            self._on_score_read()

    def _set_up_view(self) -> None:
        self.setScene(QGraphicsScene(self))
        self.setAccessibleName("Score")
        self.setAccessibleDescription(
            "Arrows walk from note to note, with Control from measure to measure, with Shift "
            "they select. The measure's notes stand in the list beside the score."
        )
        prepare(self)
        self._tidying = QTimer(self, singleShot=True, interval=0)
        self._tidying.timeout.connect(self._look)
        paint_desk(self, self._theme)

    def _join(self) -> None:
        queued = Qt.ConnectionType.QueuedConnection
        self._signals.laid_out.connect(self._on_laid_out, queued)
        self._signals.drawn.connect(self._on_drawn, queued)
        self._painting.painted.connect(self._on_painted)
        self._signals.located.connect(self._on_located, queued)
        self._signals.measured.connect(self._on_measured, queued)
        self._signals.spread.connect(self._on_spread, queued)
        self._signals.failed.connect(self._on_failed, queued)
        self.desk.looked_at.connect(self._on_looked_at)
        self.desk.piece_opened.connect(self._on_piece_opened)
        self.desk.score_read.connect(self._on_score_read)
        self.desk.selection_changed.connect(self._on_selection_changed)
        self.desk.remarks_changed.connect(self.marking.show_glosses)
        self.desk.going_to.connect(self.go_to)
        self._theme.changed.connect(self._on_theme_changed)
        for bar in (self.verticalScrollBar(), self.horizontalScrollBar()):
            bar.valueChanged.connect(lambda _: self._tidying.start())

    @property
    def walker(self) -> Walker | None:
        """Steps through the score, made at the first step; None before the score is read."""
        if self._walker is None and self._index is not None:
            self._walker = Walker(self._index)
        return self._walker

    @property
    def is_one_line(self) -> bool:
        """Whether the score is one long line instead of pages."""
        return self._layout.is_one_line

    @is_one_line.setter
    def is_one_line(self, is_one_line: bool) -> None:
        if is_one_line is self.is_one_line:
            return
        self._layout = PageLayout(is_one_line=is_one_line)
        selection, overlays, index = self.desk.selection, self.marking.overlays, self._index
        measure_index = self._scrolling.measure_in_view(self._seen())
        self._engrave(self._engraved, self._head)
        self._measure_kept = selection.passage.start.measure_index if selection else measure_index
        if index is not None:
            self._know(index)
        self.marking.show_overlays(overlays)

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

    def _on_looked_at(self, look: FirstLook) -> None:
        """Show a score that is not in the notebook yet."""
        if self.desk.piece is None:
            self._engrave(look.canonical, (look.title, look.composer))

    def _on_piece_opened(self) -> None:
        piece, canonical = self.desk.piece, self.desk.canonical
        if piece is None or not canonical:
            self._engrave(b"", ("", ""))
        elif canonical != self._engraved:
            self._engrave(canonical, (piece.title, piece.composer))
        elif self._head != (piece.title, piece.composer):
            self._head = (piece.title, piece.composer)
            self._pages.recolor(page_colors(self._theme))
            self._look()

    def _engrave(self, canonical: bytes, head: tuple[str, str]) -> None:
        """Have another score engraved; none where ``canonical`` is empty."""
        self._job += 1
        self._engraved, self._head = canonical, head
        self._pages.clear()
        self.marking.clear()
        self._bringing.forget()
        self._index, self._walker = None, None
        if canonical:
            self._is_first_page_due = True
            self._typesetter.load(self._job, canonical, self._layout, name=head[0] or "The score")

    def _on_score_read(self) -> None:
        score = self.desk.score
        if score is None or (self._index is not None and self._index.score is score):
            return
        self._know(ScoreIndex(score))

    def _know(self, index: ScoreIndex) -> None:
        """From now on places can be found."""
        self._index, self._walker = index, None
        self._pages.know(index)
        self._typesetter.know(self._job, index.score)
        self._on_selection_changed()
        self.marking.show_glosses()

    def _on_selection_changed(self) -> None:
        self.marking.show_here()
        if self.hasFocus() and self.desk.selection is not None:
            self.reveal(self.desk.selection)

    def _on_theme_changed(self) -> None:
        paint_desk(self, self._theme)
        self._pages.recolor(page_colors(self._theme))
        self._look()

    def go_to(self, measure_index: int) -> None:
        """Bring a measure into sight, near the top."""
        if self._measure_kept is not None:
            self._measure_kept = measure_index
        if self.desk.score is not None:
            self._bringing.bring(self.desk.score, measure_index, is_jump=True)

    def reveal(self, selection: Selection) -> None:
        """Scroll no more than needed for what is selected to be seen."""
        if self.desk.score is not None:
            self._bringing.reveal(self.desk.score, selection)

    # ------------------------------------------------------------------ from the typesetter

    def _on_laid_out(self, job: int, pages: int, width: float, height: float) -> None:
        if job != self._job:
            return
        is_line = self._layout.is_one_line
        self._pages.begin(pages, width, height, page_colors(self._theme), is_line=is_line)
        self._scrolling.align()
        self._lay_pages()
        self._scrolling.to_start()
        if self._measure_kept is not None:
            self.go_to(self._measure_kept)
        self._measure_kept = None

    def _on_drawn(self, job: int, drawing: PageDrawing) -> None:
        if job != self._job:
            return
        self._pages.put_drawing(drawing)
        self.marking.show_pages({drawing.number})
        self._bringing.on_drawn()

    def _on_painted(self, number: int, style: PageStyle, image: QImage) -> None:
        is_wanted = (
            number <= len(self._pages.items)
            and style.space_pixels == self.staff_space
            and style.page == self._theme.page_color("page")
        )
        if not is_wanted:
            return
        self._pages.put_image(number, image)
        if self._is_first_page_due and number == 1:
            self._is_first_page_due = False
            self.viewport().repaint()
            self.first_page_shown.emit()

    def _on_located(self, job: int, element_id: str, page: int) -> None:
        """Scroll to the page of a measure that was asked for; its place follows when drawn."""
        if job == self._job:
            self._bringing.on_located(element_id, page)
            self._look()

    def _on_measured(self, job: int, number: int, width: float) -> None:
        """A long line has grown by a chunk."""
        if job == self._job:
            self._pages.measured(number, width)
            self._bringing.on_placed()
            self._tidying.start()

    def _on_spread(self, job: int, height: float) -> None:
        """The long line needs more height."""
        if job == self._job:
            self._pages.spread(height)
            self._look()

    def _on_failed(self, job: int, error: object) -> None:
        if job == self._job:
            self.desk.notice.emit(error)

    # ------------------------------------------------------------------ pages

    def _lay_pages(self) -> None:
        """Set every page to the size of the zoom, keeping what is at the top there."""
        ratio = self.devicePixelRatioF()
        held = self._scrolling.hold()
        self._bringing.staff_space = self.staff_space
        self._pages.lay(self.staff_space, round(GAP * ratio))
        self.resetTransform()
        self.scale(1 / ratio, 1 / ratio)
        self._scrolling.restore(held)
        self._look()

    def _seen(self) -> QRectF:
        """What of the scene can be seen."""
        return self.mapToScene(self.viewport().rect()).boundingRect()

    def _look(self) -> None:
        style = page_style(self._theme, self._head, self.staff_space)
        self.marking.show_pages(self._pages.look(self._seen(), style))

    # ------------------------------------------------------------------ what lies over the pages

    def geometry_of(self, number: int) -> PageGeometry | None:
        """What lies where on a page; None until it is engraved and the score is read."""
        return self._pages.geometry_of(number)

    def show_sounding(self, place: Place | None) -> None:
        """Follow what plays: a line where it sounds, brought into sight."""
        self.marking.show_sounding(place)
        if place is not None and self.desk.score is not None:
            self._bringing.bring(self.desk.score, place.measure_index, is_jump=False)

    # ------------------------------------------------------------------ hands

    def page_point(self, position: QPointF) -> tuple[PageItem, float, float] | None:
        """The page under a point of the viewport (or the nearest), and the point on it."""
        at = self.mapToScene(position.toPoint())
        item = self._pages.at(at)
        return (item, at.x() - item.x(), at.y() - item.y()) if item is not None else None

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
        if not self.pointer.key(event) and not self._scrolling.key(event):
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll; with Control, zoom."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            steps = event.angleDelta().y()
            if steps:
                self.staff_space = self.staff_space + (1 if steps > 0 else -1)
            event.accept()
            return
        if not self._scrolling.wheel(event):
            super().wheelEvent(event)

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
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._lay_pages()
        return super().event(event)

    def shut_down(self) -> None:
        """End the engraving thread, and paint no more."""
        self._painting.clear()
        self._typesetter.shut_down()
