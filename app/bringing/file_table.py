"""One table of brought-in files: as high as its rows, sorted by its head."""

from __future__ import annotations

from PySide6.QtCore import QItemSelectionModel, QRect, Qt, QTimer, Signal
from PySide6.QtGui import (
    QAction,
    QFocusEvent,
    QFontMetrics,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainter,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QMenu,
    QTableView,
)

from app.bringing.batch import Batch
from app.bringing.brought_files import BroughtFile
from app.bringing.file_columns import TableSpec
from app.bringing.file_delegate import CELL_MARGIN, ROW_HEIGHT, FileDelegate, wrapped
from app.bringing.file_rows import FileRows, FoundRows, Index
from app.desk.typed_text import typed_text
from app.theme import Theme

LINE_GAP = 12
HEADER_HEIGHT = 28
RULE_WIDTH = 2
FIT_MS = 30


class FileTable(QTableView):
    """The files in certain states."""

    chosen = Signal(object)
    """A file's row was clicked, or Enter pressed on it."""
    acted = Signal(object)
    """What can be done with a file was chosen."""
    typed = Signal(str)
    escaped = Signal()
    row_shown = Signal(object, int, int)
    """The current row is to be in sight: this table, and where in it the row lies."""
    fitted = Signal()
    """It has another height, or other rows."""

    def __init__(self, batch: Batch, spec: TableSpec, theme: Theme) -> None:
        super().__init__()
        self.spec, self._theme = spec, theme
        self.rows = FileRows(batch, spec, self)
        self.found = FoundRows(self.rows, self)
        self._heights: dict[tuple[str, int], int] = {}
        self._fit_timer = QTimer(self)
        self._fit_timer.setSingleShot(True)
        self._fit_timer.setInterval(FIT_MS)
        self.setModel(self.found)
        self.setItemDelegate(FileDelegate(spec, theme, self))
        self.setAccessibleName(spec.title)
        self.setObjectName("fileTable")
        self._set_up()
        self._fit_timer.timeout.connect(self._settle)
        self.found.rowsInserted.connect(lambda _parent, first, last: self._fit_rows(first, last))
        self.found.dataChanged.connect(
            lambda first, last, _roles: self._fit_rows(first.row(), last.row())
        )
        self.found.rowsRemoved.connect(lambda *_: self._fit_timer.start())
        for signal in (self.found.modelReset, self.found.layoutChanged):
            signal.connect(self.fit)
        self.clicked.connect(self._on_clicked)
        theme.changed.connect(self._take_theme)
        self._take_theme()

    def files(self) -> list[BroughtFile]:
        """The files that are shown, in the order in which they are."""
        return self.found.files(range(self.found.rowCount()))

    def selected(self) -> list[BroughtFile]:
        """The files of the rows that are selected, or of the current one."""
        rows = sorted({index.row() for index in self.selectionModel().selectedIndexes()})
        if not rows and self.currentIndex().isValid():
            rows = [self.currentIndex().row()]
        return self.found.files(rows)

    def fit(self) -> None:
        """Give columns, rows and the table itself the room that they need."""
        self._fit_columns()
        self._fit_rows(0, self.found.rowCount() - 1)
        self._settle()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.fit()

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        # The whole row is drawn as current.
        self.viewport().update()
        if current.isValid() and self.hasFocus():
            top = HEADER_HEIGHT + self.rowViewportPosition(current.row())
            self.row_shown.emit(self, top, top + self.rowHeight(current.row()))

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if not self.currentIndex().isValid() and self.found.rowCount():
            first = self.found.index(0, 0)
            nothing = QItemSelectionModel.SelectionFlag.NoUpdate
            self.selectionModel().setCurrentIndex(first, nothing)
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.clearSelection()
        self.viewport().update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._do_with(self.currentIndex())
        elif key == Qt.Key.Key_Escape:
            self.escaped.emit()
        elif event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
        elif key == Qt.Key.Key_Menu or (key == Qt.Key.Key_F10 and event.modifiers() & _SHIFT):
            self._open_menu()
        elif text := typed_text(event):
            self.typed.emit(text)
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        super().mousePressEvent(event)
        if event.button() == Qt.MouseButton.RightButton:
            self._open_menu()

    def paintEvent(self, event: object) -> None:
        super().paintEvent(event)  # type: ignore[arg-type]
        if self.spec.rule:
            painter = QPainter(self.viewport())
            color = self._theme.page_color(self.spec.rule)
            painter.fillRect(0, 0, RULE_WIDTH, self.viewport().height(), color)

    def copy(self) -> None:
        """Put the selected rows on the clipboard, their cells divided by tabs."""
        columns = [column for column in self.spec.columns if not column.is_link]
        lines = [
            "\t".join(column.whole_text(file) for column in columns) for file in self.selected()
        ]
        QGuiApplication.clipboard().setText("\n".join(lines))

    def sort_by(self, column: int) -> None:
        """Sort by a column; once more, the other way round."""
        header = self.horizontalHeader()
        is_again = header.sortIndicatorSection() == column
        was_up = header.sortIndicatorOrder() is Qt.SortOrder.AscendingOrder
        order = Qt.SortOrder.DescendingOrder if is_again and was_up else Qt.SortOrder.AscendingOrder
        self.sortByColumn(column, order)

    def _set_up(self) -> None:
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        self.setMouseTracking(True)
        self.setWordWrap(True)
        rows, header = self.verticalHeader(), self.horizontalHeader()
        rows.hide()
        rows.setMinimumSectionSize(ROW_HEIGHT)
        rows.setDefaultSectionSize(ROW_HEIGHT)
        header.setFixedHeight(HEADER_HEIGHT)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionsClickable(True)
        header.setHighlightSections(False)
        header.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.setSortingEnabled(True)
        self.found.sort(-1)

    def _take_theme(self) -> None:
        self.setFont(self._theme.sans(13))
        self.horizontalHeader().setFont(self._theme.sans(11))
        self._heights.clear()
        self.fit()
        self.viewport().update()

    def _fit_columns(self) -> None:
        columns = self.spec.columns
        room = self.viewport().width() - sum(column.width for column in columns)
        for number, column in enumerate(columns):
            width = column.width or int(room * column.share)
            if self.columnWidth(number) != width:
                self.setColumnWidth(number, width)

    def _fit_rows(self, first: int, last: int) -> None:
        """Only those that came or changed: a folder may hold thousands."""
        for row in range(first, last + 1):
            needed = self._row_height(row)
            if self.rowHeight(row) != needed:
                self.setRowHeight(row, needed)
        self._fit_timer.start()

    def _settle(self) -> None:
        """As high as the rows are together."""
        self._fit_timer.stop()
        height = HEADER_HEIGHT + self.verticalHeader().length()
        if self.height() != height:
            self.setFixedHeight(height)
        self.fitted.emit()

    def _row_height(self, row: int) -> int:
        needed = ROW_HEIGHT
        for number, column in enumerate(self.spec.columns):
            if column.wraps:
                text = str(self.found.index(row, number).data())
                width = self.columnWidth(number) - 2 * CELL_MARGIN
                needed = max(needed, self._text_height(text, width) + LINE_GAP)
        return needed

    def _text_height(self, text: str, width: int) -> int:
        if not text:
            return 0
        key = text, width
        if key not in self._heights:
            room, metrics = QRect(0, 0, max(width, 1), 10_000), QFontMetrics(self.font())
            box = metrics.boundingRect(room, wrapped(metrics, text, room.width()), text)
            self._heights[key] = box.height()
        return self._heights[key]

    def _on_clicked(self, index: Index) -> None:
        # With Shift or Ctrl rows are selected, to be copied.
        if not QGuiApplication.keyboardModifiers():
            if self.spec.columns[index.column()].is_link:
                self.acted.emit(self.found.files([index.row()])[0])
            elif not any(column.is_link for column in self.spec.columns):
                self.chosen.emit(self.found.files([index.row()])[0])

    def _do_with(self, index: Index) -> None:
        if index.isValid():
            file = self.found.files([index.row()])[0]
            has_link = any(column.is_link for column in self.spec.columns)
            (self.acted if has_link else self.chosen).emit(file)

    def _open_menu(self) -> None:
        """What the pointer does to the head, and more, for the keyboard."""
        menu = QMenu(self)
        menu.setFont(self._theme.sans(13))
        copy = QAction("Copy", menu)
        copy.triggered.connect(self.copy)
        menu.addAction(copy)
        menu.addSeparator()
        for number, column in enumerate(self.spec.columns):
            if column.title:
                sort = QAction(f"Sort by {column.title}", menu)
                sort.triggered.connect(lambda _checked=False, at=number: self.sort_by(at))
                menu.addAction(sort)
        box = self.visualRect(self.currentIndex())
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(self.viewport().mapToGlobal(box.bottomLeft()))


_SHIFT = Qt.KeyboardModifier.ShiftModifier
