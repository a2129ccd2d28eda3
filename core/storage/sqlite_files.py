"""A notebook in one SQLite file.

Conventions
-----------
WAL and ``synchronous=FULL``: what was committed survives a crash and a power cut. One process
writes; it holds the lock in ``<name>.lock``. Whoever comes second, or finds a read-only disk,
reads. A new or migrated notebook is made beside and moved into place whole.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import QueuePool

from core.errors import StorageError
from core.storage.failures import as_storage_errors
from core.storage.locking import FileLock
from core.storage.schema import APPLICATION_ID, SCHEMA, Schema, create_tables
from core.storage.store import SqlNotebookStore

BUSY_SECONDS = 5.0
"""How long another program (a backup) may hold the file before a write fails."""

WRITING = ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON")
READING = ("query_only = ON", "foreign_keys = ON")
BUILDING = ("journal_mode = DELETE", "synchronous = FULL", "foreign_keys = OFF")
"""For a file that is made or migrated beside the notebook: no second file, and no child row
that a rebuilt parent table would take along."""

CREATION_SECONDS = 3.0
"""How long a second process waits for the first one to make the file."""

HELD = (
    "another Postil has this notebook open, so it can only be read here; "
    "close it there and open it again here to write."
)
READ_ONLY_DISK = (
    "the notebook's folder or file can't be written, so it can only be read; "
    "change who may write there, or copy the notebook to another folder."
)
NOT_A_NOTEBOOK = "this file is not a notebook; choose another one. It was not touched."
OLDER_AND_READ_ONLY = (
    "an older Postil wrote this notebook, and it can't be brought up to date while it is "
    "open elsewhere or read-only; close it there or make it writable, then open it again."
)
GONE = (
    "the notebook's file was moved or removed while it was open, so nothing can be kept in it; "
    "put it back or open it where it is now."
)
UNREACHED_CHANGES = (
    "its latest changes stand in the file ending in -wal, which can't be read while the folder "
    "is read-only; copy all its files to a folder that you can write."
)


def open_store(path: Path, schema: Schema = SCHEMA) -> SqlNotebookStore:
    """Open the notebook in a file; make folder and file where there are none.

    An older notebook is migrated; what it was stays beside it as ``<name>.before-<revision>``.
    A second process on one file, or a read-only disk, opens it for reading only.

    Parameters
    ----------
    path : pathlib.Path
    schema : Schema
        The tables that are known; another one in tests only.

    Raises
    ------
    StorageError
        The file can't be opened or made; what was there is as it was.
    NewerNotebookError
        A newer Postil wrote it; it was not touched.
    """
    # Through links: the lock, the log and what a migration puts in place stand beside the file
    # itself, whatever name it was opened by.
    path = Path(os.path.realpath(path))
    with as_storage_errors(path):
        if path.is_dir():
            raise StorageError(path, "this is a folder, not a notebook; choose a file.")
        if path.exists() and not _is_writable(path):
            return _open_for_reading(path, schema, READ_ONLY_DISK)
        path.parent.mkdir(parents=True, exist_ok=True)
        lock = FileLock(path.with_name(path.name + ".lock"))
        if lock.take():
            return _open_for_writing(path, schema, lock)
        _wait_for(path)
        return _open_for_reading(path, schema, HELD)


def _may_write(path: Path) -> bool:
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _is_writable(path: Path) -> bool:
    # The folder too: the log (WAL) stands beside the file.
    return _may_write(path) and _may_write(path.parent)


def _wait_for(path: Path) -> None:
    """Wait until the process that holds the lock has made the file."""
    latest = time.monotonic() + CREATION_SECONDS
    while not path.exists():
        if time.monotonic() > latest:
            raise StorageError(path, "another Postil is making this notebook; try again.")
        time.sleep(0.02)


def _open_for_writing(path: Path, schema: Schema, lock: FileLock) -> SqlNotebookStore:
    try:
        if not path.exists() or path.stat().st_size == 0:
            create_file(path)
        if not schema.is_current(found := _revision_in(path)):
            # Loads Alembic, which an up-to-date notebook doesn't wait for.
            from core.storage.migrating import migrate_file

            migrate_file(path, schema, found)
        engine = file_engine(path)
        with engine.connect():
            pass  # what can't be opened fails here, not at the first remark
    except BaseException:
        lock.release()
        raise
    check = _presence_check(path)
    return SqlNotebookStore(engine, path, check_before_commit=check, on_close=lock.release)


def _open_for_reading(path: Path, schema: Schema, reason: str) -> SqlNotebookStore:
    mode = _reading_mode(path)
    if not schema.is_current(_revision_in(path, mode)):
        raise StorageError(path, OLDER_AND_READ_ONLY)
    return SqlNotebookStore(file_engine(path, mode), path, read_only_reason=reason)


def _reading_mode(path: Path) -> str:
    if _may_write(path.parent):
        return "ro"
    wal = path.with_name(path.name + "-wal")
    if wal.exists() and wal.stat().st_size:
        raise StorageError(path, UNREACHED_CHANGES)
    # In such a folder SQLite can't make the shared memory that WAL needs.
    return "ro&immutable=1"


def _revision_in(path: Path, mode: str = "ro") -> str:
    """The revision of a file that may be anything; nothing is written.

    Raises
    ------
    StorageError
        It isn't a notebook.
    """
    with closing(connect(path, mode)) as connection:
        if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            raise StorageError(path, NOT_A_NOTEBOOK)
        row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    if row is None:
        raise StorageError(path, NOT_A_NOTEBOOK)
    return str(row[0])


def _presence_check(path: Path) -> Callable[[], None]:
    """A check that the open file is still the one at its path.

    SQLite would go on writing into a file that was deleted, and all of it would be lost.
    """
    opened = path.stat()

    def check() -> None:
        try:
            is_there = os.path.samestat(opened, path.stat())
        except FileNotFoundError:
            is_there = False
        if not is_there:
            raise StorageError(path, GONE)

    return check


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """A bare connection; transactions are begun by hand. ``mode`` as in SQLite's file URIs."""
    return sqlite3.connect(
        f"{path.as_uri()}?mode={mode}",
        uri=True,
        timeout=BUSY_SECONDS,
        isolation_level=None,
        check_same_thread=False,  # the store sees to it that one thread at a time uses it
    )


