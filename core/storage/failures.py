"""Foreign errors, put into one sentence each: what failed and what to do."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError

from core.errors import StorageError

UNCHANGED = "The notebook is as it was before."

SQLITE_REASONS = {
    "SQLITE_FULL": "the disk is full; free some space and try again. " + UNCHANGED,
    "SQLITE_READONLY": "the file can't be written; check who may write it. " + UNCHANGED,
    "SQLITE_NOTADB": "this file is not a notebook; choose another one. It was not touched.",
    "SQLITE_CORRUPT": "the notebook's file is damaged; open a copy of it from your backups.",
    "SQLITE_BUSY": "another program is using the notebook; close it and try again.",
    "SQLITE_LOCKED": "another program is using the notebook; close it and try again.",
    "SQLITE_CANTOPEN": "the file can't be opened; check that it is there and who may read it.",
    "SQLITE_PERM": "the file can't be opened; check who may read and write it.",
    "SQLITE_IOERR": "the disk reports an error; check the disk and its free space. " + UNCHANGED,
    "SQLITE_TOOBIG": "this is too large to be kept in a notebook (1 GB at most). " + UNCHANGED,
}

OS_REASONS = {
    errno.ENOSPC: "the disk is full; free some space and try again.",
    errno.EDQUOT: "your share of the disk is used up; free some space and try again.",
    errno.EACCES: "the folder or file can't be written; choose another place or change "
    "who may write there.",
    errno.EPERM: "the folder or file can't be written; choose another place or change "
    "who may write there.",
    errno.EROFS: "the disk is read-only; choose another place.",
    errno.ENOTDIR: "a part of this path is a file, not a folder; choose another place.",
    errno.EEXIST: "a file stands where a folder is needed; choose another place.",
    errno.EISDIR: "this is a folder, not a notebook; choose a file.",
    errno.EIO: "the disk reports an error; check the disk.",
    errno.ENAMETOOLONG: "the name is too long for this disk; choose a shorter one.",
}


@contextmanager
def as_storage_errors(path: Path) -> Iterator[None]:
    """Turn errors of the database and the disk into StorageError.

    IntegrityError and ProgrammingError pass: they are bugs, or the repository knows better.
    """
    try:
        yield
    except (OperationalError, InterfaceError) as error:
        raise StorageError(path, _reason(error.orig or error)) from error
    except DBAPIError as error:
        if not isinstance(error.orig, sqlite3.DatabaseError) or _is_bug(error.orig):
            raise
        raise StorageError(path, _reason(error.orig)) from error
    except sqlite3.DatabaseError as error:
        if _is_bug(error):
            raise
        raise StorageError(path, _reason(error)) from error
    except OSError as error:
        raise StorageError(path, _reason(error)) from error


def _is_bug(error: sqlite3.DatabaseError) -> bool:
    return isinstance(error, sqlite3.IntegrityError | sqlite3.ProgrammingError)


def _reason(error: BaseException) -> str:
    if isinstance(error, OSError):
        known = OS_REASONS.get(error.errno or 0)
        return known or f"the disk says: {error.strerror}."
    if not isinstance(error, sqlite3.Error):
        return f"the server can't be used now; check the connection and try again ({error})."
    # Extended names begin with the plain one: SQLITE_IOERR_WRITE.
    name = getattr(error, "sqlite_errorname", "")
    for known, reason in SQLITE_REASONS.items():
        if name == known or name.startswith(known + "_"):
            return reason
    return f"the notebook can't be used: {error}."
