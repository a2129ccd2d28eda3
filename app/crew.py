"""Processes that work on one thing after another, whatever becomes of one of them.

A pool of the standard library is lost as a whole when one of its processes dies (a crash in a
parser, the system's memory guard), and can't end one that hangs. Here a worker that dies or takes
too long takes the one task along that it worked on, and another takes its place. Workers are
spawned, never forked, and stay for the next task: what they have loaded need not be loaded again.
"""

from __future__ import annotations

import signal
from collections import deque
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from app.interrupts import interrupts_held
from app.outcomes import (
    NoWorkerError,
    TookTooLongError,
    TookTooMuchError,
    WorkerDiedError,
    outcome_of,
)
from app.processor_time import Allowance

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

KeyT = TypeVar("KeyT", bound=Hashable)
TaskT = TypeVar("TaskT")
AnswerT = TypeVar("AnswerT")

LEAVING_BYTES = 768 * 2**20
"""A worker that ever held so much leaves after its task, and gives back what parsers kept."""
_STOP_SECONDS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """How workers work.

    Parameters
    ----------
    size : int
        How many at a time.
    niceness : int
        Added to their own.
    memory_bytes : int or None
        What one may hold beyond its program, where the system can see to it (Linux).
    """

    size: int
    niceness: int = 0
    memory_bytes: int | None = None


@dataclass(frozen=True, slots=True)
class _Order(Generic[KeyT, TaskT]):
    key: KeyT
    task: TaskT
    seconds: float | None


class Crew(Generic[KeyT, TaskT, AnswerT]):
    """Workers and the tasks that wait for them; used from one thread.

    Parameters
    ----------
    function : callable
        Importable by name; its answers and exceptions can be pickled.
    terms : Terms
    on_begun : callable, optional
        Told the key of each task that a worker begins.
    """

    def __init__(
        self,
        function: Callable[[TaskT], AnswerT],
        terms: Terms,
        *,
        on_begun: Callable[[KeyT], None] = lambda _key: None,
    ) -> None:
        self._function, self._terms, self._on_begun = function, terms, on_begun
        self._waiting: deque[_Order[KeyT, TaskT]] = deque()
        self._workers: list[_Worker[KeyT, TaskT, AnswerT]] = []

    @property
    def size(self) -> int:
        """How many work at a time."""
        return self._terms.size

    @property
    def unanswered(self) -> int:
        """Tasks that were given and have no outcome yet."""
        return len(self._waiting) + sum(worker.order is not None for worker in self._workers)

    def give(self, key: KeyT, task: TaskT, *, seconds: float | None = None) -> None:
        """Have a task done when a worker is free; given up after so many seconds of work.

        Raises NoWorkerError, as ``gather``, where no process can be started.

        Counted is the processor's time where the system tells it (Linux), so that nothing is
        given up because the machine has other things to do.
        """
        self._waiting.append(_Order(key, task, seconds))
        self._begin()

    def gather(self, timeout: float | None = None) -> list[tuple[KeyT, AnswerT | Exception]]:
        """Wait for outcomes; none when so many seconds passed, or nothing is being done."""
        from multiprocessing.connection import wait

        busy = [worker for worker in self._workers if worker.order is not None]
        if not busy:
            return []
        waits = [worker.allowance.left_seconds() for worker in busy if worker.allowance]
        patience = min([*waits, *([] if timeout is None else [timeout])], default=None)
        ready = wait([worker.pipe for worker in busy], patience)
        found = [self._outcome(worker, worker.pipe in ready) for worker in busy]
        self._begin()
        return [outcome for outcome in found if outcome is not None]

    def dismiss(self) -> None:
        """End all workers; what they were doing is dropped."""
        self._waiting.clear()
        for worker in self._workers:
            worker.dismiss()
        self._workers.clear()

    def _outcome(
        self, worker: _Worker[KeyT, TaskT, AnswerT], is_ready: bool
    ) -> tuple[KeyT, AnswerT | Exception] | None:
        order = worker.order
        assert order is not None
        outcome: AnswerT | Exception
        if is_ready:
            outcome, stays = worker.outcome()
        elif worker.allowance and not worker.allowance.left_seconds():
            outcome, stays = TookTooLongError(worker.allowance.seconds), False
        else:
            return None
        worker.order = worker.allowance = None
        if not stays:
            self._workers.remove(worker)
            worker.dismiss()
        return order.key, outcome

    def _begin(self) -> None:
        """Let free workers, and new ones where there is room, take what waits."""
        while self._waiting:
            free = next((worker for worker in self._workers if worker.order is None), None)
            if free is None and len(self._workers) >= self._terms.size:
                return
            order = self._waiting.popleft()
            worker = free or self._hire()
            worker.begin(order)
            self._on_begun(order.key)

    def _hire(self) -> _Worker[KeyT, TaskT, AnswerT]:
        try:
            with interrupts_held():
                worker = _Worker[KeyT, TaskT, AnswerT](self._function, self._terms)
                self._workers.append(worker)
        except OSError as error:  # no memory for one more process, or too many of them
            raise NoWorkerError(error.strerror or str(error)) from error
        return worker


