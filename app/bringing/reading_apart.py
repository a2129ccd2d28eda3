"""Reading one file in a worker's process: what comes back is what is kept, and a few words.

Nothing here loads Qt or the notebook's store. The score itself, with its tables, never leaves the
worker: a folder of scores is never in memory at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.notebook.pieces import ScoreToKeep


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadFile:
    """A file that was read.

    Parameters
    ----------
    score : ScoreToKeep
    measures : int
    format : str
        As musicians know it.
    noticed : tuple of str
        What was guessed, then what was put right or left out, as sentences.
    note_count : int
    notes_digest : str
        As ``core.score.same_notes``.
    """

    score: ScoreToKeep
    measures: int
    format: str
    noticed: tuple[str, ...]
    note_count: int
    notes_digest: str


def read_file(path: Path) -> ReadFile:
    """Read a score's file.

    Raises
    ------
    UnreadableFileError, UnsupportedScoreError
        As ``core.score.reading.read_score``.
    """
    from core.notebook.pieces import to_keep
    from core.score.reading import read_score
    from core.score.same_notes import note_count, notes_digest
    from core.score.score_files import format_name

    read = read_score(path)
    score = read.score
    return ReadFile(
        score=to_keep(read),
        measures=len(score.measures),
        format=format_name(read.original),
        noticed=(*score.guesses, *score.oddities),
        note_count=note_count(score.notes),
        notes_digest=notes_digest(score.notes),
    )


def digest_of_canonical(canonical: bytes) -> str:
    """``notes_digest`` of a score that is on the shelf. Raises UnreadableFileError."""
    from core.score.reading import score_from_canonical
    from core.score.same_notes import notes_digest

    return notes_digest(score_from_canonical(canonical, sha256="0" * 64).notes)


def work(task: Path | bytes) -> ReadFile | str:
    """What a worker does with a file, and with a canonical form from the shelf."""
    return digest_of_canonical(task) if isinstance(task, bytes) else read_file(task)