def file_engine(path: Path, mode: str = "rw", *, pragmas: tuple[str, ...] = ()) -> Engine:
    """An engine of one connection on an existing file.

    Parameters
    ----------
    path : pathlib.Path
    mode : str
        As in SQLite's file URIs.
    pragmas : tuple of str
        Instead of a notebook's usual ones.
    """

    def creator() -> sqlite3.Connection:
        connection = connect(path, mode)
        for pragma in pragmas or (READING if mode.startswith("ro") else WRITING):
            connection.execute(f"PRAGMA {pragma}")
        return connection

    engine = create_engine(
        "sqlite+pysqlite://", creator=creator, poolclass=QueuePool, pool_size=1, max_overflow=0
    )
    event.listen(engine, "begin", _begin)
    return engine


def _begin(connection: Connection) -> None:
    # The driver would begin at the first write only, so that reads before it stood outside.
    connection.exec_driver_sql("BEGIN")


def create_file(path: Path) -> None:
    """Make an empty notebook, whole or not at all."""
    fresh = path.with_name(path.name + ".new")
    fresh.unlink(missing_ok=True)
    engine = file_engine(fresh, "rwc", pragmas=BUILDING)
    try:
        with engine.begin() as connection:
            create_tables(connection)
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        engine.dispose()
        put_in_place(fresh, path)
    except BaseException:
        engine.dispose()
        remove_quietly(fresh)
        raise


def put_in_place(fresh: Path, path: Path) -> None:
    """Move a finished file to its name, durably."""
    fresh.replace(path)
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def remove_quietly(path: Path) -> None:
    """Remove a file of ours that is of no use any more, and SQLite's files beside it."""
    for suffix in ("", "-journal", "-wal", "-shm"):
        with suppress(OSError):
            path.with_name(path.name + suffix).unlink()
