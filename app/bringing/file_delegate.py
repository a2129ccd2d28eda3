"""Paints the cells of a table of brought-in files.

A page has hundreds, and files come in by the dozen a second: what can be made once is made once.
"""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QTableView

from app.bringing.file_columns import Column, TableSpec
from app.bringing.file_rows import Index
from app.theme import Theme

ROW_HEIGHT, CELL_MARGIN = 32, 8
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_SELECTED = QStyle.StateFlag.State_Selected.value
"""Flags are slow in Python, their numbers are not."""


def wrapped(metrics: QFontMetrics, text: str, width: int) -> Qt.AlignmentFlag | Qt.TextFlag:
    """How a text is laid out in a column: by words, and a word that is too long anywhere."""
    longest = max(text.split(), key=len, default="")
    if metrics.horizontalAdvance(longest) > width:
        return _LEFT | Qt.TextFlag.TextWrapAnywhere
    return _LEFT | Qt.TextFlag.TextWordWrap


class FileDelegate(QStyledItemDelegate):
    """Paints as the column says, on the page's colours."""

    def __init__(self, spec: TableSpec, theme: Theme, table: QTableView) -> None:
        super().__init__(table)
        self._columns, self._theme, self._table = spec.columns, theme, table
        theme.changed.connect(self._take_theme)
        self._take_theme()

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(0, ROW_HEIGHT)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        box, number = QRect(option.rect), index.column()
        is_current = self._is_current(index)
        if is_current or option.state.value & _SELECTED:
            painter.fillRect(box, self._here)
        painter.fillRect(box.left(), box.bottom(), box.width(), 1, self._hairline)
        if is_current:
            self._draw_focus(painter, box, number)
        text = str(index.data())
        if text:
            painter.setFont(self._fonts[number])
            painter.setPen(self._colors[number])
            self._write(painter, box.adjusted(CELL_MARGIN, 0, -CELL_MARGIN, 0), number, text)

    def _is_current(self, index: Index) -> bool:
        table = self._table
        return table.hasFocus() and index.row() == table.currentIndex().row()

    def _draw_focus(self, painter: QPainter, box: QRect, number: int) -> None:
        """A rule above and below the current row, and at its ends."""
        painter.fillRect(box.left(), box.top(), box.width(), 1, self._focus)
        painter.fillRect(box.left(), box.bottom(), box.width(), 1, self._focus)
        if number == 0:
            painter.fillRect(box.left(), box.top(), 1, box.height(), self._focus)
        if number == len(self._columns) - 1:
            painter.fillRect(box.right(), box.top(), 1, box.height(), self._focus)

    def _write(self, painter: QPainter, box: QRect, number: int, text: str) -> None:
        column = self._columns[number]
        if column.wraps:
            painter.drawText(box, wrapped(self._metrics[number], text, box.width()), text)
            return
        key = number, box.width(), text
        shown = self._shown.get(key)
        if shown is None:
            metrics, elided = self._metrics[number], Qt.TextElideMode.ElideRight
            shown = self._shown[key] = metrics.elidedText(text, elided, box.width())
        painter.drawText(box, _RIGHT if column.is_number or column.is_link else _LEFT, shown)

    def _take_theme(self) -> None:
        color = self._theme.page_color
        self._fonts = [self._font(column) for column in self._columns]
        self._metrics = [QFontMetrics(font) for font in self._fonts]
        self._colors = [color(column.role) for column in self._columns]
        self._here, self._hairline, self._focus = map(color, ("here", "hairline", "graphite"))
        self._shown: dict[tuple[int, int, str], str] = {}

    def _font(self, column: Column) -> QFont:
        if column.is_title:
            return self._theme.serif(17)
        font = self._theme.sans(13)
        font.setUnderline(column.is_link)
        return font
