"""Judgements, kept analyses, and remarks on sections, statements and findings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from core.storage.tables import UtcMoment

revision = "0002"
down_revision: str | None = "0001"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    """Make the tables; remarks keep hanging where they hang."""
    _anchors()
    _judgements()
    _analyses()


def _anchors() -> None:
    op.add_column("anchors", sa.Column("section_label", sa.Text))
    op.add_column("anchors", sa.Column("section_index", sa.Integer))
    op.add_column("anchors", sa.Column("statement_number", sa.Integer))
    op.add_column("anchors", sa.Column("finding_kind", sa.Text))


def _judgements() -> None:
    op.create_table(
        "judgements",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("piece_id", sa.Integer, nullable=False),
        sa.Column("finding_kind", sa.Text, nullable=False),
        sa.Column("score_sha256", sa.String(64)),
        *_place("start"),
        *_place("end"),
        sa.Column("ruling", sa.String(32), nullable=False),
        sa.Column("value_text", sa.Text, nullable=False),
        sa.Column("value_data", sa.Text, nullable=False),
        sa.Column("own_text", sa.Text),
        sa.Column("own_data", sa.Text),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("created_at", UtcMoment, nullable=False),
        sa.Column("edited_at", UtcMoment, nullable=False),
        sa.Column("zone", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["pieces.id"], name="fk_judgements_piece_id_pieces", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_judgements"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_judgements_piece_id", "judgements", ["piece_id"])


def _analyses() -> None:
    op.create_table(
        "analyses",
        sa.Column("score_sha256", sa.String(64), nullable=False),
        sa.Column("canonical_version", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("analyser_version", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("settings", sa.Text, nullable=False),
        sa.Column("payload", sa.LargeBinary, nullable=False),
        sa.ForeignKeyConstraint(
            ["score_sha256"],
            ["editions.score_sha256"],
            name="fk_analyses_score_sha256_editions",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint(
            "score_sha256",
            "canonical_version",
            "analyser_version",
            "settings",
            name="pk_analyses",
        ),
    )


def _place(prefix: str) -> list[sa.Column[int] | sa.Column[str]]:
    return [
        sa.Column(f"{prefix}_measure_index", sa.Integer),
        sa.Column(f"{prefix}_offset_num", sa.BigInteger),
        sa.Column(f"{prefix}_offset_den", sa.BigInteger),
        sa.Column(f"{prefix}_staff", sa.Integer),
        sa.Column(f"{prefix}_voice", sa.Text),
        sa.Column(f"{prefix}_note_id", sa.Text),
    ]
