"""Pieces, editions and remarks in tables: what the ports of ``core.notebook`` ask."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, CursorResult, Executable, Row, Select, Table, func, select
from sqlalchemy.exc import IntegrityError

from core.errors import ConflictError, MissingError
from core.notebook.order import shelf_order
from core.notebook.values import Edition, Piece, Remark, RemarkVersion
from core.storage import rows
from core.storage.tables import (
    ANCHORS,
    EDITION_BYTES,
    EDITIONS,
    PIECES,
    REMARK_VERSIONS,
    REMARKS,
)


class Access:
    """The one way from repositories to the database.

    Parameters
    ----------
    connection : Connection
    translated : callable
        Gives a context that turns database errors into StorageError.
    forbid_if_read_only : callable
        Raises StorageError in a notebook that is open for reading only.
    """

    def __init__(
        self,
        connection: Connection,
        translated: Callable[[], AbstractContextManager[None]],
        forbid_if_read_only: Callable[[], None],
    ) -> None:
        self._connection = connection
        self._translated = translated
        self._forbid_if_read_only = forbid_if_read_only

    def all(self, query: Select[*tuple[Any, ...]]) -> list[Row[Any]]:
        """All rows of a query."""
        with self._translated():
            return list(self._connection.execute(query).all())

    def first(self, query: Select[*tuple[Any, ...]]) -> Row[Any] | None:
        """The first row of a query."""
        with self._translated():
            return self._connection.execute(query).first()

    def write(self, statement: Executable) -> CursorResult[Any]:
        """Run an insert, update or delete."""
        self._forbid_if_read_only()
        with self._translated():
            result: CursorResult[Any] = self._connection.execute(statement)
            return result

    def insert(self, table: Table, columns: rows.Columns, kind: str = "entry") -> int:
        """Insert a row, with its old id if ``columns`` has one; give its id.

        Raises ConflictError if somebody else was faster (on a shared server).
        """
        try:
            result = self.write(table.insert().values(columns))
        except IntegrityError as error:
            raise ConflictError(kind, columns.get("id", "")) from error
        if "id" in columns and self._connection.dialect.name == "postgresql":
            self._skip_to(table, columns["id"])
        key = result.inserted_primary_key
        return int(key[0]) if key else 0

    def _skip_to(self, table: Table, key: int) -> None:
        """Never give out an id again that was brought back by hand (SQLite sees to it itself)."""
        sequence = func.pg_get_serial_sequence(table.name, "id")
        self.write(select(func.setval(sequence, func.greatest(func.nextval(sequence), key))))

    def require(self, table: Table, kind: str, key: int) -> Row[Any]:
        """The row with that id. Raises MissingError."""
        row = self.first(select(table).where(table.c.id == key))
        if row is None:
            raise MissingError(kind, key)
        return row

    def refuse_known(self, table: Table, kind: str, key: int) -> None:
        """Raise ConflictError if ``key`` is an id in use."""
        if key and self.first(select(table.c.id).where(table.c.id == key)) is not None:
            raise ConflictError(kind, key)


class SqlPieces:
    """PieceRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def add(self, piece: Piece) -> Piece:
        """Store a new piece (id 0) or a removed one under its old id."""
        self._access.refuse_known(PIECES, "piece", piece.id)
        return replace(piece, id=self._access.insert(PIECES, rows.piece_columns(piece), "piece"))

    def get(self, piece_id: int) -> Piece:
        """The piece. Raises MissingError."""
        return rows.piece_of(self._access.require(PIECES, "piece", piece_id))

    def all(self) -> tuple[Piece, ...]:
        """Every piece in the order of the shelf."""
        return shelf_order(rows.piece_of(row) for row in self._access.all(select(PIECES)))

    def replace(self, piece: Piece) -> None:
        """Write every field anew. Raises MissingError."""
        change = PIECES.update().where(PIECES.c.id == piece.id).values(rows.piece_columns(piece))
        if not self._access.write(change).rowcount:
            raise MissingError("piece", piece.id)

    def remove(self, piece_id: int) -> None:
        """Remove the piece, its editions and its remarks. Raises MissingError."""
        if not self._access.write(PIECES.delete().where(PIECES.c.id == piece_id)).rowcount:
            raise MissingError("piece", piece_id)


