"""One writer a notebook file: an advisory lock of the operating system in a file beside it.

The system lets the lock go when the process ends, however it ends. The file itself stays: to
remove it would let two processes lock two files of one name.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path


class FileLock:
    """Held or not; ``take`` doesn't wait."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._descriptor: int | None = None

    def take(self) -> bool:
        """Whether the lock is ours now. Raises OSError if its file can't be made."""
        descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)
        if not _lock(descriptor):
            os.close(descriptor)
            return False
        self._descriptor = descriptor
        return True

    def release(self) -> None:
        """Let it go; safe to call twice."""
        if self._descriptor is not None:
            os.close(self._descriptor)
            self._descriptor = None


if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> bool:
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _lock(descriptor: int) -> bool:
        # flock, not lockf: a record lock would not hold against our own process, and would be
        # lost when any other descriptor of the file is closed.
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
