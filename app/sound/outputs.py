"""Where samples go: the audio output of this machine, through QtMultimedia.

Samples are 44.1 kHz, 16 bit, two channels. QtMultimedia is imported when it is first needed, for
it loads much, and may lack libraries of the system; no audio at all is said in a sentence.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING, Protocol

from app import system_libraries
from core.errors import PostilError
from core.takes.synthesis import CHANNELS, SAMPLE_RATE

if TYPE_CHECKING:
    from PySide6.QtCore import QIODevice
    from PySide6.QtMultimedia import QAudioDevice, QAudioFormat, QAudioSink

FRAME_BYTES = 2 * CHANNELS
BUFFER_SECONDS = 0.25
"""What the output holds: longer than a busy machine may keep the player waiting."""
INSTEAD = "The passage can be saved as WAV or MIDI instead."
NO_DEVICE = f"There is no audio output on this machine. {INSTEAD}"
STOPPED = f"The audio output stopped. Is it still connected? {INSTEAD}"
REFUSED = (
    f"The audio output does not take sound at {SAMPLE_RATE / 1000:g} kHz, or is in use by "
    f"something else. {INSTEAD}"
)


class SoundError(PostilError):
    """Nothing can be heard: the ``reason``, and what to do, as sentences."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason

    def __str__(self) -> str:
        return self.reason


class Output(Protocol):
    """Takes samples and sounds them in time. Used from one thread."""

    def frames_free(self) -> int:
        """How many frames it takes at once just now."""

    def write(self, samples: bytes) -> int:
        """Hand frames over; how many were taken."""

    def frames_sounded(self) -> int:
        """How many of them have been sounded."""

    def trouble(self) -> str | None:
        """A sentence where it has failed since."""

    def close(self) -> None:
        """Fall silent at once."""


def open_default_output() -> Output:
    """The default output of this machine, silent and ready.

    Raises
    ------
    SoundError
        There is none, it is taken, or QtMultimedia can't be used here.
    """
    media = _qt_multimedia()
    device = media.QMediaDevices.defaultAudioOutput()
    if device.isNull():
        raise SoundError(NO_DEVICE)
    wanted = media.QAudioFormat()
    wanted.setSampleRate(SAMPLE_RATE)
    wanted.setChannelCount(CHANNELS)
    wanted.setSampleFormat(media.QAudioFormat.SampleFormat.Int16)
    if not device.isFormatSupported(wanted):
        raise SoundError(REFUSED)
    return _QtOutput(device, wanted)


class _QtOutput:
    """A QAudioSink that is written to."""

    def __init__(self, device: QAudioDevice, wanted: QAudioFormat) -> None:
        from PySide6.QtMultimedia import QAudioSink

        self._sink: QAudioSink = QAudioSink(device, wanted)
        self._sink.setBufferSize(round(BUFFER_SECONDS * SAMPLE_RATE) * FRAME_BYTES)
        self._written = 0
        pipe: QIODevice | None = self._sink.start()
        if pipe is None or self.trouble():
            self._sink.stop()
            raise SoundError(REFUSED)
        self._pipe = pipe

    def frames_free(self) -> int:
        return self._sink.bytesFree() // FRAME_BYTES

    def write(self, samples: bytes) -> int:
        frames = max(self._pipe.write(samples), 0) // FRAME_BYTES
        self._written += frames
        return frames

    def frames_sounded(self) -> int:
        waiting = max(self._sink.bufferSize() - self._sink.bytesFree(), 0) // FRAME_BYTES
        return max(self._written - waiting, 0)

    def trouble(self) -> str | None:
        from PySide6.QtMultimedia import QtAudio

        # An underrun is a moment without samples, at the end at least; no failure.
        if self._sink.error() in (QtAudio.Error.NoError, QtAudio.Error.UnderrunError):
            return None
        return STOPPED

    def close(self) -> None:
        self._sink.reset()
        self._sink.stop()


def _qt_multimedia() -> ModuleType:
    try:
        from PySide6 import QtMultimedia
    except ImportError as error:
        raise SoundError(_lacking(error)) from error
    return QtMultimedia


def _lacking(error: ImportError) -> str:
    missing = system_libraries.missing_libraries(system_libraries.SOUND_AND_MIDI)
    if sys.platform != "linux" or not missing:
        return f"Sound can't be used here ({error}). {INSTEAD}"
    packages = " ".join(system_libraries.packages_of(missing))
    return (
        f"Sound needs libraries that this system lacks (on Debian and Ubuntu: sudo apt-get "
        f"install {packages}). {INSTEAD}"
    )
