"""A notebook to begin with."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.storage import open_store
from tests.core.storage.notebooks import add_piece


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a notebook with one piece is."""
    path = tmp_path / "notebook.postil"
    store = open_store(path)
    add_piece(store)
    store.close()
    return path
