"""Every test here runs on each store."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from core.notebook.ports import NotebookStore
from core.notebook.values import Piece
from tests.contracts.stores import store

__all__ = ["store"]


@pytest.fixture
def piece_id(store: NotebookStore) -> int:
    """A piece in the store, without an edition."""
    created_at = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
    with store.unit_of_work() as work:
        piece = work.pieces.add(Piece(title="Barcarolle", composer="", created_at=created_at))
        work.commit()
    return piece.id
