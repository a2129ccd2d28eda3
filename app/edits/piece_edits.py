"""Edits of pieces on the shelf."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.edits.edit import Edit
from core.notebook import pieces as notebook
from core.notebook.values import Piece

if TYPE_CHECKING:
    from app.desk.desk_model import DeskModel


class RenamePiece(Edit):
    """Another title for a piece."""

    def __init__(self, desk: DeskModel, piece: Piece, title: str) -> None:
        super().__init__(desk, f"renaming {piece.title}")
        self._piece_id, self._before, self._after = piece.id, piece.title, title

    def do(self) -> None:
        notebook.rename_piece(self.desk.store, self._piece_id, self._after)
        self.desk.reload_pieces()

    def take_back(self) -> None:
        notebook.rename_piece(self.desk.store, self._piece_id, self._before)
        self.desk.reload_pieces()


class RemovePiece(Edit):
    """Take a piece off the shelf, with all that was written about it."""

    def __init__(self, desk: DeskModel, piece: Piece) -> None:
        super().__init__(desk, f"removing {piece.title}")
        self._piece_id = piece.id
        self._was_open = desk.piece is not None and desk.piece.id == piece.id
        self._removed: notebook.RemovedPiece | None = None

    def do(self) -> None:
        self._removed = notebook.remove_piece(self.desk.store, self._piece_id)
        self.desk.reload_pieces()

    def take_back(self) -> None:
        if self._removed is None:
            return
        notebook.restore_piece(self.desk.store, self._removed)
        self.desk.reload_pieces()
        if self._was_open:
            self.desk.open_piece(self._piece_id)
