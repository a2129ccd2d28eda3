"""Where in the score a view stands, along the way it is read: down the pages, or along the line."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QAbstractSlider, QApplication, QFrame, QGraphicsView, QScrollBar

from app.score.page_item import PageItem
from app.score.page_stack import PageStack

GAP = 16
"""Logical pixels between two pages, and round them."""
_WHEEL_STEP = 120
"""Eighths of a degree: one notch of a wheel."""
_STEP_PIXELS = 40
"""Logical pixels a wheel's line along a long line."""
_STEPS = {
    Qt.Key.Key_PageDown: QAbstractSlider.SliderAction.SliderPageStepAdd,
    Qt.Key.Key_PageUp: QAbstractSlider.SliderAction.SliderPageStepSub,
}


def prepare(view: QGraphicsView) -> None:
    """A view that stands where it is put, and keeps no room for a frame."""
    view.setFrameShape(QFrame.Shape.NoFrame)
    view.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    view.setDragMode(QGraphicsView.DragMode.NoDrag)
    view.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.SmartViewportUpdate)
    view.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
    view.setResizeAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
    view.viewport().setMouseTracking(True)


class Scrolling:
    """Scrolls one view down its pages or along its line."""

    def __init__(self, view: QGraphicsView, pages: PageStack) -> None:
        self._view, self._pages = view, pages

    @property
    def bar(self) -> QScrollBar:
        """The scroll bar of the way it is read."""
        is_line = self._pages.is_line
        return self._view.horizontalScrollBar() if is_line else self._view.verticalScrollBar()

    def align(self) -> None:
        """Pages hang from the top; a line lies in the middle of the height."""
        align = Qt.AlignmentFlag
        line, pages = align.AlignLeft | align.AlignVCenter, align.AlignHCenter | align.AlignTop
        self._view.setAlignment(line if self._pages.is_line else pages)
        step = _STEP_PIXELS if self._pages.is_line else 1
        self._view.horizontalScrollBar().setSingleStep(max(1, step))

    def hold(self) -> tuple[PageItem, float] | None:
        """The page where the view begins, and how far along it, as a share of its length."""
        seen = self._view.mapToScene(self._view.viewport().rect()).boundingRect()
        item = self._pages.at(seen.topLeft())
        if item is None:
            return None
        own = self._pages.own_rect(item)
        at, begin = (seen.left(), own.left()) if self._pages.is_line else (seen.top(), own.top())
        length = own.width() if self._pages.is_line else own.height()
        return (item, (at - begin) / length) if length > 1 else None

    def restore(self, held: tuple[PageItem, float] | None) -> None:
        """Stand again where ``hold`` found the view, at whatever zoom it is now."""
        if held is None:
            return
        own, share = self._pages.own_rect(held[0]), held[1]
        if self._pages.is_line:
            self._scroll_to(own.left() + share * own.width())
        else:
            self._scroll_to(own.top() + share * own.height())

    def to_page(self, number: int) -> None:
        """Stand where a page begins."""
        own = self._pages.own_rect(self._pages.items[number - 1])
        gap = GAP * self._view.devicePixelRatioF()
        self._scroll_to((own.left() if self._pages.is_line else own.top()) - gap)

    def to_start(self) -> None:
        """Stand at the beginning."""
        self.bar.setValue(self.bar.minimum())

    def measure_in_view(self, seen: QRectF) -> int | None:
        """Index of the first measure that can be seen; None where that isn't known."""
        for item in self._pages.in_sight(seen):
            geometry = self._pages.geometry_of(item.number)
            if geometry is not None and geometry.measure_range is not None:
                corner = seen.topLeft() - item.pos()
                x, y = (corner.x(), 0.0) if self._pages.is_line else (0.0, corner.y())
                scale = item.units_a_pixel
                return geometry.first_measure_beyond(x * scale, y * scale)
        return None

    def wheel(self, event: QWheelEvent) -> bool:
        """Go along the line by a wheel that turns up and down; whether it did."""
        turned = event.angleDelta()
        if not self._pages.is_line or abs(turned.x()) > abs(turned.y()):
            return False
        smooth = event.pixelDelta().y()
        lines = QApplication.wheelScrollLines()
        step = smooth or round(turned.y() / _WHEEL_STEP * lines * _STEP_PIXELS)
        self.bar.setValue(self.bar.value() - step)
        event.accept()
        return True

    def key(self, event: QKeyEvent) -> bool:
        """Go along the line by a windowful; whether the key meant that."""
        action = _STEPS.get(Qt.Key(event.key()))
        if action is None or not self._pages.is_line:
            return False
        self.bar.triggerAction(action)
        return True

    def _scroll_to(self, at: float) -> None:
        """A length of the scene, in device pixels."""
        self.bar.setValue(round(at / self._view.devicePixelRatioF()))
