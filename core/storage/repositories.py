"""Pieces, editions and remarks in tables: what the ports of ``core.notebook`` ask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import bindparam, select

from core.errors import ConflictError
from core.notebook.order import shelf_order
from core.notebook.values import Edition, Piece, Remark, RemarkVersion
from core.storage import rows
from core.storage.access import KEY, Access
from core.storage.tables import (
    ANCHORS,
    EDITION_BYTES,
    EDITIONS,
    PIECES,
    REMARK_VERSIONS,
    REMARKS,
)

ALL_PIECES = select(PIECES)
PIECE = ALL_PIECES.where(PIECES.c.id == KEY)
CHANGE_PIECE = PIECES.update().where(PIECES.c.id == KEY)
REMOVE_PIECE = PIECES.delete().where(PIECES.c.id == KEY)


class SqlPieces:
    """PieceRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def add(self, piece: Piece) -> Piece:
        """Store a new piece (id 0) or a removed one under its old id."""
        self._access.refuse_known(PIECE, "piece", piece.id)
        columns = rows.with_id(piece, rows.piece_columns(piece))
        return replace(piece, id=self._access.insert(PIECES, columns, "piece"))

    def get(self, piece_id: int) -> Piece:
        """The piece. Raises MissingError."""
        return rows.piece_of(self._access.require(PIECE, "piece", piece_id))

    def all(self) -> tuple[Piece, ...]:
        """Every piece in the order of the shelf."""
        return shelf_order(rows.piece_of(row) for row in self._access.all(ALL_PIECES))

    def replace(self, piece: Piece) -> None:
        """Write every field anew. Raises MissingError."""
        self._access.change(CHANGE_PIECE, "piece", piece.id, rows.piece_columns(piece))

    def remove(self, piece_id: int) -> None:
        """Remove the piece, its editions and its remarks. Raises MissingError."""
        self._access.change(REMOVE_PIECE, "piece", piece_id)


EDITION = select(EDITIONS).where(EDITIONS.c.id == KEY)
EDITION_BY_HASH = select(EDITIONS).where(EDITIONS.c.score_sha256 == KEY)
EDITIONS_OF_PIECE = (
    select(EDITIONS)
    .where(EDITIONS.c.piece_id == KEY)
    .order_by(EDITIONS.c.imported_at.desc(), EDITIONS.c.id.desc())
)
ORIGINAL = select(EDITION_BYTES.c.original).where(EDITION_BYTES.c.edition_id == KEY)
CANONICAL = select(EDITION_BYTES.c.canonical).where(EDITION_BYTES.c.edition_id == KEY)


class SqlEditions:
    """EditionRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def add(self, edition: Edition, original: bytes, canonical: bytes) -> Edition:
        """Store both byte strings. Raises ConflictError, MissingError (its piece)."""
        if self.by_hash(edition.score_sha256) is not None:
            raise ConflictError("score", edition.score_sha256)
        self._access.refuse_known(EDITION, "edition", edition.id)
        self._access.require(PIECE, "piece", edition.piece_id)
        columns = rows.with_id(edition, rows.edition_columns(edition))
        key = self._access.insert(EDITIONS, columns, "edition")
        contents = {"edition_id": key, "original": original, "canonical": canonical}
        self._access.write(EDITION_BYTES.insert(), contents)
        return replace(edition, id=key)

    def of_piece(self, piece_id: int) -> tuple[Edition, ...]:
        """The piece's editions, the newest first."""
        found = self._access.all(EDITIONS_OF_PIECE, key=piece_id)
        return tuple(rows.edition_of(row) for row in found)

    def by_hash(self, score_sha256: str) -> Edition | None:
        """The edition of that score, if it is there."""
        row = self._access.first(EDITION_BY_HASH, key=score_sha256)
        return None if row is None else rows.edition_of(row)

    def original(self, edition_id: int) -> bytes:
        """The bytes as they were brought in. Raises MissingError."""
        return bytes(self._access.require(ORIGINAL, "edition", edition_id)[0])

    def canonical(self, edition_id: int) -> bytes:
        """The canonical MusicXML. Raises MissingError."""
        return bytes(self._access.require(CANONICAL, "edition", edition_id)[0])


