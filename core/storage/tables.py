"""The tables of a notebook, the same on SQLite and PostgreSQL.

A change here needs a migration beside it (``migrations/versions``) and its revision at the end
of ``schema.REVISIONS``; a test compares the two.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)
from sqlalchemy.types import TypeDecorator

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
"""Every constraint has a name, or a later migration could not change it."""

METADATA = MetaData(naming_convention=NAMES)


class UtcMoment(TypeDecorator[datetime]):
    """An aware moment, kept in UTC to the microsecond on both engines.

    SQLite has no zone in its columns and gets the UTC clock time; PostgreSQL keeps the moment.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To the database."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"moment {value} has no zone; datetime.now(UTC)?")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """From the database."""
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def _parent(column: str) -> ForeignKey:
    return ForeignKey(column, ondelete="CASCADE")


# AUTOINCREMENT on SQLite: an id that was removed is never given again, so that undoing the
# removal can bring the thing back under its old id.
PIECES = Table(
    "pieces",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("title", Text, nullable=False),
    Column("composer", Text, nullable=False),
    Column("created_at", UtcMoment, nullable=False),
    Column("opened_at", UtcMoment),
    sqlite_autoincrement=True,
)

EDITIONS = Table(
    "editions",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("piece_id", Integer, _parent("pieces.id"), nullable=False, index=True),
    Column("score_sha256", String(64), nullable=False, unique=True),
    Column("canonical_version", Integer, nullable=False),
    Column("source_name", Text, nullable=False),
    Column("imported_at", UtcMoment, nullable=False),
    sqlite_autoincrement=True,
)

# Apart from the editions, so that no listing reads them; the canonical form first, because
# SQLite walks through a row's earlier columns to reach a later one.
EDITION_BYTES = Table(
    "edition_bytes",
    METADATA,
    Column("edition_id", Integer, _parent("editions.id"), primary_key=True, autoincrement=False),
    Column("canonical", LargeBinary, nullable=False),
    Column("original", LargeBinary, nullable=False),
)

REMARKS = Table(
    "remarks",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("piece_id", Integer, _parent("pieces.id"), nullable=False, index=True),
    Column("kind", String(32)),
    Column("body", Text, nullable=False),
    Column("created_at", UtcMoment, nullable=False),
    Column("edited_at", UtcMoment, nullable=False),
    Column("zone", Text, nullable=False),
    sqlite_autoincrement=True,
)

REMARK_VERSIONS = Table(
    "remark_versions",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("remark_id", Integer, _parent("remarks.id"), nullable=False, index=True),
    Column("kind", String(32)),
    Column("body", Text, nullable=False),
    Column("written_at", UtcMoment, nullable=False),
)


def _place_columns(prefix: str) -> list[Column[Any]]:
    """A place; all of them are null where the anchor has no passage."""
    return [
        Column(f"{prefix}_measure_index", Integer),
        Column(f"{prefix}_offset_num", BigInteger),
        Column(f"{prefix}_offset_den", BigInteger),
        Column(f"{prefix}_staff", Integer),
        Column(f"{prefix}_voice", Text),
        Column(f"{prefix}_note_id", Text),
    ]


# A remark has one anchor today; they have a table of their own so that it can have several.
ANCHORS = Table(
    "anchors",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("remark_id", Integer, _parent("remarks.id"), nullable=False, index=True),
    Column("kind", String(32), nullable=False),
    Column("score_sha256", String(64)),
    *_place_columns("start"),
    *_place_columns("end"),
    Column("element_id", Text),
    Column("fingerprint", Text, nullable=False),
    Column("section_label", Text),
    Column("section_index", Integer),
    Column("statement_number", Integer),
    Column("finding_kind", Text),
)

JUDGEMENTS = Table(
    "judgements",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("piece_id", Integer, _parent("pieces.id"), nullable=False, index=True),
    Column("finding_kind", Text, nullable=False),
    Column("score_sha256", String(64)),
    *_place_columns("start"),
    *_place_columns("end"),
    Column("ruling", String(32), nullable=False),
    Column("value_text", Text, nullable=False),
    Column("value_data", Text, nullable=False),
    Column("own_text", Text),
    Column("own_data", Text),
    Column("reason", Text, nullable=False),
    Column("created_at", UtcMoment, nullable=False),
    Column("edited_at", UtcMoment, nullable=False),
    Column("zone", Text, nullable=False),
    sqlite_autoincrement=True,
)

# What can be computed again: it goes with its score, and no undo brings it back.
ANALYSES = Table(
    "analyses",
    METADATA,
    Column("score_sha256", String(64), _parent("editions.score_sha256"), primary_key=True),
    Column("canonical_version", Integer, primary_key=True, autoincrement=False),
    Column("analyser_version", Integer, primary_key=True, autoincrement=False),
    Column("settings", Text, primary_key=True),
    Column("payload", LargeBinary, nullable=False),
)

VERSION = Table("alembic_version", METADATA, Column("version_num", String(32), primary_key=True))
"""Alembic's own table; a new notebook is stamped without loading Alembic."""
