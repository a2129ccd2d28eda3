"""How long a file may take before it is given up, and what it costs beside others.

What is short has ten seconds: a broken file that keeps a reader busy for longer has no end. What
is long may take long, in proportion to its length: no reader can say how far it is, so length
stands for it. The shares are five to twenty times what the slowest of 366 files and tunes of
music21's corpus took, each format by itself, on one core of a slow machine.
"""

from __future__ import annotations

from pathlib import Path

from core.score.formats.tune_books import place_in_book

LEAST_SECONDS = 10.0
MOST_SECONDS = 900.0
ANALYSING_TIMES = 3.0
"""Reading and analysing what is long, against reading alone."""
_READING_SECONDS_A_KILOBYTE = {".musicxml": 0.01, ".xml": 0.01, ".mxl": 0.01, ".mei": 0.05}
OTHERS_SECONDS_A_KILOBYTE = 0.3
"""Of formats whose readers are slow: Humdrum, ABC; MIDI says much in few bytes."""
_LEAST_COST = 2.0
"""Even of a short file."""
_PACKED = ".mxl"
_TUNE_BYTES = 1024
"""A tune in a book is about so long; to look would be to read the book again for each."""


def length_bytes(path: Path) -> int:
    """Of the file, unpacked; 0 where it can't be told: whoever reads it says why."""
    try:
        if place_in_book(path) is not None and not path.exists():
            return _TUNE_BYTES
        length = path.stat().st_size
    except (OSError, ValueError):
        return 0
    return _unpacked_bytes(path) if path.suffix.lower() == _PACKED else length


def _unpacked_bytes(path: Path) -> int:
    import zipfile

    try:
        with zipfile.ZipFile(path) as packed:
            return max((entry.file_size for entry in packed.infolist()), default=0)
    except (OSError, ValueError, zipfile.BadZipFile, NotImplementedError):
        return 0


def reading_seconds(path: Path, length: int) -> float:
    """After how long reading a file of this length is given up."""
    return _within(_share(path) * length / 1024)


def analysing_seconds(path: Path, length: int) -> float:
    """After how long reading and analysing it is given up."""
    return _within(ANALYSING_TIMES * _share(path) * length / 1024)


def reading_cost(path: Path, length: int) -> float:
    """What reading it costs beside others, in no unit."""
    return _LEAST_COST + _share(path) * length / 1024


def _share(path: Path) -> float:
    suffix = path.suffix.lower().partition("#")[0]
    return _READING_SECONDS_A_KILOBYTE.get(suffix, OTHERS_SECONDS_A_KILOBYTE)


def _within(seconds: float) -> float:
    return min(max(LEAST_SECONDS, seconds), MOST_SECONDS)
