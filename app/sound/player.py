"""Plays a piece through an output: samples from a rendering into it, a few times a moment."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from app.sound.outputs import FRAME_BYTES, STOPPED, Output, SoundError
from app.sound.rendering import Piece, Rendering
from core.takes.playing import Performance
from core.takes.synthesis import SAMPLE_RATE

STUCK_SECONDS = 2.0
"""So long an output may sound nothing of what it holds; it has lost its device then, which not
every system says."""
PUMP_MS = 15
"""A fraction of what the output holds, so that it never runs dry."""


class SoundPlayer(QObject):
    """One piece being played, from the thread of its output; over when it is, or stopped.

    Parameters
    ----------
    piece : Piece
    open_output : callable
        Opens the output; raises ``SoundError`` where there is none.

    Attributes
    ----------
    started_at_seconds : float or None
        The ``time.monotonic()`` at which the first samples were handed over.
    """

    started = Signal()
    """The first samples were handed over."""
    _ready = Signal()

    def __init__(
        self, piece: Piece, open_output: Callable[[], Output], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.error: Exception | None = None
        self.started_at_seconds: float | None = None
        self._output: Output | None = open_output()
        self._rest = b""
        self._written = self._sounded = 0
        self._moved = 0, time.monotonic()
        self._timer = QTimer(self, interval=PUMP_MS, timerType=Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._pump)
        self._ready.connect(self._on_ready, Qt.ConnectionType.QueuedConnection)
        self._rendering = Rendering(piece, on_ready=self._ready.emit)

    @property
    def performance(self) -> Performance | None:
        """What is played, once it is made."""
        return self._rendering.performance

    @property
    def seconds(self) -> float:
        """The second of the performance that sounds; of a loop it goes on through the rounds."""
        if self._output is not None:
            self._sounded = self._output.frames_sounded()
        return self._rendering.begin_seconds + self._sounded / SAMPLE_RATE

    @property
    def is_over(self) -> bool:
        """Whether nothing sounds any more."""
        return self._output is None

    def stop(self) -> None:
        """Fall silent at once; safe to call twice."""
        self._timer.stop()
        self._rendering.stop()
        if self._output is not None:
            self._sounded = self._output.frames_sounded()
            self._output.close()
            self._output = None

    def _on_ready(self) -> None:
        if self._output is not None and not self._timer.isActive():
            self._timer.start()
            self._pump()
            self.started_at_seconds = time.monotonic()
            self.started.emit()

    def _pump(self) -> None:
        output = self._output
        if output is None:
            return
        while (free := output.frames_free()) > 0:
            self._rest = self._rest or self._rendering.take() or b""
            if not self._rest:
                break
            taken = output.write(self._rest[: free * FRAME_BYTES])
            self._rest = self._rest[taken * FRAME_BYTES :]
            self._written += taken
            if not taken:
                break
        self._look_for_the_end(output)

    def _look_for_the_end(self, output: Output) -> None:
        sounded = output.frames_sounded()
        trouble = output.trouble()
        is_played = self._rendering.is_used_up and not self._rest
        if self._is_stuck(sounded):
            # What little is held back at the end is no reason to complain.
            trouble = trouble or (None if is_played else STOPPED)
            is_played, sounded = True, self._written
        self.error = self._rendering.error or (SoundError(trouble) if trouble else None)
        if self.error is not None or (is_played and sounded >= self._written):
            self.stop()

    def _is_stuck(self, sounded: int) -> bool:
        """Whether nothing has moved for long, though samples are there."""
        now = time.monotonic()
        if sounded != self._moved[0] or sounded >= self._written:
            self._moved = sounded, now
        return now - self._moved[1] > STUCK_SECONDS
