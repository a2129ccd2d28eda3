"""Long work on the window's thread in slices, a few milliseconds in each turn of its event loop.

Work in *steps* is a generator that stops wherever it can be left for a moment, and returns what
it made.
"""

from __future__ import annotations

from collections.abc import Generator
from time import thread_time
from typing import TypeVar

from PySide6.QtCore import QObject, QTimer

from app.desk.rests import RESTS

SLICE_SECONDS = 0.006
"""Of the thread's own time: what other programs take is not counted."""

MadeT = TypeVar("MadeT")
Steps = Generator[None, None, MadeT]


class Slices(QObject):
    """Does one piece of work at a time; a new one takes the place of what is not done."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._steps: Steps[None] | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._on_turn)

    @property
    def is_busy(self) -> bool:
        """Whether something is not done yet."""
        return self._steps is not None

    def begin(self, steps: Steps[None], *, is_short: bool) -> None:
        """Do work: all of it now where it is short, else in the turns to come."""
        self.stop()
        if is_short:
            for _ in steps:
                pass
        else:
            self._steps = steps
            self._timer.start()

    def stop(self) -> None:
        """Leave what is not done."""
        self._steps = None
        self._timer.stop()

    def _on_turn(self) -> None:
        RESTS.take(self._go_on)

    def _go_on(self) -> None:
        steps = self._steps
        give_back_at = thread_time() + SLICE_SECONDS
        while steps is not None and steps is self._steps:
            try:
                next(steps)
            except StopIteration:
                if steps is self._steps:
                    self.stop()
                return
            if thread_time() >= give_back_at:
                return
