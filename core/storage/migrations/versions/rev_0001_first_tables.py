"""The first tables: pieces, editions with their bytes, remarks with versions and anchors."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from core.storage.tables import UtcMoment

revision = "0001"
down_revision: str | None = None
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    """Make the tables."""
    _pieces_and_editions()
    _remarks()
    _anchors()


def _pieces_and_editions() -> None:
    op.create_table(
        "pieces",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("composer", sa.Text, nullable=False),
        sa.Column("created_at", UtcMoment, nullable=False),
        sa.Column("opened_at", UtcMoment),
        sa.PrimaryKeyConstraint("id", name="pk_pieces"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "editions",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("piece_id", sa.Integer, nullable=False),
        sa.Column("score_sha256", sa.String(64), nullable=False),
        sa.Column("canonical_version", sa.Integer, nullable=False),
        sa.Column("source_name", sa.Text, nullable=False),
        sa.Column("imported_at", UtcMoment, nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["pieces.id"], name="fk_editions_piece_id_pieces", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_editions"),
        sa.UniqueConstraint("score_sha256", name="uq_editions_score_sha256"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_editions_piece_id", "editions", ["piece_id"])
    op.create_table(
        "edition_bytes",
        sa.Column("edition_id", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("canonical", sa.LargeBinary, nullable=False),
        sa.Column("original", sa.LargeBinary, nullable=False),
        sa.ForeignKeyConstraint(
            ["edition_id"],
            ["editions.id"],
            name="fk_edition_bytes_edition_id_editions",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("edition_id", name="pk_edition_bytes"),
    )


def _remarks() -> None:
    op.create_table(
        "remarks",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("piece_id", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(32)),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("created_at", UtcMoment, nullable=False),
        sa.Column("edited_at", UtcMoment, nullable=False),
        sa.Column("zone", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["pieces.id"], name="fk_remarks_piece_id_pieces", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_remarks"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_remarks_piece_id", "remarks", ["piece_id"])
    op.create_table(
        "remark_versions",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("remark_id", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(32)),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("written_at", UtcMoment, nullable=False),
        sa.ForeignKeyConstraint(
            ["remark_id"],
            ["remarks.id"],
            name="fk_remark_versions_remark_id_remarks",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name="pk_remark_versions"),
    )
    op.create_index("ix_remark_versions_remark_id", "remark_versions", ["remark_id"])


def _anchors() -> None:
    op.create_table(
        "anchors",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("remark_id", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("score_sha256", sa.String(64)),
        *_place("start"),
        *_place("end"),
        sa.Column("element_id", sa.Text),
        sa.Column("fingerprint", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(
            ["remark_id"], ["remarks.id"], name="fk_anchors_remark_id_remarks", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_anchors"),
    )
    op.create_index("ix_anchors_remark_id", "anchors", ["remark_id"])


def _place(prefix: str) -> list[sa.Column[int] | sa.Column[str]]:
    return [
        sa.Column(f"{prefix}_measure_index", sa.Integer),
        sa.Column(f"{prefix}_offset_num", sa.BigInteger),
        sa.Column(f"{prefix}_offset_den", sa.BigInteger),
        sa.Column(f"{prefix}_staff", sa.Integer),
        sa.Column(f"{prefix}_voice", sa.Text),
        sa.Column(f"{prefix}_note_id", sa.Text),
    ]
