"""Plays a performance on an instrument: a thread that sends each key at its time."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator

from app.midi.ports import MidiOut, MidiPortError
from core.takes.playing import Performance

_ALL_NOTES_OFF, _ALL_SOUND_OFF = 123, 120
_CHANNEL = 0

Key = tuple[float, bool, int, int]
"""Second, whether it goes down, pitch, velocity."""


def keys_of(performance: Performance) -> list[Key]:
    """Keys in the order of sending: at one moment those that go up come first."""
    keys: list[Key] = []
    for onset, held, pitch, velocity in zip(
        performance.onset_seconds.tolist(),
        performance.duration_seconds.tolist(),
        performance.midi_pitch.tolist(),
        performance.velocity.tolist(),
        strict=True,
    ):
        keys += [(onset, True, pitch, velocity), (onset + held, False, pitch, 64)]
    return sorted(keys, key=lambda key: key[:3])


class MidiPlayer:
    """One piece being played through a port; over when it is, or stopped.

    Parameters
    ----------
    perform : callable
        Makes the performance; called on the thread.
    begin : callable
        Takes the performance; the second of it to begin at.
    loops : bool
    port : MidiOut
        Closed at the end.
    port_name : str
    """

    def __init__(
        self,
        perform: Callable[[], Performance],
        begin: Callable[[Performance], float],
        *,
        loops: bool,
        port: MidiOut,
        port_name: str,
    ) -> None:
        self.performance: Performance | None = None
        self.error: Exception | None = None
        self._perform, self._begin, self._loops = perform, begin, loops
        self._port, self._port_name = port, port_name
        self._begin_seconds = 0.0
        self.started_at_seconds: float | None = None
        self._stopped_after: float | None = None
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="postil: to MIDI", daemon=True)
        self._thread.start()

    @property
    def seconds(self) -> float:
        """The second of the performance that sounds; of a loop it goes on through the rounds."""
        if self._stopped_after is not None:
            return self._stopped_after
        if self.started_at_seconds is None:
            return self._begin_seconds
        return self._begin_seconds + time.monotonic() - self.started_at_seconds

    @property
    def is_over(self) -> bool:
        """Whether the last key is up."""
        return not self._thread.is_alive()

    def stop(self) -> None:
        """Let all keys up at once, and close the port; safe to call twice."""
        self._stop.set()
        self._thread.join()

    def _run(self) -> None:
        try:
            self.performance = self._perform()
            self._begin_seconds = max(self._begin(self.performance), 0.0)
            self._send_all(self.performance)
        except OSError as error:
            reason = f"It stopped taking messages ({error}). Is it still plugged in?"
            self.error = MidiPortError(self._port_name, reason)
        except Exception as error:  # noqa: BLE001 - told on the window's thread
            self.error = error
        finally:
            self._stopped_after = self.seconds
            self._let_go()

    def _send_all(self, performance: Performance) -> None:
        import mido

        self.started_at_seconds = time.monotonic()
        down: set[int] = set()
        for at, is_down, pitch, velocity in self._timed(performance):
            if not self._wait_until(self.started_at_seconds + at - self._begin_seconds):
                break
            if is_down or pitch in down:
                kind = "note_on" if is_down else "note_off"
                self._port.send(mido.Message(kind, channel=_CHANNEL, note=pitch, velocity=velocity))
            down = down | {pitch} if is_down else down - {pitch}
        for pitch in sorted(down):
            self._port.send(mido.Message("note_off", channel=_CHANNEL, note=pitch))

    def _timed(self, performance: Performance) -> Iterator[Key]:
        """Keys from the beginning on; of a loop without end."""
        keys, rounds = keys_of(performance), 0
        while keys:
            gone = rounds * performance.length_seconds
            for at, is_down, pitch, velocity in keys:
                if at + gone >= self._begin_seconds:
                    yield at + gone, is_down, pitch, velocity
            if not self._loops:
                return
            rounds += 1

    def _wait_until(self, moment: float) -> bool:
        """Wait; whether playing goes on."""
        rest = moment - time.monotonic()
        return not (self._stop.wait(rest) if rest > 0 else self._stop.is_set())

    def _let_go(self) -> None:
        import mido

        try:
            for control in (_ALL_NOTES_OFF, _ALL_SOUND_OFF):
                self._port.send(
                    mido.Message("control_change", channel=_CHANNEL, control=control, value=0)
                )
            self._port.close()
        except (OSError, ValueError):
            # Unplugged: there is nothing left that could sound.
            return
