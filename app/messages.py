"""The one exit for errors.

A ``PostilError`` becomes a banner: its sentence says what failed, where, why and what to do.
Anything else is a bug: it is logged, and shown with a report that can be copied; what was kept
stays kept. Several stand together until each is dismissed, the last one first by Escape.
"""

from __future__ import annotations

import logging
import platform
import sys
import traceback
from dataclasses import dataclass
from types import TracebackType

from PySide6.QtCore import QObject, Signal

from core.errors import PostilError

log = logging.getLogger("postil")

BUG = "Something went wrong that should not have. What you wrote is kept. The report says where."
AT_MOST = 20
"""Banners that are kept; of more, the oldest go. A folder of bad files must not fill the window."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """One banner: its sentence, and for a bug the report."""

    text: str
    report: str = ""


class Messages(QObject):
    """What went wrong and was not dismissed yet, the oldest first."""

    changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.shown: tuple[Message, ...] = ()

    def tell(self, what: object) -> None:
        """Show an error, or a sentence; the same twice stands once."""
        if isinstance(what, PostilError):
            message = Message(text=str(what))
        elif isinstance(what, BaseException):
            log.error("unexpected error", exc_info=what)
            message = Message(text=BUG, report=report_of(what))
        else:
            message = Message(text=str(what))
        others = tuple(shown for shown in self.shown if shown.text != message.text)
        self.shown = (*others, message)[-AT_MOST:]
        self.changed.emit()

    def dismiss(self, message: Message) -> None:
        """Take one away."""
        self.shown = tuple(shown for shown in self.shown if shown != message)
        self.changed.emit()

    def dismiss_last(self) -> bool:
        """Take the last one away; whether there was one."""
        if not self.shown:
            return False
        self.dismiss(self.shown[-1])
        return True

    def catch_unhandled(self) -> None:
        """Take every exception that nobody caught, until ``let_go``."""
        sys.excepthook = self._on_unhandled

    def let_go(self) -> None:
        """Give Python its own handling back."""
        if sys.excepthook == self._on_unhandled:
            sys.excepthook = sys.__excepthook__

    def _on_unhandled(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        self.tell(error)


def report_of(error: BaseException) -> str:
    """The error with its trace and the versions of what ran."""
    from PySide6 import __version__ as qt_version

    trace = "".join(traceback.format_exception(error))
    return (
        f"Python {platform.python_version()}, PySide6 {qt_version}, {platform.platform()}\n{trace}"
    )
