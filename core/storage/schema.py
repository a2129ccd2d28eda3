"""Which tables this Postil knows, and which ones a notebook has."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, select

from core.errors import NewerNotebookError
from core.storage.tables import METADATA, VERSION

REVISIONS = ("0001", "0002")
"""Every revision of the tables, the oldest first. Kept here, so that a look at an up-to-date
notebook needs no Alembic; a test compares it with the migrations."""

APPLICATION_ID = 0x50535449
"""SQLite's ``application_id`` of a notebook, "PSTI": tells one from any other database."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Schema:
    """The revisions that a store knows and the folder of their migrations."""

    revisions: tuple[str, ...] = REVISIONS
    migrations: Path = Path(__file__).parent / "migrations"

    @property
    def head(self) -> str:
        """The newest revision."""
        return self.revisions[-1]

    def is_current(self, revision: str) -> bool:
        """Whether a notebook of that revision needs no migration.

        Raises
        ------
        NewerNotebookError
            The revision isn't known here.
        """
        if revision not in self.revisions:
            raise NewerNotebookError(revision, self.head)
        return revision == self.head


SCHEMA = Schema()


def revision_of(connection: Connection) -> str | None:
    """The revision stamped into the notebook; None if nothing is."""
    return connection.execute(select(VERSION.c.version_num)).scalar()


def create_tables(connection: Connection) -> None:
    """Make every table in an empty database and stamp it with the newest revision."""
    METADATA.create_all(connection)
    connection.execute(VERSION.insert().values(version_num=REVISIONS[-1]))
