"""A rest after every long step on the window's thread, so that whatever else waits comes in.

Steps are taken by timers of several rooms, and timers that are due together fire together: each
would be short, and all of them one long wait. Whoever takes a step asks first and tells after.
"""

from __future__ import annotations

from time import monotonic

REST_SECONDS = 0.001


class Rests:
    """When the last step ended; one for the window's thread."""

    def __init__(self) -> None:
        self._ended = 0.0

    def is_over(self) -> bool:
        """Whether another step may be taken now; else ask again in the next turn."""
        return monotonic() - self._ended >= REST_SECONDS

    def begin(self) -> None:
        """A step has ended."""
        self._ended = monotonic()


RESTS = Rests()
