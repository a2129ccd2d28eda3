"""A performance as files: WAV with the built-in piano, and a Standard MIDI File.

Conventions: WAV is 44.1 kHz, 16 bit, two channels. A file is written beside its place and moved
there when it is whole: what stood there before stays if anything goes wrong.
"""

from __future__ import annotations

import os
import tempfile
import wave
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from core.errors import StorageError
from core.exchange.midi_file import midi_file
from core.takes.playing import Performance
from core.takes.synthesis import CHANNELS, SAMPLE_RATE, Synthesis, pcm16

_BLOCK_FRAMES = 8192
_LONGEST_BYTES = 2**32 - 2**16
"""What the lengths in a WAV file can say, with room for its head."""


def write_wav(
    performance: Performance, path: Path, *, is_wanted: Callable[[], bool] = lambda: True
) -> bool:
    """Write the sound of a performance; whether it was written.

    Parameters
    ----------
    is_wanted : callable
        Asked before each block; when it says no, nothing is written.

    Raises
    ------
    StorageError
        The file can't be written, or would be too long for WAV.
    """
    synthesis = Synthesis(performance)
    if synthesis.frames * CHANNELS * 2 > _LONGEST_BYTES:
        raise StorageError(path, "A WAV file can't hold so much. Choose a shorter passage.")
    with _whole_or_nothing(path) as beside:
        with beside.open("wb") as file, wave.open(file, "wb") as sound:
            sound.setnchannels(CHANNELS)
            sound.setsampwidth(2)
            sound.setframerate(SAMPLE_RATE)
            sound.setnframes(synthesis.frames)
            for first in range(0, synthesis.frames, _BLOCK_FRAMES):
                if not is_wanted():
                    return False
                some = min(_BLOCK_FRAMES, synthesis.frames - first)
                sound.writeframesraw(pcm16(synthesis.block(first, some)))
        beside.replace(path)
    return True


def write_midi(performance: Performance, path: Path) -> None:
    """Write a performance as a Standard MIDI File.

    Raises
    ------
    StorageError
        The file can't be written.
    """
    data = midi_file(performance)
    with _whole_or_nothing(path) as beside:
        beside.write_bytes(data)
        beside.replace(path)


@contextmanager
def _whole_or_nothing(path: Path) -> Iterator[Path]:
    """A file beside ``path`` to write to; gone afterwards unless it was moved."""
    beside: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=path.suffix)
        os.close(handle)
        beside = Path(name)
        # A temporary file is private; this one is a document like any other.
        beside.chmod(0o644)
        yield beside
    except (OSError, wave.Error) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise StorageError(
            path, f"It could not be written ({reason}). Choose another folder, or make room."
        ) from error
    finally:
        if beside is not None:
            beside.unlink(missing_ok=True)
