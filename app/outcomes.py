"""What becomes of a task: its answer, or the exception in its place."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from core.errors import PostilError

TaskT = TypeVar("TaskT")
AnswerT = TypeVar("AnswerT")


class WorkerDiedError(Exception):
    """The process that worked on a task ended before it answered."""

    def __init__(self, exit_code: int | None) -> None:
        super().__init__(exit_code)
        self.exit_code = exit_code

    def __str__(self) -> str:
        return (
            f"The process that worked on it ended unexpectedly (exit code {self.exit_code}). "
            "Try it alone; if it ends again, please report it with the file."
        )


class NoWorkerError(PostilError):
    """No process could be started, for the ``reason`` that the system gave."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason

    def __str__(self) -> str:
        return (
            f"No process could be started to read files ({self.reason}). Close other programs "
            "and try again; what was read stays."
        )


class TookTooLongError(Exception):
    """A task was given up after so many ``seconds``, and its process ended."""

    def __init__(self, seconds: float) -> None:
        super().__init__(seconds)
        self.seconds = seconds

    def __str__(self) -> str:
        return (
            f"It was given up after {self.seconds:.0f} seconds: it seems to have no end. Open it "
            "where it was made and export it again."
        )


class TookTooMuchError(Exception):
    """A task wanted more memory than a worker may hold."""

    def __str__(self) -> str:
        return (
            "There was not enough memory for it. Split the score, or open it where it was made "
            "and export it again."
        )


def outcome_of(function: Callable[[TaskT], AnswerT], task: TaskT) -> AnswerT | Exception:
    """The answer, or the exception in its place."""
    try:
        return function(task)
    except MemoryError:
        return TookTooMuchError()
    except Exception as error:  # noqa: BLE001 - a bug met by one task must not end the others
        return error
