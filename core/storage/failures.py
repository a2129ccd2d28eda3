"""Foreign errors, put into one sentence each: what failed and what to do."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

from sqlalchemy.exc import DBAPIError, OperationalError

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
    errno.ENOLCK: "this disk can't lock files; keep the notebook on a disk of this computer.",
    errno.EOPNOTSUPP: "this disk can't lock files; keep the notebook on a disk of this computer.",
    errno.ENAMETOOLONG: "the name is too long for this disk; choose a shorter one.",
}


SERVER_REASONS = {
    "25006": "the server only lets the notebook be read; ask whoever keeps it.",
    "42501": "the server doesn't let you do this; ask whoever keeps it.",
    "53100": "the server's disk is full; ask whoever keeps it. " + UNCHANGED,
    "28P01": "the server doesn't know this name and password; check them.",
    "3D000": "the server has no database of this name; check it, or ask whoever keeps it.",
}
"""By SQLSTATE (PostgreSQL 15, appendix A)."""


@contextmanager
def as_storage_errors(path: Path) -> Iterator[None]:
    """Turn errors of the database and the disk that a person can act on into StorageError.

    Others pass: a broken rule of the tables or wrong SQL is a bug, or the repository's to name.
    """
    try:
        yield
    except OSError as error:
        raise StorageError(path, _disk_reason(error)) from error
    except sqlite3.Error as error:
        _raise_as_storage_error(path, error, error)
    except DBAPIError as error:
        _raise_as_storage_error(path, error, error.orig or error)


def _raise_as_storage_error(path: Path, error: Exception, original: BaseException) -> NoReturn:
    if isinstance(original, sqlite3.Error):
        reason = _sqlite_reason(original)
    else:
        reason = _server_reason(error, original)
    if reason is None:
        raise error
    raise StorageError(path, reason) from error


def _disk_reason(error: OSError) -> str:
    known = OS_REASONS.get(error.errno or 0)
    return known or f"the disk says: {error.strerror}."


def _sqlite_reason(error: sqlite3.Error) -> str | None:
    # Extended names begin with the plain one: SQLITE_IOERR_WRITE.
    name = getattr(error, "sqlite_errorname", "")
    for known, reason in SQLITE_REASONS.items():
        if name == known or name.startswith(known + "_"):
            return reason
    return None


def _server_reason(error: Exception, original: BaseException) -> str | None:
    known = SERVER_REASONS.get(getattr(original, "sqlstate", None) or "")
    if known or not isinstance(error, OperationalError):
        return known
    says = str(original).strip().splitlines() or ["no reason given"]
    return f"the server can't be used now; check the connection and try again ({says[0]})."
