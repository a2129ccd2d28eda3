"""What the mouse and the keys mean on the score.

A click on a note, rest or direction selects it; beside them, the whole measure. Dragging
selects from column to column; Shift extends what is selected. Keys walk (``walking``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent

from app.desk.selection import Selection
from app.desk.typed_text import typed_text
from core.notebook.values import AnchorKind
from core.score.page_drawing import UNITS_PER_SPACE
from core.score.places import Passage, Place

if TYPE_CHECKING:
    from app.score.view import ScoreView

_DRAG_PIXELS = 6
"""Logical pixels the pointer moves before a click becomes a drag."""

_CONTROL = Qt.KeyboardModifier.ControlModifier
_SHIFT = Qt.KeyboardModifier.ShiftModifier


class Pointer:
    """Turns gestures on a ``ScoreView`` into selections of its desk."""

    def __init__(self, view: ScoreView) -> None:
        self._view = view
        self._pressed: QPointF | None = None
        self._from: Place | None = None
        self._is_drag = False

    # ------------------------------------------------------------------ mouse

    def press(self, event: QMouseEvent) -> None:
        """Begin."""
        if event.button() is not Qt.MouseButton.LeftButton:
            return
        self._pressed, self._is_drag = event.position(), False
        self._from = self._place_at(event.position(), is_end=False)
        selection = self._view.desk.selection
        if event.modifiers() & _SHIFT and selection is not None:
            self._from = selection.passage.start
            self._is_drag = True
            self._drag_to(event.position())

    def move(self, event: QMouseEvent) -> None:
        """Draw out a passage once the pointer has moved far enough."""
        if self._pressed is None:
            self._hover(event.position())
            return
        moved = event.position() - self._pressed
        if self._is_drag or moved.manhattanLength() >= _DRAG_PIXELS:
            self._is_drag = True
            self._drag_to(event.position())

    def release(self, event: QMouseEvent) -> None:
        """A click, if nothing was drawn out."""
        if event.button() is not Qt.MouseButton.LeftButton or self._pressed is None:
            return
        if not self._is_drag:
            self._click(event.position())
        self._pressed = None

    def double_click(self, event: QMouseEvent) -> None:
        """The whole measure."""
        measure_index = self._measure_at(event.position())
        if measure_index is not None:
            self._view.desk.select_measures(measure_index, measure_index)

    def _click(self, position: QPointF) -> None:
        desk = self._view.desk
        number = self._gloss_at(position)
        if number is not None:
            remark = dict(desk.numbered()).get(number)
            if remark is not None and remark.anchor.passage is not None:
                anchor = remark.anchor
                passage, element_id = anchor.passage, anchor.element_id
                assert passage is not None
                desk.select(Selection(kind=anchor.kind, passage=passage, element_id=element_id))
                self._view.remark_pointed.emit(number)
            return
        selection = self._element_at(position)
        if selection is not None:
            desk.select(selection)
            return
        measure_index = self._measure_at(position)
        if measure_index is None:
            desk.select(None)
        else:
            desk.select_measures(measure_index, measure_index)

    def _drag_to(self, position: QPointF) -> None:
        if self._from is None:
            return
        forward = self._place_at(position, is_end=True)
        if forward is None:
            return
        start, end = self._from, forward
        if end.moment <= start.moment:
            backward = self._place_at(position, is_end=False)
            assert self._pressed is not None
            origin = self._place_at(self._pressed, is_end=True)
            if backward is None or origin is None:
                return
            start, end = backward, origin
        if end.moment > start.moment:
            begin = Place(measure_index=start.measure_index, offset_quarters=start.offset_quarters)
            passage = Passage(start=begin, end=end)
            self._view.desk.select(Selection(kind=AnchorKind.PASSAGE, passage=passage))

    def _hover(self, position: QPointF) -> None:
        over = self._gloss_at(position) is not None or self._element_at(position) is not None
        shape = Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor
        self._view.viewport().setCursor(shape)
        self._view.marking.darken_remark(self._gloss_at(position))

    # ------------------------------------------------------------------ under the pointer

    def _gloss_at(self, position: QPointF) -> int | None:
        found = self._view.page_point(position)
        return found[0].gloss_at(found[1], found[2]) if found else None

    def _element_at(self, position: QPointF) -> Selection | None:
        found = self._view.page_point(position)
        geometry = self._view.geometry_of(found[0].number) if found else None
        walker = self._view.walker
        if found is None or geometry is None or walker is None:
            return None
        scale = UNITS_PER_SPACE / self._view.staff_space
        element = geometry.element_at(found[1] * scale, found[2] * scale)
        return walker.index.selection_of(element.id) if element else None

    def _measure_at(self, position: QPointF) -> int | None:
        found = self._view.page_point(position)
        geometry = self._view.geometry_of(found[0].number) if found else None
        if found is None or geometry is None:
            return None
        scale = UNITS_PER_SPACE / self._view.staff_space
        return geometry.measure_at(found[1] * scale, found[2] * scale)

    def _place_at(self, position: QPointF, *, is_end: bool) -> Place | None:
        found = self._view.page_point(position)
        geometry = self._view.geometry_of(found[0].number) if found else None
        if found is None or geometry is None:
            return None
        scale = UNITS_PER_SPACE / self._view.staff_space
        return geometry.place_at(found[1] * scale, found[2] * scale, is_end=is_end)

    # ------------------------------------------------------------------ keys

    def key(self, event: QKeyEvent) -> bool:
        """Whether the key meant something here."""
        if self._walk(event):
            return True
        desk = self._view.desk
        if event.key() == Qt.Key.Key_Escape and desk.selection is not None:
            desk.select(None)
            return True
        text = typed_text(event)
        if desk.piece is not None and text:
            desk.typing_begun.emit(text)
            return True
        return False

    def _walk(self, event: QKeyEvent) -> bool:
        walker, desk = self._view.walker, self._view.desk
        if walker is None:
            return False
        control = bool(event.modifiers() & _CONTROL)
        shift = bool(event.modifiers() & _SHIFT)
        now, key = desk.selection, event.key()
        sideways = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}.get(Qt.Key(key))
        upright = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(key))
        edge = {Qt.Key.Key_Home: -1, Qt.Key.Key_End: 1}.get(Qt.Key(key))
        if sideways is not None and shift:
            found = walker.stretch(now, sideways, by_measure=control)
        elif sideways is not None:
            step = walker.by_measure if control else walker.sideways
            found = step(now, sideways)
        elif upright is not None and not shift and not control:
            found = walker.upright(now, upright)
        elif edge is not None:
            found = walker.edge(edge)
        else:
            return False
        if found is not None:
            desk.select(found)
        return True
