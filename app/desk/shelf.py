"""The shelf: the pieces of the notebook, found by typing."""

from __future__ import annotations

from PySide6.QtCore import (
    QAbstractItemModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLabel,
    QLineEdit,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from app.desk.desk_model import DeskModel
from app.desk.shelf_model import DAY_ROLE, PIECE_ROLE, ShelfModel
from app.desk.typed_text import typed_text
from app.edits.piece_edits import RemovePiece
from app.theme import Theme

WIDTH, ROW_HEIGHT, MARGIN = 192, 28, 12
Index = QModelIndex | QPersistentModelIndex


class Shelf(QFrame):
    """The panel at the left."""

    left = Signal()
    """Escape with no filter: back to the score."""

    def __init__(self, desk: DeskModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("shelf")
        self.setAccessibleName("Shelf")
        self._desk, self._theme = desk, theme
        self._title, self._filter, self._foot = QLabel("Pieces"), QLineEdit(), QLabel()
        self.model = ShelfModel(desk)
        self.list = PieceList(self.model)
        self.list.setItemDelegate(PieceDelegate(desk, theme, self.list))
        self._lay_out()
        self._filter.textChanged.connect(self._on_filter_changed)
        self._filter.returnPressed.connect(self.open_current)
        self._filter.installEventFilter(self.list)
        self.list.activated.connect(lambda _index: self.open_current())
        self.list.clicked.connect(lambda _index: self.open_current())
        self.list.typed.connect(self._on_typed)
        self.list.escaped.connect(self._on_escaped)
        self.list.removal_asked.connect(self.remove_current)
        desk.piece_opened.connect(self._show_current)
        desk.pieces_changed.connect(self._show_current)
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self._show_current()

    def say_at_the_foot(self, text: str) -> None:
        """A sentence at the bottom ("all pieces are invented")."""
        self._foot.setText(text)
        self._foot.setVisible(bool(text))

    def open_current(self) -> None:
        """Open the piece that stands chosen, the first one by default."""
        index = self.list.currentIndex()
        piece = self.model.data(index if index.isValid() else self.model.index(0), PIECE_ROLE)
        if piece is not None:
            self._filter.clear()
            self._desk.open_piece(piece.id)

    def rename_current(self) -> None:
        """Edit the title of the open piece in place."""
        self._show_current()
        self.list.edit(self.list.currentIndex())

    def remove_current(self) -> None:
        """Remove the piece that stands chosen; undo brings it back."""
        piece = self.model.data(self.list.currentIndex(), PIECE_ROLE)
        if piece is not None and not self._desk.is_read_only:
            RemovePiece(self._desk, piece).push()

    def _lay_out(self) -> None:
        self._title.setProperty("role", "quiet")
        self._foot.setProperty("role", "quiet")
        self._foot.setWordWrap(True)
        self._foot.hide()
        self._filter.hide()
        self._filter.setPlaceholderText("title or composer")
        self._filter.setAccessibleName("Filter the pieces")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, MARGIN, 0, MARGIN)
        column.setSpacing(4)
        for widget in (self._title, self._filter, self.list, self._foot):
            column.addWidget(widget, 1 if widget is self.list else 0)
        self._title.setContentsMargins(MARGIN, 0, MARGIN, 0)
        self._foot.setContentsMargins(MARGIN, 0, MARGIN, 0)

    def _take_theme(self) -> None:
        self._title.setFont(self._theme.sans(11, 500))
        self._filter.setFont(self._theme.sans(13))
        self._foot.setFont(self._theme.sans(11))
        self.list.setFont(self._theme.serif(15))
        self.list.viewport().update()

    def _show_current(self) -> None:
        row = self.model.row_of(self._desk.piece.id) if self._desk.piece else -1
        if row >= 0:
            self.list.setCurrentIndex(self.model.index(row))
        self.list.viewport().update()

    def _on_typed(self, text: str) -> None:
        self._filter.show()
        self._filter.setFocus()
        self._filter.insert(text)

    def _on_filter_changed(self, text: str) -> None:
        self.model.set_filter(text)
        if self.model.rowCount():
            self.list.setCurrentIndex(self.model.index(0))
        if not text:
            self._filter.hide()
            self.list.setFocus()
            self._show_current()

    def _on_escaped(self) -> None:
        if self._filter.text():
            self._filter.clear()
        else:
            self.left.emit()


class PieceList(QListView):
    """The list; letters go to the filter, Delete removes, F2 renames."""

    typed = Signal(str)
    escaped = Signal()
    removal_asked = Signal()

    def __init__(self, model: QAbstractItemModel) -> None:
        super().__init__()
        self.setModel(model)
        self.setObjectName("pieces")
        self.setAccessibleName("Pieces")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setMouseTracking(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.EditKeyPressed)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.activated.emit(self.currentIndex())
        elif key == Qt.Key.Key_Escape:
            self.escaped.emit()
        elif key == Qt.Key.Key_Delete:
            self.removal_asked.emit()
        elif text := typed_text(event):
            self.typed.emit(text)
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QWidget, event: QKeyEvent) -> bool:  # type: ignore[override]
        """Arrows and Escape in the filter move in the list."""
        if event.type() != QKeyEvent.Type.KeyPress:
            return False
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            super().keyPressEvent(event)
            return True
        if event.key() == Qt.Key.Key_Escape:
            self.escaped.emit()
            return True
        return False


class PieceDelegate(QStyledItemDelegate):
    """A row: the title in serif, the day it was opened last at the right."""

    def __init__(self, desk: DeskModel, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk, self._theme = desk, theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(WIDTH, ROW_HEIGHT)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, piece = self._theme, index.data(PIECE_ROLE)
        rect = QRect(option.rect)
        state = option.state
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        row = rect.adjusted(4, 0, -4, 0)
        is_open = self._desk.piece is not None and piece.id == self._desk.piece.id
        is_chosen = state & QStyle.StateFlag.State_HasFocus
        if is_open or is_chosen or state & QStyle.StateFlag.State_MouseOver:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.color("here"))
            painter.drawRoundedRect(row, 4, 4)
        if is_open:
            painter.fillRect(
                QRect(row.left(), row.top() + 2, 2, row.height() - 4), theme.color("print")
            )
        if is_chosen:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(theme.color("graphite"))
            painter.drawRoundedRect(row.adjusted(0, 0, -1, -1), 4, 4)
        self._write(painter, rect.adjusted(MARGIN, 0, -MARGIN, 0), index)
        painter.restore()

    def _write(self, painter: QPainter, line: QRect, index: Index) -> None:
        theme, day = self._theme, str(index.data(DAY_ROLE))
        painter.setFont(theme.sans(11))
        painter.setPen(theme.color("quiet"))
        day_width = painter.fontMetrics().horizontalAdvance(day)
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(line, middle | Qt.AlignmentFlag.AlignRight, day)
        line.setRight(line.right() - day_width - (8 if day else 0))
        painter.setFont(theme.serif(15))
        painter.setPen(theme.color("print"))
        title = painter.fontMetrics().elidedText(
            str(index.data()), Qt.TextElideMode.ElideRight, line.width()
        )
        painter.drawText(line, middle | Qt.AlignmentFlag.AlignLeft, title)

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        editor = QLineEdit(parent)
        editor.setFont(self._theme.serif(15))
        editor.setAccessibleName("Title of the piece")
        return editor
