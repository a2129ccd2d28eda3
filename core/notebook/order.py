"""In which order things are listed: one rule for every store."""

from __future__ import annotations

from collections.abc import Iterable

from core.notebook.values import Piece


def shelf_order(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """The piece opened last first, those never opened after them by title.

    Sorted here and not by a database: PostgreSQL and SQLite order letters differently.
    """
    listed = tuple(pieces)
    opened = [piece for piece in listed if piece.opened_at is not None]
    waiting = [piece for piece in listed if piece.opened_at is None]
    opened.sort(key=lambda piece: (piece.opened_at, piece.id), reverse=True)
    waiting.sort(key=lambda piece: (piece.title.casefold(), piece.id))
    return tuple(opened + waiting)