WHOLE_REMARKS = select(
    REMARKS,
    *[column for column in ANCHORS.c if column.name not in ("id", "remark_id", "kind")],
    ANCHORS.c.kind.label("anchor_kind"),
).join(ANCHORS, ANCHORS.c.remark_id == REMARKS.c.id)
WHOLE_REMARK = WHOLE_REMARKS.where(REMARKS.c.id == KEY)
WHOLE_REMARKS_OF_PIECE = WHOLE_REMARKS.where(REMARKS.c.piece_id == KEY).order_by(
    REMARKS.c.created_at.desc(), REMARKS.c.id.desc()
)
REMARK = select(REMARKS.c.id).where(REMARKS.c.id == KEY)
REMARKS_KNOWN = select(REMARKS.c.id).where(REMARKS.c.id.in_(bindparam("keys", expanding=True)))
CHANGE_REMARK = REMARKS.update().where(REMARKS.c.id == KEY)
CHANGE_ANCHOR = ANCHORS.update().where(ANCHORS.c.remark_id == KEY)
REMOVE_REMARK = REMARKS.delete().where(REMARKS.c.id == KEY)
VERSIONS = (
    select(REMARK_VERSIONS)
    .where(REMARK_VERSIONS.c.remark_id == KEY)
    .order_by(REMARK_VERSIONS.c.id.desc())
)
VERSIONS_OF_PIECE = (
    select(REMARK_VERSIONS)
    .join(REMARKS, REMARKS.c.id == REMARK_VERSIONS.c.remark_id)
    .where(REMARKS.c.piece_id == KEY)
    .order_by(REMARK_VERSIONS.c.id.desc())
)
FORGET_VERSIONS = REMARK_VERSIONS.delete().where(REMARK_VERSIONS.c.remark_id == KEY)


class SqlRemarks:
    """RemarkRepository."""

    def __init__(self, access: Access) -> None:
        self._access = access

    def add(self, remark: Remark) -> Remark:
        """Store a new remark (id 0) or a removed one under its old id."""
        self._access.refuse_known(REMARK, "remark", remark.id)
        self._access.require(PIECE, "piece", remark.piece_id)
        columns = rows.with_id(remark, rows.remark_columns(remark))
        stored = replace(remark, id=self._access.insert(REMARKS, columns, "remark"))
        self._access.write(ANCHORS.insert(), rows.anchor_columns(stored))
        return stored

    def add_removed(self, remarks: Sequence[Remark], versions: Sequence[RemarkVersion]) -> None:
        """Store a piece's removed remarks and versions. Raises ConflictError, MissingError."""
        for remark in remarks:
            if not remark.id:
                raise ValueError(f"remark {remark.body!r} has id 0; a new one? Use add")
        known = self._access.first(REMARKS_KNOWN, keys=[remark.id for remark in remarks])
        if known is not None:
            raise ConflictError("remark", known.id)
        for piece_id in {remark.piece_id for remark in remarks}:
            self._access.require(PIECE, "piece", piece_id)
        self._access.insert_all(REMARKS, [rows.with_id(r, rows.remark_columns(r)) for r in remarks])
        self._access.insert_all(ANCHORS, [rows.anchor_columns(r) for r in remarks])
        self._access.insert_all(
            REMARK_VERSIONS, [rows.version_columns(v) for v in reversed(versions)]
        )
        if remarks:
            self._access.never_give_again(REMARKS, max(remark.id for remark in remarks))

    def get(self, remark_id: int) -> Remark:
        """The remark. Raises MissingError."""
        return rows.remark_of(self._access.require(WHOLE_REMARK, "remark", remark_id))

    def of_piece(self, piece_id: int) -> tuple[Remark, ...]:
        """All remarks of the piece, the newest first."""
        found = self._access.all(WHOLE_REMARKS_OF_PIECE, key=piece_id)
        return tuple(rows.remark_of(row) for row in found)

    def replace(self, remark: Remark) -> None:
        """Write every field anew. Raises MissingError."""
        self._access.change(CHANGE_REMARK, "remark", remark.id, rows.remark_columns(remark))
        self._access.change(CHANGE_ANCHOR, "remark", remark.id, rows.anchor_columns(remark))

    def remove(self, remark_id: int) -> None:
        """Remove it with its versions. Raises MissingError."""
        self._access.change(REMOVE_REMARK, "remark", remark_id)

    def add_version(self, version: RemarkVersion) -> None:
        """Keep an earlier wording. Raises MissingError."""
        self._access.require(REMARK, "remark", version.remark_id)
        self._access.write(REMARK_VERSIONS.insert(), rows.version_columns(version))

    def versions(self, remark_id: int) -> tuple[RemarkVersion, ...]:
        """Earlier wordings, the one kept last first."""
        found = self._access.all(VERSIONS, key=remark_id)
        return tuple(rows.version_of(row) for row in found)

    def versions_of_piece(self, piece_id: int) -> tuple[RemarkVersion, ...]:
        """Earlier wordings of all remarks of the piece, the one kept last first."""
        found = self._access.all(VERSIONS_OF_PIECE, key=piece_id)
        return tuple(rows.version_of(row) for row in found)

    def forget_versions(self, remark_id: int) -> None:
        """Drop the earlier wordings of a remark."""
        self._access.write(FORGET_VERSIONS, {"key": remark_id})
