"""The form line: the piece as it is played, at a glance; a click or a key goes there."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QHelpEvent,
    QInputDevice,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QApplication, QSizePolicy, QToolTip, QWidget

from app.form import line_painter, line_tips
from app.form.form_model import FormModel
from app.form.line_fonts import LineFonts
from app.form.line_painter import LinePainter, LineState
from app.form.line_scale import LEFT, RIGHT, LineScale
from app.theme import Theme
from core.score.places import Passage
from core.score.statements import Statement

HEIGHT = 148
LEAST_WIDTH = LEFT + RIGHT + 240
ZOOM_STEP = 1.25
NOTCH = 120
"""Eighths of a degree that one click of a usual wheel turns."""
SCROLL_A_NOTCH = 60.0
"""Logical pixels."""
NAME = "Form"
_ZOOM_IN = {Qt.Key.Key_Plus, Qt.Key.Key_Equal}
_ZOOM_OUT = {Qt.Key.Key_Minus, Qt.Key.Key_Underscore}


class FormLine(QWidget):
    """The band at the bottom of the window.

    A choice is told by ``passage_chosen`` first, then ``statement_chosen``.

    Parameters
    ----------
    model : FormModel
    theme : Theme
    """

    passage_chosen = Signal(object)
    """A ``Passage`` to be made the current place."""
    statement_chosen = Signal(object)
    """The ``Statement`` that is meant, or None: every one of that passage."""
    remark_chosen = Signal(int)
    """Id of a remark whose number was clicked."""
    going_to = Signal(int)
    """Enter: bring this measure (its index) into sight."""

    def __init__(self, model: FormModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("formLine")
        self.setAccessibleName(NAME)
        self.setFixedHeight(HEIGHT)
        self.setMinimumWidth(LEAST_WIDTH)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.model, self._theme, self._fonts = model, theme, LineFonts(theme)
        self.scale = LineScale(total_quarters=0.0, width=self._lanes_width())
        self._pressed_at: float | None = None
        self._pressed_quarters: float | None = None
        self._dragged: Passage | None = None
        self._dragged_to = 0.0
        self._is_telling = False
        self._extends_from: int | None = None
        self._extends_to: int | None = None
        model.time_changed.connect(self._on_time_changed)
        for signal in (model.boxes_changed, model.keys_changed, model.words_changed):
            signal.connect(self.update)
        for signal in (model.remarks_changed, theme.changed):
            signal.connect(self.update)
        for signal in (model.boxes_changed, model.here_changed, model.statement_changed):
            signal.connect(self._on_here_changed)
        self._on_time_changed()

    def sizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, HEIGHT)

    def zoom(self, factor: float, x: float | None = None) -> None:
        """Zoom about a place of the widget; about its middle without one."""
        middle = LEFT + self.scale.width / 2
        self._show(self.scale.zoomed(factor, middle if x is None else x))

    # Events

    def paintEvent(self, event: QPaintEvent) -> None:
        dragged = None
        if self._dragged is not None and self.model.time is not None:
            dragged = self.model.time.stretches_of(self._dragged)
        state = LineState(
            scale=self.scale,
            width=self.width(),
            dragged=dragged,
            has_focus=self.hasFocus(),
        )
        with QPainter(self) as painter:
            painter.fillRect(event.rect(), self._theme.color("panel"))
            LinePainter(painter, self._theme, self.model, self._fonts, state).paint()

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.scale = self.scale.resized(self._lanes_width())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton or self.model.is_empty:
            event.ignore()
            return
        x = event.position().x()
        remark = self._remark_at(x, event.position().y())
        if remark is not None:
            self.remark_chosen.emit(remark)
        elif self._is_in_lanes(x):
            self._pressed_at, self._pressed_quarters = x, self.scale.quarters(x)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._pressed_at is None or self._pressed_quarters is None or self.model.time is None:
            return
        x = event.position().x()
        if self._dragged is None and abs(x - self._pressed_at) < QApplication.startDragDistance():
            return
        time, start, now = self.model.time, self._pressed_quarters, self.scale.quarters(x)
        if event.modifiers() & Qt.KeyboardModifier.AltModifier:
            dragged = time.between(start, now)
        else:
            dragged = time.whole_measures(time.position_at(start), time.position_at(now))
        self._dragged_to = now
        if dragged != self._dragged:
            self._dragged = dragged
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton or self._pressed_quarters is None:
            return
        start, dragged = self._pressed_quarters, self._dragged
        self._end_drag()
        if dragged is not None:
            self._choose(dragged, start, self._dragged_to)
        elif (passage := self.model.passage_at(start)) is not None:
            self._choose(passage, start, start)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        x = event.position().x()
        is_left = event.button() is Qt.MouseButton.LeftButton
        if is_left and self._is_in_lanes(x) and not self.model.is_empty:
            index = self.model.box_index_at(self.scale.quarters(x))
            if index is not None:
                self._choose_boxes(index, index)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self.model.is_empty:
            event.ignore()
            return
        turned, pixels = event.angleDelta(), event.pixelDelta()
        modifiers = event.modifiers()
        is_zoom_asked = bool(modifiers & Qt.KeyboardModifier.ControlModifier)
        is_sideways = bool(modifiers & Qt.KeyboardModifier.ShiftModifier) or turned.x() != 0
        if is_zoom_asked or not (is_sideways or _is_trackpad(event)):
            self.zoom(ZOOM_STEP ** (turned.y() / NOTCH), event.position().x())
        elif not pixels.isNull():
            self._show(self.scale.scrolled(-_larger(pixels)))
        else:
            self._show(self.scale.scrolled(-_larger(turned) / NOTCH * SCROLL_A_NOTCH))
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, extends = event.key(), bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        last = len(self.model.boxes) - 1
        if self.model.is_empty:
            event.ignore()
        elif key in _ZOOM_IN:
            self.zoom(ZOOM_STEP, self._here_x())
        elif key in _ZOOM_OUT:
            self.zoom(1 / ZOOM_STEP, self._here_x())
        elif key == Qt.Key.Key_Left:
            self._step(-1, extends)
        elif key == Qt.Key.Key_Right:
            self._step(1, extends)
        elif key == Qt.Key.Key_Home:
            self._go(0, extends)
        elif key == Qt.Key.Key_End:
            self._go(last, extends)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._enter()
        elif key == Qt.Key.Key_Escape and self._pressed_at is not None:
            self._end_drag()
        else:
            # Escape too: with nothing to take back here, the window leads back to the page.
            event.ignore()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() is QEvent.Type.ToolTip:
            tip = self.tip_at(event.pos())
            QToolTip.showText(event.globalPos(), line_tips.as_plain(tip), self)
            return True
        return super().event(event)

    def tip_at(self, at: QPoint) -> str:
        """What is said of the place under the pointer, in full; empty where there is nothing."""
        if self.model.is_empty or not self._is_in_lanes(at.x()):
            return ""
        remark = self._remark_at(at.x(), at.y())
        if remark is not None:
            return line_tips.remark_tip(self.model, remark)
        return line_tips.tip(self.model, self.scale, at.x(), at.y(), self._fonts)

    # Choosing

    def _choose(self, passage: Passage, first_quarters: float, last_quarters: float) -> None:
        self._tell(passage, self.model.statement_holding(first_quarters, last_quarters))

    def _choose_boxes(self, first: int, last: int) -> None:
        passage = self.model.passage_of_boxes(first, last)
        if passage is not None:
            statement = self.model.boxes[first].statement if first == last else None
            self._tell(passage, statement)

    def _tell(self, passage: Passage, statement: Statement | None) -> None:
        self._is_telling = True
        self.passage_chosen.emit(passage)
        self.statement_chosen.emit(statement)
        self._is_telling = False
        self._extends_from = self._extends_to = None

    def _step(self, by: int, extends: bool) -> None:
        current = self.model.current_box()
        if extends and self._extends_to is not None:
            current = self._extends_to
        if current is None:
            # Nothing is current yet: the first step goes to the end one comes from.
            self._go(0 if by > 0 else len(self.model.boxes) - 1, extends)
        else:
            self._go(current + by, extends)

    def _go(self, index: int, extends: bool) -> None:
        boxes = self.model.boxes
        index = min(max(index, 0), len(boxes) - 1)
        current = self.model.current_box()
        start = self._extends_from if self._extends_from is not None else current
        if not extends or start is None:
            self._choose_boxes(index, index)
        else:
            self._choose_boxes(min(start, index), max(start, index))
            self._extends_from, self._extends_to = start, index
        self._show(self.scale.showing(boxes[index].start, boxes[index].end))

    def _enter(self) -> None:
        current, time = self.model.current_box(), self.model.time
        if self.model.passage is not None:
            self.going_to.emit(self.model.passage.start.measure_index)
        elif current is not None and time is not None:
            self.going_to.emit(time.order[time.position_at(self.model.boxes[current].start)])

    def _end_drag(self) -> None:
        self._pressed_at = self._pressed_quarters = self._dragged = None
        self.update()

    # Listening

    def _on_time_changed(self) -> None:
        time = self.model.time
        total = 0.0 if time is None else time.total_quarters
        if total != self.scale.total_quarters:
            self.scale = LineScale(total_quarters=total, width=self._lanes_width())
        self._end_drag()
        self._on_here_changed()

    def _on_here_changed(self) -> None:
        if not self._is_telling:
            # Another place was chosen elsewhere: Shift begins anew from there.
            self._extends_from = self._extends_to = None
        spoken = self.model.spoken()
        if spoken != self.accessibleDescription():
            self.setAccessibleDescription(spoken)
        self.update()

    # Where things are

    def _show(self, scale: LineScale) -> None:
        if scale != self.scale:
            self.scale = scale
            self.update()

    def _lanes_width(self) -> float:
        return max(1.0, float(self.width() - LEFT - RIGHT))

    def _is_in_lanes(self, x: float) -> bool:
        return LEFT <= x <= LEFT + self.scale.width

    def _here_x(self) -> float | None:
        """Where the current place is drawn, to zoom about; None where it is not seen."""
        here = self.model.here
        x = self.scale.x(here[0].start) if here else -1.0
        return x if self._is_in_lanes(x) else None

    def _remark_at(self, x: float, y: float) -> int | None:
        for entry in line_painter.placed_remarks(self.model, self.scale, self._fonts):
            middle = line_painter.REMARK_ROWS[entry.row]
            if abs(y - middle) <= 7 and entry.x - 4 <= x <= entry.x + entry.number_width + 4:
                return entry.mark.remark_id
        return None


def _is_trackpad(event: QWheelEvent) -> bool:
    is_pad = event.device().type() is QInputDevice.DeviceType.TouchPad
    return is_pad or event.phase() is not Qt.ScrollPhase.NoScrollPhase


def _larger(delta: QPoint) -> int:
    """Of a movement in two directions the one that was meant."""
    return delta.x() if abs(delta.x()) >= abs(delta.y()) else delta.y()