class SqlEditions:
    """EditionRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def add(self, edition: Edition, original: bytes, canonical: bytes) -> Edition:
        """Store both byte strings. Raises ConflictError, MissingError (its piece)."""
        if self.by_hash(edition.score_sha256) is not None:
            raise ConflictError("score", edition.score_sha256)
        self._access.refuse_known(EDITIONS, "edition", edition.id)
        self._access.require(PIECES, "piece", edition.piece_id)
        key = self._access.insert(EDITIONS, rows.edition_columns(edition), "edition")
        self._access.write(
            EDITION_BYTES.insert().values(edition_id=key, original=original, canonical=canonical)
        )
        return replace(edition, id=key)

    def of_piece(self, piece_id: int) -> tuple[Edition, ...]:
        """The piece's editions, the newest first."""
        query = select(EDITIONS).where(EDITIONS.c.piece_id == piece_id)
        newest_first = query.order_by(EDITIONS.c.imported_at.desc(), EDITIONS.c.id.desc())
        return tuple(rows.edition_of(row) for row in self._access.all(newest_first))

    def by_hash(self, score_sha256: str) -> Edition | None:
        """The edition of that score, if it is there."""
        row = self._access.first(select(EDITIONS).where(EDITIONS.c.score_sha256 == score_sha256))
        return None if row is None else rows.edition_of(row)

    def original(self, edition_id: int) -> bytes:
        """The bytes as they were brought in. Raises MissingError."""
        return self._bytes("original", edition_id)

    def canonical(self, edition_id: int) -> bytes:
        """The canonical MusicXML. Raises MissingError."""
        return self._bytes("canonical", edition_id)

    def _bytes(self, column: str, edition_id: int) -> bytes:
        query = select(EDITION_BYTES.c[column]).where(EDITION_BYTES.c.edition_id == edition_id)
        row = self._access.first(query)
        if row is None:
            raise MissingError("edition", edition_id)
        return bytes(row[0])


WHOLE_REMARKS = select(
    REMARKS,
    *[column for column in ANCHORS.c if column.name not in ("id", "remark_id", "kind")],
    ANCHORS.c.kind.label("anchor_kind"),
).join(ANCHORS, ANCHORS.c.remark_id == REMARKS.c.id)


class SqlRemarks:
    """RemarkRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def add(self, remark: Remark) -> Remark:
        """Store a new remark (id 0) or a removed one under its old id."""
        self._access.refuse_known(REMARKS, "remark", remark.id)
        self._access.require(PIECES, "piece", remark.piece_id)
        key = self._access.insert(REMARKS, rows.remark_columns(remark), "remark")
        stored = replace(remark, id=key)
        self._access.insert(ANCHORS, rows.anchor_columns(stored))
        return stored

    def get(self, remark_id: int) -> Remark:
        """The remark. Raises MissingError."""
        row = self._access.first(WHOLE_REMARKS.where(REMARKS.c.id == remark_id))
        if row is None:
            raise MissingError("remark", remark_id)
        return rows.remark_of(row)

    def of_piece(self, piece_id: int) -> tuple[Remark, ...]:
        """All remarks of the piece, the newest first."""
        query = WHOLE_REMARKS.where(REMARKS.c.piece_id == piece_id)
        newest_first = query.order_by(REMARKS.c.created_at.desc(), REMARKS.c.id.desc())
        return tuple(rows.remark_of(row) for row in self._access.all(newest_first))

    def replace(self, remark: Remark) -> None:
        """Write every field anew. Raises MissingError."""
        columns = rows.remark_columns(remark)
        change = REMARKS.update().where(REMARKS.c.id == remark.id).values(columns)
        if not self._access.write(change).rowcount:
            raise MissingError("remark", remark.id)
        moved = ANCHORS.update().where(ANCHORS.c.remark_id == remark.id)
        self._access.write(moved.values(rows.anchor_columns(remark)))

    def remove(self, remark_id: int) -> None:
        """Remove it with its versions. Raises MissingError."""
        if not self._access.write(REMARKS.delete().where(REMARKS.c.id == remark_id)).rowcount:
            raise MissingError("remark", remark_id)

    def add_version(self, version: RemarkVersion) -> None:
        """Keep an earlier wording. Raises MissingError."""
        self._access.require(REMARKS, "remark", version.remark_id)
        self._access.insert(REMARK_VERSIONS, rows.version_columns(version))

    def versions(self, remark_id: int) -> tuple[RemarkVersion, ...]:
        """Earlier wordings, the one kept last first."""
        query = select(REMARK_VERSIONS).where(REMARK_VERSIONS.c.remark_id == remark_id)
        newest_first = query.order_by(REMARK_VERSIONS.c.id.desc())
        return tuple(rows.version_of(row) for row in self._access.all(newest_first))

    def forget_versions(self, remark_id: int) -> None:
        """Drop the earlier wordings of a remark."""
        self._access.write(REMARK_VERSIONS.delete().where(REMARK_VERSIONS.c.remark_id == remark_id))
