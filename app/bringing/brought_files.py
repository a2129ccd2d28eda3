"""What is known of each file that is being brought in, and how it is said. No Qt, no scores."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from app.outcomes import TookTooLongError, TookTooMuchError, WorkerDiedError
from core.errors import PostilError, StorageError, UnreadableFileError, UnsupportedScoreError


class FileState(StrEnum):
    """Where a file stands; the values are what people are told."""

    WAITING = "waits"
    READING = "is being read"
    READ = "read"
    BAD = "could not be read"
    HERE = "already here"
    ASKS = "asks you"
    LEFT = "not read: stopped before it"


OPEN_STATES = (FileState.WAITING, FileState.READING)
"""Those of files that are still to be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """Why a file could not be read: where in it, what is wrong, what to do."""

    place: str
    why: str
    what_to_do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Twin:
    """A piece that holds the same as a file.

    Parameters
    ----------
    piece_id : int
    title : str
    brought_in_at : datetime
    is_same_file : bool
        Byte for byte; otherwise the same notes, in another file.
    """

    piece_id: int
    title: str
    brought_in_at: datetime
    is_same_file: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtFile:
    """One file of those that are brought in.

    Parameters
    ----------
    index : int
        Its place among them, from 0.
    path : pathlib.Path
        A tune of a book is named ``book.abc#3``.
    length_bytes : int
    takes_both : bool
        It is kept even if the same notes are on the shelf.
    piece_id : int
        0 until it is on the shelf.
    format : str
        As musicians know it.
    noticed : tuple of str
        What was guessed, then what was put right or left out, as sentences.
    """

    index: int
    path: Path
    length_bytes: int = 0
    state: FileState = FileState.WAITING
    takes_both: bool = False
    piece_id: int = 0
    title: str = ""
    composer: str = ""
    measures: int = 0
    format: str = ""
    noticed: tuple[str, ...] = ()
    trouble: Trouble | None = None
    twin: Twin | None = None

    @property
    def name(self) -> str:
        """Its name without the folder."""
        return self.path.name


@dataclass(slots=True, kw_only=True)
class Counts:
    """How many files stand where."""

    of: dict[FileState, int] = field(default_factory=lambda: dict.fromkeys(FileState, 0))

    @property
    def total(self) -> int:
        """All of them."""
        return sum(self.of.values())

    @property
    def done(self) -> int:
        """Those that are decided on, or ask."""
        return self.total - sum(self.of[state] for state in (*OPEN_STATES, FileState.LEFT))

    def move(self, before: FileState | None, after: FileState) -> None:
        """A file came from one state to another."""
        if before is not None:
            self.of[before] -= 1
        self.of[after] += 1

    def words(self) -> str:
        """As "23 read, 3 could not be, 2 ask you"; empty while nothing is done."""
        of = self.of
        asks = of[FileState.ASKS]
        told = (
            (of[FileState.READ], "{} read"),
            (of[FileState.BAD], "{} could not be"),
            (of[FileState.HERE], "{} already here"),
            (asks, "{} asks you" if asks == 1 else "{} ask you"),
            (of[FileState.LEFT], "{} not read"),
        )
        return ", ".join(words.format(number) for number, words in told if number)


_FIRST_SENTENCE = re.compile(r"(?<=[.)])\s+(?=[A-Z])")
BUG = "Something in Postil went wrong with it, which should not have."
REPORT_IT = "Try it alone; if it goes wrong again, please report it with the file."
NO_MEMORY = ("There was not enough memory for it.", "Close other programs, or split the score.")
NO_END = "It was given up after {:.0f} seconds: reading it seems to have no end."
EXPORT = "Open it where it was made and export it again, as MusicXML if that can be chosen."


def trouble_of(error: Exception) -> Trouble:
    """An error as place, reason and advice.

    Sentences of an error say first what is wrong, then what to do.
    """
    match error:
        case UnreadableFileError():
            return _in_sentences(error.reason, error.place or "the whole file")
        case UnsupportedScoreError():
            return _in_sentences(error.feature, "the whole file")
        case StorageError():
            return _in_sentences(error.reason, "the notebook")
        case TookTooLongError():
            return _whole(NO_END.format(error.seconds), EXPORT)
        case TookTooMuchError():
            return _whole(*NO_MEMORY)
        case WorkerDiedError():
            return _whole(f"Reading it ended unexpectedly (status {error.exit_code}).", REPORT_IT)
        case PostilError():
            return _in_sentences(str(error), "the whole file")
    return _whole(BUG, REPORT_IT)


def _in_sentences(text: str, place: str) -> Trouble:
    why, *rest = _FIRST_SENTENCE.split(text, maxsplit=1)
    return Trouble(place=place, why=why, what_to_do=" ".join(rest))


def _whole(why: str, what_to_do: str) -> Trouble:
    return Trouble(place="the whole file", why=why, what_to_do=what_to_do)


def list_of_troubles(files: Iterable[BroughtFile]) -> str:
    """What could not be read, one file a line, its cells divided by tabs; with its folder."""
    rows = [("file", "place", "why", "what to do")]
    for each in files:
        if each.trouble is not None:
            trouble = each.trouble
            rows.append((str(each.path), trouble.place, trouble.why, trouble.what_to_do))
    return "\n".join("\t".join(_one_line(cell) for cell in row) for row in rows) + "\n"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def time_left(seconds: float) -> str:
    """As "about 20 s left"; rounded, since it is a guess."""
    if seconds < 5:
        return "a few seconds left"
    if seconds < 55:
        return f"about {5 * round(seconds / 5)} s left"
    minutes = round(seconds / 60)
    return f"about {max(minutes, 1)} min left"
