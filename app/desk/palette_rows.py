"""The rows of do… as a list, and how each kind of row is drawn."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.desk.palette_search import Kind, Row
from app.theme import Theme

ROW_HEIGHT, MARGIN = 36, 12
TEXT_LEFT, NAME_WIDTH, KEYS_WIDTH = 76, 84, 112
ROW_ROLE = Qt.ItemDataRole.UserRole
Index = QModelIndex | QPersistentModelIndex
NOWHERE = QModelIndex()


class PaletteRows(QAbstractListModel):
    """What was found."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.rows: tuple[Row, ...] = ()

    def show(self, rows: tuple[Row, ...]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not 0 <= index.row() < len(self.rows):
            return None
        row = self.rows[index.row()]
        if role == ROW_ROLE:
            return row
        if role == Qt.ItemDataRole.DisplayRole:
            return row.text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return ", ".join(filter(None, (row.text, row.beside, row.name, row.keys, row.reason)))
        return None


class PaletteDelegate(QStyledItemDelegate):
    """Each hand in its own type: acts sans, pieces serif, printed italic, remarks in ink."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(0, ROW_HEIGHT)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, row = self._theme, index.data(ROW_ROLE)
        rect = QRect(option.rect)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(rect.left(), rect.bottom(), rect.width(), 1, theme.color("hairline2"))
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, theme.color("here"))
            painter.fillRect(QRect(rect.left(), rect.top(), 2, rect.height()), theme.color("print"))
        if row.kind is Kind.REMARK:
            painter.fillRect(QRect(MARGIN, rect.top() + 10, 2, 16), theme.color("ink"))
        is_place = row.kind is Kind.PLACE
        name_left = rect.right() - KEYS_WIDTH - NAME_WIDTH
        text_box = QRect(rect)
        text_box.setLeft(MARGIN if is_place else TEXT_LEFT)
        text_box.setRight(name_left - MARGIN)
        used = self._draw_text(painter, text_box, row)
        text_box.setLeft(max(used + 12, TEXT_LEFT))
        self._draw_beside(painter, text_box, row)
        self._draw_right(painter, QRect(name_left, rect.top(), NAME_WIDTH, rect.height()), row)
        self._draw_keys(painter, rect, row)
        painter.restore()

    def _draw_text(self, painter: QPainter, box: QRect, row: Row) -> int:
        """Draw the row's own words, underline what matched; where they end."""
        font, color = self._hand(row)
        metrics = QFontMetrics(font)
        shown = metrics.elidedText(row.text, Qt.TextElideMode.ElideRight, box.width())
        painter.setFont(font)
        painter.setPen(color)
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, shown)
        baseline = box.center().y() + metrics.ascent() // 2 + 2
        for start, end in row.matched:
            if end <= len(shown):
                left = box.left() + metrics.horizontalAdvance(shown[:start])
                width = metrics.horizontalAdvance(shown[start:end])
                painter.fillRect(QRectF(left, baseline + 1, width, 1.5), color)
        return box.left() + metrics.horizontalAdvance(shown)

    def _draw_beside(self, painter: QPainter, box: QRect, row: Row) -> None:
        beside = row.reason or (
            ""
            if row.kind is Kind.DO and row.target != "" and not isinstance(row.target, tuple)
            else row.beside
        )
        if not beside or box.width() < 40:
            return
        is_printed = row.kind is Kind.PLACE
        font = self._theme.serif(15, italic=True) if is_printed else self._theme.sans(13)
        painter.setFont(font)
        painter.setPen(self._theme.color("quiet"))
        shown = QFontMetrics(font).elidedText(beside, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, shown)

    def _draw_right(self, painter: QPainter, box: QRect, row: Row) -> None:
        painter.setFont(self._theme.sans(11))
        painter.setPen(self._theme.color("quiet"))
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, row.name)

    def _draw_keys(self, painter: QPainter, rect: QRect, row: Row) -> None:
        if not row.keys:
            return
        keys = row.keys.replace("+", " ").replace("  ", " +")
        painter.setFont(self._theme.sans(11))
        width = painter.fontMetrics().horizontalAdvance(keys) + 10
        box = QRectF(rect.right() - MARGIN - width + 0.5, rect.top() + 9.5, width, 17)
        painter.setPen(QPen(self._theme.color("hairline"), 1))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(self._theme.color("quiet"))
        painter.setOpacity(0.5 if row.reason else 1)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, keys)
        painter.setOpacity(1)

    def _hand(self, row: Row) -> tuple[QFont, QColor]:
        theme = self._theme
        match row.kind:
            case Kind.REMARK:
                return theme.serif(17), theme.color("ink")
            case Kind.PRINTED:
                return theme.serif(17, italic=True), theme.color("print")
            case Kind.PIECE:
                return theme.serif(17), theme.color("print")
            case _:
                color = theme.color("quiet" if row.reason else "print")
                return theme.sans(13, 400 if row.reason else 500), color
