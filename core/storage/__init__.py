"""The notebook's tables: SQLAlchemy over SQLite (one file) or PostgreSQL (a school's server).

Nothing of SQLAlchemy leaves this room. Opening an up-to-date notebook doesn't load Alembic.
"""

from core.storage.postgres import open_store_url
from core.storage.sqlite_files import open_store
from core.storage.store import SqlNotebookStore

__all__ = ["SqlNotebookStore", "open_store", "open_store_url"]
