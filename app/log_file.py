"""The log: what went wrong and where in the program, never what a person wrote.

Titles, remarks and names of files may stand in the words of an error, so those are left out:
logged are the kinds of errors, and the lines of the program that they came through. Nothing is
opened until something is to be written.
"""

from __future__ import annotations

import logging
import platform
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import suppress
from copy import copy
from pathlib import Path

LOGGERS = ("postil", "app", "core")
MOST_BYTES, OLD_FILES = 256 * 1024, 2
"""A bug that comes again and again must not fill a disk: two older files are kept."""
_SHOWN_PARTS = 4
"""Of a path in the program, from its end: what stands before may hold a person's name."""


class LogFile(logging.Handler):
    """Writes to a rotating file that is made with the first record.

    Parameters
    ----------
    where : callable
        Gives the path, when it is first needed.
    """

    def __init__(self, where: Callable[[], Path]) -> None:
        super().__init__(logging.WARNING)
        self._where = where
        self._file: logging.Handler | None = None
        self._thread_hook = threading.excepthook

    def begin(self) -> None:
        """Take what Postil's own loggers say, and what ends a thread, from now on."""
        for name in LOGGERS:
            logging.getLogger(name).addHandler(self)
        self._thread_hook, threading.excepthook = threading.excepthook, self._on_thread_ended

    def end(self) -> None:
        """Take no more, and close the file."""
        for name in LOGGERS:
            logging.getLogger(name).removeHandler(self)
        if threading.excepthook == self._on_thread_ended:
            threading.excepthook = self._thread_hook
        if self._file is not None:
            self._file.close()
        self.close()

    def emit(self, record: logging.LogRecord) -> None:
        # As Python does where nobody takes a record: on a terminal it is seen, in full.
        if logging.lastResort is not None:
            logging.lastResort.handle(record)
        # Whoever logs has trouble already; a full disk must not add to it.
        with suppress(OSError):
            if self._file is None:
                self._file = _opened(self._where())
            self._file.emit(record)

    def _on_thread_ended(self, what: threading.ExceptHookArgs) -> None:
        if what.exc_value is not None and not isinstance(what.exc_value, SystemExit):
            logging.getLogger(LOGGERS[0]).error("a thread ended", exc_info=what.exc_value)


class _Formatter(logging.Formatter):
    """Time, rank, message; of an exception its kind and where it came through."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(name)s: %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        # Another handler may have left the error's words with the record.
        record = copy(record)
        record.exc_text = None
        return super().format(record)

    def formatException(self, ei: object) -> str:
        error = ei[1] if isinstance(ei, tuple) else None
        return "\n".join(lines_of(error)) if isinstance(error, BaseException) else ""


def lines_of(error: BaseException) -> Iterator[str]:
    """Kind and way of an error and of those behind it, without their words."""
    seen: BaseException | None = error
    while seen is not None:
        yield f"  {type(seen).__module__}.{type(seen).__qualname__}"
        for frame in traceback.extract_tb(seen.__traceback__):
            shown = "/".join(Path(frame.filename).parts[-_SHOWN_PARTS:])
            yield f"    {shown}:{frame.lineno} in {frame.name}"
        seen = seen.__cause__ or seen.__context__


def _opened(path: Path) -> logging.Handler:
    from logging.handlers import RotatingFileHandler

    path.parent.mkdir(parents=True, exist_ok=True)
    file = RotatingFileHandler(
        path, maxBytes=MOST_BYTES, backupCount=OLD_FILES, encoding="utf-8", delay=True
    )
    file.setFormatter(_Formatter())
    versions = f"Postil {_version()}, Python {platform.python_version()}, {platform.platform()}"
    file.emit(logging.makeLogRecord({"name": "postil", "levelname": "INFO", "msg": versions}))
    return file


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("postil")
    except PackageNotFoundError:
        return "from its folder"
