"""An audio output that listens, for machines without one, and players that use it."""

from __future__ import annotations

import os
import pickle
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.midi.ports import MidiOut, MidiPortError
from app.sound.outputs import Output
from app.sound.performer import Performer
from app.sound.talk import Doors, News, Wish
from core.takes.synthesis import SAMPLE_RATE


class ListeningOutput:
    """Takes samples as fast as they would sound, times ``haste``, and keeps them."""

    def __init__(self, *, haste: float = 1.0, buffer_seconds: float = 0.25) -> None:
        self.haste = haste
        self.buffer_frames = int(buffer_seconds * SAMPLE_RATE)
        self.heard = bytearray()
        self.first_at: float | None = None
        self.is_closed = False
        self.broken: str | None = None
        self.underruns = 0

    def frames_free(self) -> int:
        return self.buffer_frames - (self._written - self.frames_sounded())

    def write(self, samples: bytes) -> int:
        taken = min(len(samples) // 4, self.frames_free())
        if self.first_at is None:
            self.first_at = time.monotonic()
        elif self._due() > self._written:
            self.underruns += 1
        self.heard += samples[: taken * 4]
        return taken

    def frames_sounded(self) -> int:
        return min(self._due(), self._written)

    def trouble(self) -> str | None:
        return self.broken

    def close(self) -> None:
        self.is_closed = True

    @property
    def samples(self) -> NDArray[np.int16]:
        """What was handed over, shape (frames, 2)."""
        return np.frombuffer(bytes(self.heard), dtype="<i2").reshape(-1, 2)

    @property
    def _written(self) -> int:
        return len(self.heard) // 4

    def _due(self) -> int:
        if self.first_at is None:
            return 0
        return int((time.monotonic() - self.first_at) * self.haste * SAMPLE_RATE)


NOTED = "POSTIL_TEST_NOTED"
"""In the environment: the file where an output in another process notes how often it ran dry."""


class NotingOutput(ListeningOutput):
    """One that says at its end how often it ran dry."""

    def close(self) -> None:
        if not self.is_closed and self.first_at is not None:
            with Path(os.environ[NOTED]).open("a") as file:
                file.write(f"{self.underruns}\n")
        super().close()


def open_noting_output() -> NotingOutput:
    """An output that can be named to another process."""
    return NotingOutput()


def no_port(name: str) -> MidiOut:
    """A machine without MIDI."""
    raise MidiPortError(name, "It isn't there.")


def open_listening_output() -> ListeningOutput:
    """An output that can be named to another process."""
    return ListeningOutput()


class DirectPlayer:
    """A player in the test's own process: what it is told is done at once."""

    def __init__(self, doors: Doors, tell: Callable[[News], None]) -> None:
        self._performer = Performer(doors, tell)

    def send(self, wish: Wish) -> None:
        # As through a pipe: nothing that can't be handed over is handed over.
        self._performer.do(pickle.loads(pickle.dumps(wish)))

    def shut_down(self, *, at_once: bool = True) -> None:
        self._performer.shut_down()


def doors(
    open_output: Callable[[], Output],
    *,
    port_names: Callable[[], tuple[str, ...]] = tuple,
    why_no_port: Callable[[], str | None] = str,
    open_port: Callable[[str], MidiOut] = no_port,
) -> Doors:
    """Doors of which one matters."""
    return Doors(
        open_output=open_output,
        port_names=port_names,
        why_no_port=why_no_port,
        open_port=open_port,
    )
