"""Working on many things in processes of their own, in order, whatever becomes of one of them.

A pool of the standard library is lost as a whole when one of its processes dies (a crash in a
parser, the system's memory guard). Here a worker that dies takes the one task along that it
worked on, and another takes its place. Workers are spawned, never forked.
"""

from __future__ import annotations

import signal
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from typing import TYPE_CHECKING, Generic, TypeVar

from app.interrupts import interrupts_held

# multiprocessing is imported where a process is begun: one task alone needs none.
if TYPE_CHECKING:
    from multiprocessing.connection import Connection

TaskT = TypeVar("TaskT")
AnswerT = TypeVar("AnswerT")

_STOP_SECONDS = 2.0


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


def outcomes(
    function: Callable[[TaskT], AnswerT], tasks: Sequence[TaskT], *, jobs: int
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
    """
    if len(tasks) <= 1:
        for task in tasks:
            yield _outcome(function, task)
        return
    crew = _Crew(function, tasks, min(jobs, len(tasks)))
    try:
        yield from crew.outcomes()
    finally:
        crew.dismiss()


def _outcome(function: Callable[[TaskT], AnswerT], task: TaskT) -> AnswerT | Exception:
    try:
        return function(task)
    except Exception as error:  # noqa: BLE001 - a bug met by one task must not end the batch
        return error


def _work(function: Callable[[TaskT], AnswerT], pipe: Connection) -> None:
    """A worker's life: tasks in, outcomes out, until the pipe is closed."""
    # Ctrl-C reaches every process of the terminal; the parent decides what ends. (On Windows only
    # this keeps it away, see ``interrupts_held``.)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        try:
            task = pipe.recv()
        except (EOFError, OSError):
            return
        outcome = _outcome(function, task)
        try:
            pipe.send(outcome)
        except BrokenPipeError:
            return
        except Exception as error:  # noqa: BLE001 - what can't be pickled is told as text
            pipe.send(RuntimeError(f"{type(outcome).__name__} can't be handed over: {error}"))


class _Worker(Generic[TaskT, AnswerT]):
    """A process and this end of its pipe; ``task_index`` is what it works on."""

    def __init__(self, function: Callable[[TaskT], AnswerT]) -> None:
        import multiprocessing

        spawn = multiprocessing.get_context("spawn")
        self.pipe, far_end = spawn.Pipe()
        self.process = spawn.Process(target=_work, args=(function, far_end), daemon=True)
        self.process.start()
        far_end.close()
        self.task_index: int | None = None

    def begin(self, index: int, task: TaskT) -> None:
        self.task_index = index
        try:
            self.pipe.send(task)
        except OSError:
            # It died while it waited; reading its pipe will say so.
            return

    def outcome(self) -> AnswerT | Exception:
        """What came through the pipe; a ``WorkerDiedError`` when the other end is gone."""
        try:
            answer: AnswerT | Exception = self.pipe.recv()
        except (EOFError, OSError):
            self.process.join(_STOP_SECONDS)
            return WorkerDiedError(self.process.exitcode)
        return answer

    def dismiss(self) -> None:
        self.pipe.close()
        self.process.terminate()
        self.process.join(_STOP_SECONDS)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.process.close()


class _Crew(Generic[TaskT, AnswerT]):
    """The workers of one batch."""

    def __init__(
        self, function: Callable[[TaskT], AnswerT], tasks: Sequence[TaskT], size: int
    ) -> None:
        self.function, self.tasks = function, tasks
        self.waiting = deque(range(len(tasks)))
        self.done: dict[int, AnswerT | Exception] = {}
        self.workers: list[_Worker[TaskT, AnswerT]] = []
        self.size = size

    def outcomes(self) -> Iterator[AnswerT | Exception]:
        # Not before: who is hired here is dismissed, whenever Ctrl-C comes.
        for _ in range(self.size):
            self._hire()
        for index in range(len(self.tasks)):
            while index not in self.done:
                self._gather()
            yield self.done.pop(index)

    def dismiss(self) -> None:
        for worker in self.workers:
            worker.dismiss()
        self.workers.clear()

    def _hire(self) -> None:
        with interrupts_held():
            worker = _Worker[TaskT, AnswerT](self.function)
            self.workers.append(worker)
        self._give(worker)

    def _give(self, worker: _Worker[TaskT, AnswerT]) -> None:
        if self.waiting:
            index = self.waiting.popleft()
            worker.begin(index, self.tasks[index])
        else:
            self.workers.remove(worker)
            worker.dismiss()

    def _gather(self) -> None:
        from multiprocessing.connection import wait

        ready = wait([worker.pipe for worker in self.workers])
        for worker in [worker for worker in self.workers if worker.pipe in ready]:
            outcome = worker.outcome()
            if worker.task_index is not None:
                self.done[worker.task_index] = outcome
            if not isinstance(outcome, WorkerDiedError):
                self._give(worker)
                continue
            self.workers.remove(worker)
            worker.dismiss()
            if self.waiting:
                self._hire()
