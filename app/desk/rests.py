"""A rest after every long step on the window's thread, so that whatever else waits comes in.

Steps are taken by timers of several rooms, and timers that are due together fire together: each
would be short, and all of them one long wait. So every step is taken through here.
"""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

REST_SECONDS = 0.001


class Rests:
    """When the last step ended; one for the window's thread."""

    def __init__(self) -> None:
        self._ended = 0.0

    def take(self, step: Callable[[], object]) -> bool:
        """Take a step unless the last one ended just now; whether it was taken."""
        if monotonic() - self._ended < REST_SECONDS:
            return False
        try:
            step()
        finally:
            self._ended = monotonic()
        return True


RESTS = Rests()
