"""Working on many things in processes of their own, with the outcomes in order.

Conventions: what costs most is begun first, since a long task begun last would be waited for with
idle processors; of the rest none is begun far ahead of the one whose outcome is awaited, so that
few outcomes are held.
"""

from __future__ import annotations

import signal
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING, Generic, TypeVar

from app.outcomes import TookTooLongError, outcome_of

# A crew is loaded where it is hired: one task alone needs none.
if TYPE_CHECKING:
    from app.crew import Crew

TaskT = TypeVar("TaskT")
AnswerT = TypeVar("AnswerT")

LONG_SHARE = 0.01
"""Of the whole cost: what costs more is begun first. There are at most a hundred such tasks."""
AHEAD = 200
"""How far ahead of the outcome that is awaited a task may be begun."""
MEMORY_BYTES = 2 * 2**30
"""What a worker may hold."""


def outcomes(
    function: Callable[[TaskT], AnswerT],
    tasks: Sequence[TaskT],
    *,
    jobs: int,
    seconds: Callable[[TaskT], float | None] = lambda _task: None,
    cost: Callable[[TaskT], float] = lambda _task: 0.0,
) -> Generator[AnswerT | Exception, None, None]:
    """Answers, or the exceptions in their place, in the order of the tasks.

    Parameters
    ----------
    function : callable
        Importable by name; its answers and exceptions can be pickled.
    tasks : sequence
        One alone is done in this process.
    jobs : int
        Processes at a time. They end with the last answer, or when the generator is closed.
    seconds : callable
        After how long a task is given up; None for never. One alone is given up where the system
        has alarms, and this is the main thread.
    cost : callable
        What a task costs beside the others, in any unit.
    """
    if len(tasks) <= 1:
        for task in tasks:
            yield _alone(function, task, seconds(task))
        return
    from app.crew import Crew, Terms

    crew: Crew[int, TaskT, AnswerT] = Crew(
        function, Terms(size=min(jobs, len(tasks)), memory_bytes=MEMORY_BYTES)
    )
    try:
        yield from _InOrder(crew, tasks, seconds, cost).outcomes()
    finally:
        crew.dismiss()


class _InOrder(Generic[TaskT, AnswerT]):
    """Hands tasks to a crew and gives the outcomes in order."""

    def __init__(
        self,
        crew: Crew[int, TaskT, AnswerT],
        tasks: Sequence[TaskT],
        seconds: Callable[[TaskT], float | None],
        cost: Callable[[TaskT], float],
    ) -> None:
        self._crew, self._tasks, self._seconds = crew, tasks, seconds
        costs = [cost(task) for task in tasks]
        least = LONG_SHARE * sum(costs)
        long = sorted(
            (index for index, value in enumerate(costs) if value > least),
            key=lambda index: -costs[index],
        )
        self._long = deque(long)
        first = set(long)
        self._others = deque(index for index in range(len(tasks)) if index not in first)
        self._done: dict[int, AnswerT | Exception] = {}

    def outcomes(self) -> Iterator[AnswerT | Exception]:
        for index in range(len(self._tasks)):
            while index not in self._done:
                self._give(index)
                self._done.update(self._crew.gather())
            yield self._done.pop(index)

    def _give(self, awaited: int) -> None:
        """Keep every worker busy, and one task more at hand."""
        while self._crew.unanswered <= self._crew.size:
            if self._long:
                index = self._long.popleft()
            elif self._others and self._others[0] < awaited + AHEAD:
                index = self._others.popleft()
            else:
                return
            task = self._tasks[index]
            self._crew.give(index, task, seconds=self._seconds(task))


# --------------------------------------------------------------------- one task, in this process


class _TimeIsUp(BaseException):
    """No ``Exception``: a parser that catches everything must not catch this."""


def _alone(
    function: Callable[[TaskT], AnswerT], task: TaskT, seconds: float | None
) -> AnswerT | Exception:
    try:
        with _alarm(seconds):
            return outcome_of(function, task)
    except _TimeIsUp:
        return TookTooLongError(seconds or 0.0)


@contextmanager
def _alarm(seconds: float | None) -> Iterator[None]:
    """Raise ``_TimeIsUp`` after so long, and again each second until it has got through.

    Counted is the processor's time, as in a crew.
    """

    def ring(_number: int, _frame: FrameType | None) -> None:
        raise _TimeIsUp

    if seconds is None or not hasattr(signal, "setitimer"):
        yield
        return
    try:
        before = signal.signal(signal.SIGPROF, ring)
    except ValueError:  # not the main thread
        yield
        return
    signal.setitimer(signal.ITIMER_PROF, seconds, 1.0)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)
