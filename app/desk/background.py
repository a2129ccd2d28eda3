"""Work off the window's thread: one thread, in order; results come back to the window's.

For what a thread does well: reading a file, waiting for the disk. Long computing belongs to
worker processes.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal


@dataclass(frozen=True, slots=True)
class _Done:
    receive: Callable[[Any], None]
    value: object


class Background(QObject):
    """A queue of work with one thread behind it.

    Parameters
    ----------
    on_error : callable
        Takes, on the window's thread, an exception that ended a piece of work.
    """

    _done = Signal(object)

    def __init__(
        self, on_error: Callable[[BaseException], None], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._on_error = on_error
        self._executor = ThreadPoolExecutor(max_workers=1, thread_name_prefix="postil-reading")
        self._is_shut = False
        self._done.connect(self._on_done, Qt.ConnectionType.QueuedConnection)

    def run(self, work: Callable[[], Any], receive: Callable[[Any], None]) -> None:
        """Do ``work`` on the thread, then hand its result to ``receive`` on the window's."""
        if not self._is_shut:
            self._executor.submit(self._work, work, receive)

    def tell(self, receive: Callable[[Any], None], value: object) -> None:
        """From inside of work: hand a value to ``receive`` on the window's thread."""
        if not self._is_shut:
            self._done.emit(_Done(receive, value))

    def shut_down(self) -> None:
        """Drop what waits, let what runs end; safe to call twice."""
        self._is_shut = True
        self._executor.shutdown(wait=True, cancel_futures=True)

    def _work(self, work: Callable[[], Any], receive: Callable[[Any], None]) -> None:
        try:
            value = work()
        except Exception as error:  # noqa: BLE001 - every error goes on to the one exit
            self.tell(self._on_error, error)
        else:
            self.tell(receive, value)

    def _on_done(self, done: _Done) -> None:
        if not self._is_shut:
            done.receive(done.value)
