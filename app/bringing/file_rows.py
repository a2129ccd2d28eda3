"""The rows of one table of brought-in files, as Qt's models."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
)

from app.bringing.batch import Batch
from app.bringing.brought_files import BroughtFile
from app.bringing.file_columns import TRY_AGAIN, Column, TableSpec

Index = QModelIndex | QPersistentModelIndex
FILE_ROLE = Qt.ItemDataRole.UserRole
KEY_ROLE = Qt.ItemDataRole.UserRole + 1
NOWHERE = QModelIndex()


class FileRows(QAbstractTableModel):
    """The files of a batch that stand in a table's states, in the order of the batch."""

    def __init__(self, batch: Batch, spec: TableSpec, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._batch, self._spec = batch, spec
        self._indices: list[int] = []
        batch.begun.connect(self._take_all)
        batch.file_changed.connect(self._take)
        self._take_all()

    @property
    def files(self) -> list[BroughtFile]:
        """The files that are listed."""
        return [self._batch.files[index] for index in self._indices]

    def file(self, row: int) -> BroughtFile:
        """The file of a row."""
        return self._batch.files[self._indices[row]]

    def whole_text(self, row: int) -> str:
        """All that a row has to say, one cell a line."""
        file = self.file(row)
        return "\n".join(column.whole_text(file) for column in self._spec.columns)

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._indices)

    def columnCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._spec.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        file, column = self.file(index.row()), self._spec.columns[index.column()]
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return column.text(file)
            case Qt.ItemDataRole.ToolTipRole:
                return column.whole_text(file)
            case Qt.ItemDataRole.AccessibleTextRole:
                return _spoken(column, file)
            case _ if role == FILE_ROLE:
                return file
            case _ if role == KEY_ROLE:
                text = column.text(file).casefold()
                return text if column.key is None else column.key(file)
        return None

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> object:
        if orientation is not Qt.Orientation.Horizontal:
            return None
        column = self._spec.columns[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.title
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if column.is_number else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignVCenter
        return None

    def _take_all(self) -> None:
        self.beginResetModel()
        self._indices = [file.index for file in self._batch.files if self._belongs(file)]
        self.endResetModel()

    def _take(self, file_index: int) -> None:
        """A file stands otherwise now: perhaps it belongs here, or no more."""
        row = bisect_left(self._indices, file_index)
        is_listed = self._indices[row : row + 1] == [file_index]
        belongs = self._belongs(self._batch.files[file_index])
        if belongs and is_listed:
            self.dataChanged.emit(self.index(row, 0), self.index(row, self.columnCount() - 1))
        elif belongs:
            self.beginInsertRows(NOWHERE, row, row)
            self._indices.insert(row, file_index)
            self.endInsertRows()
        elif is_listed:
            self.beginRemoveRows(NOWHERE, row, row)
            del self._indices[row]
            self.endRemoveRows()

    def _belongs(self, file: BroughtFile) -> bool:
        return file.state in self._spec.states


class FoundRows(QSortFilterProxyModel):
    """The rows with all words that are looked for, in the order that was chosen."""

    def __init__(self, rows: FileRows, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows = rows
        self._words: tuple[str, ...] = ()
        self.setSourceModel(rows)
        self.setSortRole(KEY_ROLE)

    def find(self, text: str) -> None:
        """Show only rows that hold all of these words."""
        self.beginFilterChange()
        self._words = tuple(text.casefold().split())
        self.endFilterChange(QSortFilterProxyModel.Direction.Rows)

    def files(self, rows: Iterable[int]) -> list[BroughtFile]:
        """The files of these rows, as they are shown."""
        return [self.index(row, 0).data(FILE_ROLE) for row in rows]

    def filterAcceptsRow(self, source_row: int, source_parent: Index) -> bool:
        if not self._words:
            return True
        text = self._rows.whole_text(source_row).casefold()
        return all(word in text for word in self._words)


def _spoken(column: Column, file: BroughtFile) -> str:
    text = column.whole_text(file)
    if text == TRY_AGAIN:
        return f"{TRY_AGAIN}: {file.name}"
    return f"{column.title}: {text}" if text else f"no {column.title}"