class _Worker(Generic[KeyT, TaskT, AnswerT]):
    """A process and this end of its pipe; ``order`` is what it works on."""

    def __init__(self, function: Callable[[TaskT], AnswerT], terms: Terms) -> None:
        import multiprocessing

        spawn = multiprocessing.get_context("spawn")
        self.pipe, far_end = spawn.Pipe()
        self.process = spawn.Process(target=_work, args=(function, far_end, terms), daemon=True)
        self.process.start()
        far_end.close()
        self.order: _Order[KeyT, TaskT] | None = None
        self.allowance: Allowance | None = None

    def begin(self, order: _Order[KeyT, TaskT]) -> None:
        self.order = order
        if order.seconds is not None:
            self.allowance = Allowance(order.seconds, self.process.pid)
        try:
            self.pipe.send(order.task)
        except OSError:
            # It died while it waited; reading its pipe will say so.
            return

    def outcome(self) -> tuple[AnswerT | Exception, bool]:
        """What came through the pipe, and whether the worker stays."""
        try:
            told: tuple[AnswerT | Exception, bool] = self.pipe.recv()
        except (EOFError, OSError):
            self.process.join(_STOP_SECONDS)
            return WorkerDiedError(self.process.exitcode), False
        except Exception as error:  # noqa: BLE001 - an answer that can't be unpickled here
            return error, True
        return told

    def dismiss(self) -> None:
        self.pipe.close()
        self.process.terminate()
        self.process.join(_STOP_SECONDS)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.process.close()


# ---------------------------------------------------------------------------- in the process


def _work(function: Callable[[TaskT], AnswerT], pipe: Connection, terms: Terms) -> None:
    """A worker's life: tasks in, outcomes out, until the pipe is closed."""
    import threading

    from app.job_process import end_with_parent, step_back

    # Ctrl-C reaches every process of the terminal; the parent decides what ends. (On Windows only
    # this keeps it away, see ``interrupts_held``.)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=end_with_parent, daemon=True).start()
    step_back(terms.memory_bytes, niceness=terms.niceness)
    while True:
        try:
            task = pipe.recv()
        except (EOFError, OSError):
            return
        outcome = outcome_of(function, task)
        stays = not isinstance(outcome, TookTooMuchError) and _held_bytes() < LEAVING_BYTES
        try:
            pipe.send((outcome, stays))
        except BrokenPipeError:
            return
        except Exception as error:  # noqa: BLE001 - what can't be pickled is told as text
            reason = f"{type(outcome).__name__} can't be handed over: {error}"
            pipe.send((RuntimeError(reason), stays))


def _held_bytes() -> int:
    """The most memory that this process ever held; 0 where the system doesn't tell."""
    try:
        import resource
    except ImportError:
        return 0
    import sys

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else most * 1024
