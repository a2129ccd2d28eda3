"""The pieces as a list for the shelf, filtered by what was typed."""

from __future__ import annotations

from datetime import date
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, Qt

from app.desk.desk_model import DeskModel
from app.edits.piece_edits import RenamePiece
from app.margin.dates import day_name
from core.notebook.values import Piece

PIECE_ROLE = Qt.ItemDataRole.UserRole
DAY_ROLE = Qt.ItemDataRole.UserRole + 1
Index = QModelIndex | QPersistentModelIndex
NOWHERE = QModelIndex()


class ShelfModel(QAbstractListModel):
    """Pieces whose title or composer holds every word of the filter."""

    def __init__(self, desk: DeskModel) -> None:
        super().__init__(desk)
        self._desk = desk
        self._filter = ""
        self._pieces: tuple[Piece, ...] = ()
        desk.pieces_changed.connect(self._read_again)
        self._read_again()

    def set_filter(self, text: str) -> None:
        """Show only what holds these words."""
        self._filter = text
        self._read_again()

    def row_of(self, piece_id: int) -> int:
        """The piece's row; -1 where it is not shown."""
        return next((row for row, p in enumerate(self._pieces) if p.id == piece_id), -1)

    def rowCount(self, parent: Index = NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._pieces)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not 0 <= index.row() < len(self._pieces):
            return None
        piece = self._pieces[index.row()]
        match role:
            case Qt.ItemDataRole.DisplayRole | Qt.ItemDataRole.EditRole:
                return piece.title
            case Qt.ItemDataRole.ToolTipRole:
                return "\n".join(filter(None, (piece.title, piece.composer)))
            case Qt.ItemDataRole.AccessibleTextRole:
                return ", ".join(filter(None, (piece.title, piece.composer, _day(piece))))
            case _ if role == PIECE_ROLE:
                return piece
            case _ if role == DAY_ROLE:
                return _day(piece)
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        piece = self.data(index, PIECE_ROLE)
        if piece is None or value == piece.title:
            return False
        return RenamePiece(self._desk, piece, str(value)).push()

    def flags(self, index: Index) -> Qt.ItemFlag:
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags if self._desk.is_read_only else flags | Qt.ItemFlag.ItemIsEditable

    def _read_again(self) -> None:
        words = self._filter.casefold().split()
        self.beginResetModel()
        self._pieces = tuple(
            piece
            for piece in self._desk.pieces
            if all(word in f"{piece.title} {piece.composer}".casefold() for word in words)
        )
        self.endResetModel()


def _day(piece: Piece) -> str:
    return day_name(piece.opened_at, date.today()) if piece.opened_at else ""
