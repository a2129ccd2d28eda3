"""Notebooks for the store's tests, and a person who may not write everywhere."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from core.notebook.ports import NotebookStore
from core.notebook.values import Anchor, AnchorKind, Edition, Piece, Remark

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
NOBODY = 65534


def add_piece(store: NotebookStore, title: str = "Barcarolle") -> Piece:
    with store.unit_of_work() as work:
        piece = work.pieces.add(Piece(title=title, composer="", created_at=NOW))
        work.commit()
    return piece


def add_edition(store: NotebookStore, piece: Piece, original: bytes = b"original") -> Edition:
    edition = Edition(
        piece_id=piece.id,
        score_sha256="ab" * 32,
        canonical_version=1,
        source_name="a.mxl",
        imported_at=NOW,
    )
    with store.unit_of_work() as work:
        edition = work.editions.add(edition, original, b"canonical")
        work.commit()
    return edition


def add_remark(store: NotebookStore, piece: Piece, body: str = "Sing.") -> Remark:
    remark = Remark(
        piece_id=piece.id,
        kind=None,
        body=body,
        anchor=Anchor(kind=AnchorKind.PIECE),
        created_at=NOW,
        edited_at=NOW,
    )
    with store.unit_of_work() as work:
        remark = work.remarks.add(remark)
        work.commit()
    return remark


def titles(store: NotebookStore) -> list[str]:
    with store.unit_of_work() as work:
        return [piece.title for piece in work.pieces.all()]


def answer(path: Path, sql: str) -> object:
    """What a bare connection says."""
    with closing(sqlite3.connect(path)) as connection:
        row = connection.execute(sql).fetchone()
        return None if row is None else row[0]


def run(path: Path, sql: str) -> None:
    """Change a file behind the store's back."""
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(sql)


@contextmanager
def nobody_in_particular() -> Iterator[None]:
    """Act without root's right to write everywhere."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
