"""Bringing an older notebook up to date. Loads Alembic: imported only when one is due."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from itertools import chain, count
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

from core.errors import StorageError
from core.storage.schema import Schema
from core.storage.sqlite_files import (
    BUILDING,
    connect,
    file_engine,
    put_in_place,
    remove_quietly,
)

IN_USE = (
    "this notebook has to be brought up to date, and another program has it open; "
    "close it there and open it again. Nothing was changed."
)
BROKEN_LINKS = (
    "this notebook could not be brought up to date: {} of its rows point to nothing. "
    "Nothing was changed; please report this."
)


def upgrade(connection: Connection, schema: Schema, target: str = "head") -> None:
    """Run the migrations in the connection's transaction (an empty database: all of them)."""
    config = Config()
    config.set_main_option("script_location", str(schema.migrations).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, target)


def migrate_file(path: Path, schema: Schema, found: str) -> Path:
    """Migrate a notebook's file by way of a copy.

    Parameters
    ----------
    path : pathlib.Path
        The notebook; its lock is held.
    schema : Schema
        What to bring it to.
    found : str
        The revision that it has.

    Returns
    -------
    pathlib.Path
        What the notebook was, kept beside it.

    Raises
    ------
    StorageError
        It is in use, or the disk failed, or a row of the new one would point to nothing. The
        notebook is as it was.
    """
    _fold_log_in(path)
    copy = path.with_name(path.name + ".migrating")
    remove_quietly(copy)
    try:
        _copy(path, copy)
        _migrate_copy(copy, path, schema)
        return _swap(path, copy, found)
    except BaseException:
        remove_quietly(copy)
        raise


def _fold_log_in(path: Path) -> None:
    """Write the log (WAL) into the file and remove it.

    It belongs to the old file: left there, SQLite would replay it into the new one.
    """
    with closing(connect(path, "rw")) as connection:
        try:
            mode = connection.execute("PRAGMA journal_mode = DELETE").fetchone()[0]
        except sqlite3.OperationalError as error:
            raise StorageError(path, IN_USE) from error
        if mode != "delete":
            raise StorageError(path, IN_USE)


def _copy(path: Path, copy: Path) -> None:
    with closing(connect(path, "ro")) as old, closing(connect(copy, "rwc")) as new:
        old.backup(new)


def _migrate_copy(copy: Path, path: Path, schema: Schema) -> None:
    # Foreign keys are off (BUILDING): a batch alter drops and rebuilds a table, and with them
    # on its rows' children go with it.
    engine = file_engine(copy, pragmas=BUILDING)
    try:
        with engine.begin() as connection:
            upgrade(connection, schema)
            lost = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
            if lost:
                raise StorageError(path, BROKEN_LINKS.format(len(lost)))
    finally:
        engine.dispose()


def _swap(path: Path, copy: Path, found: str) -> Path:
    """Give the old file a second name, and the new one its place in one step."""
    kept = _free_name(path, found)
    try:
        kept.hardlink_to(path)
    except OSError:  # a disk without links (FAT)
        shutil.copy2(path, kept)
    try:
        put_in_place(copy, path)
    except BaseException:
        kept.unlink()
        raise
    return kept


def _free_name(path: Path, found: str) -> Path:
    first = path.with_name(f"{path.name}.before-{found}")
    others = (first.with_name(f"{first.name}-{number}") for number in count(2))
    return next(name for name in chain([first], others) if not name.exists())
