"""Steps of work on the window's thread, one in each turn of its event loop.

What follows an event in a dozen views is then never one long wait: keys, wheel and paint come in
between. For steps whose order matters and whose moment doesn't.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer

from app.desk.rests import RESTS

BETWEEN_MS = 2
"""From the end of a step to the next: everything else that waits comes first."""


class Turns(QObject):
    """A queue of steps."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._steps: deque[Callable[[], object]] = deque()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(BETWEEN_MS)
        self._timer.timeout.connect(self._on_turn)

    def soon(self, *steps: Callable[[], object]) -> None:
        """Do these steps after those that wait, each in a turn of its own."""
        self._steps.extend(steps)
        if self._steps and not self._timer.isActive():
            self._timer.start()

    def clear(self) -> None:
        """Forget what waits."""
        self._steps.clear()
        self._timer.stop()

    def _on_turn(self) -> None:
        if self._steps:
            RESTS.take(lambda: self._steps.popleft()())
        if self._steps:
            self._timer.start()
