"""Other formats made MusicXML in a process of its own, for whoever shares one with the window.

The library that reads them holds the interpreter lock for seconds, and a file from a stranger
may keep it busy for ever or swell its memory; a process can be ended.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from app.job_process import JobProcess, Task, Told
from app.patience import LEAST_SECONDS, OTHERS_SECONDS_A_KILOBYTE

if TYPE_CHECKING:
    from core.score.formats.converting import Format

_MEMORY_BYTES = 2**30


def convert_apart(data: bytes, known: Format, *, name: str) -> bytes:
    """As ``core.score.formats.converting.converted``; waits, so call it on a thread.

    Raises
    ------
    UnreadableFileError, UnsupportedScoreError
        As ``converted``.
    JobError
        It took too long or too much memory.
    """
    task = Task(
        work=_convert,
        arguments=(data, known, name),
        timeout_seconds=max(LEAST_SECONDS, OTHERS_SECONDS_A_KILOBYTE * len(data) / 1024),
        memory_bytes=_MEMORY_BYTES,
    )
    told: list[Told] = []
    JobProcess(Path(name).name, task).attend(told.append)
    outcome, value = told[-1]
    if outcome == "failed":
        raise value
    made: bytes = value
    return made


def _convert(data: bytes, known: Format, name: str) -> bytes:
    from core.score.formats.converting import converted

    return converted(data, known, name=name)
