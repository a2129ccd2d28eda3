"""Alembic's entry: ``core.storage.migrating`` hands over the connection and its transaction."""

from __future__ import annotations

from typing import Any

from alembic import context

from core.storage.tables import METADATA


def is_ours(_object: Any, name: str | None, kind: str, *_rest: Any) -> bool:
    """Whether Alembic may touch it: text search keeps tables of its own (``fts_...``)."""
    return not (kind == "table" and (name or "").startswith("fts_"))


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,
    include_object=is_ours,
)
with context.begin_transaction():
    context.run_migrations()
