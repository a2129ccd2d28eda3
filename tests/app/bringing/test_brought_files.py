"""What is said of a file: errors as place, reason, advice; counts and times as words."""

from __future__ import annotations

import pytest

from app.bringing.brought_files import (
    BUG,
    REPORT_IT,
    Counts,
    FileState,
    Trouble,
    time_left,
    trouble_of,
)
from app.outcomes import TookTooLongError, TookTooMuchError, WorkerDiedError
from core.errors import StorageError, UnreadableFileError, UnsupportedScoreError

WHOLE = "the whole file"


@pytest.mark.parametrize(
    ("error", "trouble"),
    [
        (
            UnreadableFileError("a.xml", "It breaks off. Get a whole copy. Or not.", "line 3"),
            ("line 3", "It breaks off.", "Get a whole copy. Or not."),
        ),
        (
            UnreadableFileError("a.xml", "It is no XML (line 3, e.g. here). Export it again."),
            (WHOLE, "It is no XML (line 3, e.g. here).", "Export it again."),
        ),
        (UnreadableFileError("a.xml", "It is a folder."), (WHOLE, "It is a folder.", "")),
        (
            UnsupportedScoreError("a.mid", "There is not one note in it. Choose another."),
            (WHOLE, "There is not one note in it.", "Choose another."),
        ),
        (
            StorageError("notebook", "The disk is full. Make room."),
            ("the notebook", "The disk is full.", "Make room."),
        ),
        (RuntimeError("secret"), (WHOLE, BUG, REPORT_IT)),
    ],
)
def test_an_error_as_place_reason_and_advice(
    error: Exception, trouble: tuple[str, str, str]
) -> None:
    place, why, what_to_do = trouble
    assert trouble_of(error) == Trouble(place=place, why=why, what_to_do=what_to_do)


@pytest.mark.parametrize(
    "error", [TookTooLongError(10.0), TookTooMuchError(), WorkerDiedError(-9), ValueError("x")]
)
def test_whatever_ended_it_there_is_something_to_do(error: Exception) -> None:
    trouble = trouble_of(error)
    assert trouble.why.endswith(".")
    assert trouble.what_to_do.endswith(".")


def test_counts_speak_only_of_what_there_is() -> None:
    counts = Counts()
    assert counts.words() == ""
    for state in (FileState.READ, FileState.READ, FileState.WAITING, FileState.ASKS):
        counts.move(None, state)
    assert (counts.done, counts.total, counts.words()) == (3, 4, "2 read, 1 asks you")
    counts.move(FileState.WAITING, FileState.READING)
    counts.move(FileState.READING, FileState.ASKS)
    assert (counts.done, counts.words()) == (4, "2 read, 2 ask you")
    counts.move(FileState.READ, FileState.LEFT)
    assert (counts.done, counts.words()) == (3, "1 read, 2 ask you, 1 not read")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.0, "a few seconds left"),
        (4.9, "a few seconds left"),
        (5.0, "about 5 s left"),
        (21.0, "about 20 s left"),
        (54.0, "about 55 s left"),
        (58.0, "about 1 min left"),
        (89.0, "about 1 min left"),
        (150.1, "about 3 min left"),
    ],
)
def test_time_is_rounded(seconds: float, words: str) -> None:
    assert time_left(seconds) == words
