"""One small square a file: where it stands, told by its shape and by its colour."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import ceil

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QHelpEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.bringing.batch import Batch
from app.bringing.brought_files import BroughtFile, FileState
from app.theme import Theme

SIZES = ((16, 5), (12, 4), (8, 3), (5, 2), (3, 1))
"""Side of a square and the gap to the next: the largest that fits is taken."""
MOST_HEIGHT = 96


class Squares(QWidget):
    """The files of a batch, in their order."""

    def __init__(self, batch: Batch, theme: Theme) -> None:
        super().__init__()
        self._batch, self._theme = batch, theme
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        batch.begun.connect(self._fit)
        batch.file_changed.connect(self._on_file_changed)
        batch.ended.connect(self.update)
        theme.changed.connect(self.update)
        self._fit()

    def box(self, index: int) -> QRectF:
        """Where a file's square lies."""
        side, gap, across = self._grid
        row, column = divmod(index, across)
        return QRectF(column * (side + gap), row * (side + gap), side, side)

    def sizeHint(self) -> QSize:
        return QSize(200, self._height)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            file = self._file_at(QPointF(event.pos()))
            text = f"{file.name}: {file.state}" if file is not None else ""
            QToolTip.showText(event.globalPos(), text, self)
            return True
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side, gap, across = self._grid
        first, last = (y // (side + gap) for y in (event.rect().top(), event.rect().bottom()))
        seen = QRectF(event.rect())
        for file in self._batch.files[first * across : (last + 1) * across]:
            box = self.box(file.index)
            if box.intersects(seen):
                _DRAWN[file.state](painter, box, self._theme)

    def _file_at(self, point: QPointF) -> BroughtFile | None:
        side, gap, across = self._grid
        column, row = int(point.x() // (side + gap)), int(point.y() // (side + gap))
        index = row * across + column
        if column >= across or not 0 <= index < len(self._batch.files):
            return None
        return self._batch.files[index]

    def _on_file_changed(self, index: int) -> None:
        self.update(self.box(index).adjusted(-3, -3, 3, 3).toAlignedRect())

    def _fit(self) -> None:
        number, width = max(1, len(self._batch.files)), max(self.width(), 60)
        for side, gap in SIZES:
            across = max(1, (width + gap) // (side + gap))
            height = ceil(number / across) * (side + gap) - gap
            if height <= MOST_HEIGHT:
                break
        self._grid, self._height = (side, gap, across), height
        self.setFixedHeight(height)
        self.update()


def _box(painter: QPainter, box: QRectF, edge: QColor, *, width: float = 1.5) -> QRectF:
    inner = box.adjusted(width / 2, width / 2, -width / 2, -width / 2)
    painter.setPen(QPen(edge, width))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(inner, 1.5, 1.5)
    return inner


def _draw_waiting(painter: QPainter, box: QRectF, theme: Theme) -> None:
    _box(painter, box, theme.color("hairline"))


def _draw_reading(painter: QPainter, box: QRectF, theme: Theme) -> None:
    painter.fillRect(box, theme.color("graphite_wash"))
    pen = QPen(theme.color("print"), 1.5)
    pen.setDashPattern([1.5, 1.5])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box.adjusted(1, 1, -1, -1))


def _draw_read(painter: QPainter, box: QRectF, theme: Theme) -> None:
    color = theme.color("graphite")
    color.setAlphaF(0.6)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color)
    painter.drawRoundedRect(box, 1.5, 1.5)


def _draw_bad(painter: QPainter, box: QRectF, theme: Theme) -> None:
    color = theme.color("contrary")
    inner = _box(painter, box, color)
    painter.setPen(QPen(color, max(1.0, box.width() / 9)))
    cross = inner.adjusted(*(box.width() / 4 * side for side in (1, 1, -1, -1)))
    painter.drawLine(cross.topLeft(), cross.bottomRight())
    painter.drawLine(cross.topRight(), cross.bottomLeft())


def _draw_here(painter: QPainter, box: QRectF, theme: Theme) -> None:
    color = theme.color("graphite")
    _box(painter, box, color)
    painter.setPen(QPen(color, max(1.0, box.width() / 10)))
    left, right, middle = (
        box.left() + box.width() * 0.3,
        box.right() - box.width() * 0.3,
        box.center().y(),
    )
    for y in (middle - box.height() * 0.12, middle + box.height() * 0.12):
        painter.drawLine(QPointF(left, y), QPointF(right, y))


def _draw_asking(painter: QPainter, box: QRectF, theme: Theme) -> None:
    color = theme.color("graphite")
    inner = _box(painter, box, color)
    painter.fillRect(inner.adjusted(0, inner.height() / 2, 0, 0), color)


def _draw_left(painter: QPainter, box: QRectF, theme: Theme) -> None:
    color = theme.color("quiet")
    _box(painter, box, theme.color("hairline"))
    painter.setPen(QPen(color, max(1.0, box.width() / 10)))
    middle = box.center().y()
    painter.drawLine(
        QPointF(box.left() + box.width() * 0.3, middle),
        QPointF(box.right() - box.width() * 0.3, middle),
    )


_DRAWN: Mapping[FileState, Callable[[QPainter, QRectF, Theme], None]] = {
    FileState.WAITING: _draw_waiting,
    FileState.READING: _draw_reading,
    FileState.READ: _draw_read,
    FileState.BAD: _draw_bad,
    FileState.HERE: _draw_here,
    FileState.ASKS: _draw_asking,
    FileState.LEFT: _draw_left,
}
