"""A thread that makes a performance and its samples ahead of the output.

The samples wait in a short queue; the thread sleeps while it is full. NumPy lets go of the
interpreter in its products, so the window hardly notices.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.takes.playing import Performance
from core.takes.synthesis import SAMPLE_RATE, Synthesis, pcm16

FIRST_FRAMES, BLOCK_FRAMES = 2048, 4096
"""The first block is ready soonest; later ones cost less a frame (46 and 93 ms)."""
AHEAD_FRAMES = SAMPLE_RATE // 2
"""What is rendered ahead; little, so that a change of speed is heard at once."""
FADE_FRAMES = 220
"""Of a beginning in the middle of sounding notes: 5 ms, lest it click."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """What is to be rendered.

    Parameters
    ----------
    perform : callable
        Makes the performance; called on the thread.
    begin : callable
        Takes the performance; the second of it to begin at.
    loops : bool
    """

    perform: Callable[[], Performance]
    begin: Callable[[Performance], float] = lambda performance: 0.0
    loops: bool = False


class Rendering:
    """Samples of a piece, block by block.

    Parameters
    ----------
    piece : Piece
    on_ready : callable
        Called on the thread when the first block waits, or there will be none.

    Attributes
    ----------
    performance : Performance or None
        Once it is made.
    begin_seconds : float
        Where in it the samples begin.
    error : Exception or None
        What ended it.
    """

    def __init__(self, piece: Piece, *, on_ready: Callable[[], None]) -> None:
        self.performance: Performance | None = None
        self.begin_seconds = 0.0
        self.error: Exception | None = None
        self._piece, self._on_ready = piece, on_ready
        self._blocks: deque[bytes] = deque()
        self._changed = threading.Condition()
        self._waiting_frames = 0
        self._is_stopped = self._is_complete = False
        threading.Thread(target=self._run, name="postil: rendering", daemon=True).start()

    @property
    def is_used_up(self) -> bool:
        """Whether all samples were taken, and no more come."""
        with self._changed:
            return self._is_complete and not self._blocks

    def take(self) -> bytes | None:
        """The next block of 16 bit samples; None while none waits."""
        with self._changed:
            if not self._blocks:
                return None
            block = self._blocks.popleft()
            self._waiting_frames -= len(block) // 4
            self._changed.notify()
            return block

    def stop(self) -> None:
        """Let the thread end, which it does after its block; nothing more is told. No waiting."""
        with self._changed:
            self._is_stopped = True
            self._changed.notify()

    def _run(self) -> None:
        try:
            self._render()
        except Exception as error:  # noqa: BLE001 - told on the window's thread
            self.error = error
        with self._changed:
            self._is_complete = True
        self._tell_ready()

    def _render(self) -> None:
        performance = self._piece.perform()
        self.performance = performance
        if not len(performance):
            return
        self.begin_seconds = max(self._piece.begin(performance), 0.0)
        synthesis = Synthesis(performance)
        first = frame = round(self.begin_seconds * SAMPLE_RATE)
        some = FIRST_FRAMES
        while self._piece.loops or frame < synthesis.frames:
            if not self._piece.loops:
                some = min(some, synthesis.frames - frame)
            make = synthesis.looped_block if self._piece.loops else synthesis.block
            samples = make(frame, some)
            if frame == first and first:
                samples[:FADE_FRAMES] *= np.linspace(0, 1, len(samples[:FADE_FRAMES]))[:, None]
            if not self._queue(pcm16(samples)):
                return
            if frame == first:
                self._tell_ready()
            frame, some = frame + some, BLOCK_FRAMES

    def _tell_ready(self) -> None:
        with self._changed:
            # Held meanwhile: once stopped, whoever wanted to know may be gone.
            if not self._is_stopped:
                self._on_ready()

    def _queue(self, block: bytes) -> bool:
        """Add a block when there is room; whether it is still wanted."""
        with self._changed:
            self._changed.wait_for(lambda: self._is_stopped or self._waiting_frames < AHEAD_FRAMES)
            if not self._is_stopped:
                self._blocks.append(block)
                self._waiting_frames += len(block) // 4
            return not self._is_stopped
