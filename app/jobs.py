"""Long work in processes of their own, so that the window never waits and a job can be ended.

Each job is one spawned process with a pipe: to cancel it is to end the process, and one that
dies is one failed job with a sentence. Starting it, waiting for it and reading its answer is
done by a thread a job; what it tells crosses to the window's thread as a queued signal. Workers
never open the notebook: what they need is handed to them, and what they find is handed back.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum, auto
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal

from app.job_process import JobError, JobProcess, Task, Told

__all__ = ["Job", "JobError", "JobProgress", "JobRunner", "JobState"]

MEMORY_BYTES = 4 * 2**30
"""What a worker may hold unless it is told otherwise."""
_PATIENCE_SECONDS = 5.0


class JobState(Enum):
    """Where a job stands."""

    WAITING = auto()
    RUNNING = auto()
    DONE = auto()
    FAILED = auto()
    CANCELLED = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class JobProgress:
    """How much is done, 0 to 1, and a word for what is being done."""

    share: float = 0.0
    word: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Receivers:
    """Whom a job tells, on the window's thread."""

    on_done: Callable[[Any], None]
    on_failed: Callable[[Exception], None] | None
    on_progress: Callable[[JobProgress], None] | None


class Job:
    """One piece of work, as ``JobRunner.run`` gives it; used from the window's thread.

    Attributes
    ----------
    name : str
        What is done to what ("Analysing Barcarolle").
    progress : JobProgress
    state : JobState
    """

    def __init__(
        self, runner: JobRunner, name: str, process: JobProcess, receivers: _Receivers
    ) -> None:
        self.name = name
        self.progress = JobProgress()
        self.state = JobState.WAITING
        self.process, self.receivers = process, receivers
        self._runner = runner

    @property
    def is_over(self) -> bool:
        """Whether it was done, failed or was cancelled."""
        return self.state not in (JobState.WAITING, JobState.RUNNING)

    def cancel(self) -> None:
        """End it: its process is killed, and nothing more is told of it. Safe to call twice."""
        self._runner.cancel(self)


class JobRunner(QObject):
    """Runs jobs, a few at a time, in the order in which they were given.

    Lives on the window's thread; all that is passed in is called there. Keep it: a runner that
    is collected takes its jobs along. Call ``shut_down`` before it goes.

    Parameters
    ----------
    at_once : int
        How many jobs run at one time.
    on_error : callable, optional
        Takes what ended a job that was given no ``on_failed``.
    """

    jobs_changed = Signal()
    """A job was added, began, got on, or is over."""
    _told = Signal(object, object)

    def __init__(
        self,
        parent: QObject | None = None,
        *,
        at_once: int = 1,
        on_error: Callable[[Exception], None] | None = None,
    ) -> None:
        super().__init__(parent)
        self._at_once, self._on_error = at_once, on_error
        self._waiting: deque[Job] = deque()
        self._running: dict[Job, threading.Thread] = {}
        self._is_shut = False
        self._told.connect(self._on_told, Qt.ConnectionType.QueuedConnection)

    @property
    def jobs(self) -> tuple[Job, ...]:
        """Those that run, then those that wait; what was cancelled is not among them."""
        running = (job for job in self._running if not job.is_over)
        return (*running, *self._waiting)

    def run(
        self,
        work: Callable[..., Any],
        *arguments: object,
        name: str,
        on_done: Callable[[Any], None],
        on_failed: Callable[[Exception], None] | None = None,
        on_progress: Callable[[JobProgress], None] | None = None,
        timeout_seconds: float | None = None,
        memory_bytes: int | None = MEMORY_BYTES,
    ) -> Job:
        """Begin a job, or let it wait for its turn.

        Parameters
        ----------
        work, arguments, timeout_seconds, memory_bytes
            As ``Task``; the time counts from the start of its process.
        name : str
            What is done to what ("Analysing Barcarolle"), for people.
        on_done : callable
            Takes what ``work`` returned.
        on_failed : callable, optional
            Takes what it raised, or a ``JobError``; by default the runner's ``on_error``.
        on_progress : callable, optional
        """
        task = Task(
            work=work,
            arguments=arguments,
            timeout_seconds=timeout_seconds,
            memory_bytes=memory_bytes,
        )
        receivers = _Receivers(
            on_done=on_done, on_failed=on_failed or self._on_error, on_progress=on_progress
        )
        job = Job(self, name, JobProcess(name, task), receivers)
        if self._is_shut:
            job.state = JobState.CANCELLED
            return job
        self._waiting.append(job)
        self._begin_next()
        self.jobs_changed.emit()
        return job

    def cancel(self, job: Job) -> None:
        """End a job; nothing more is told of it."""
        if job.is_over:
            return
        self._end(job)
        with suppress(ValueError):
            self._waiting.remove(job)
        self.jobs_changed.emit()

    def shut_down(self) -> None:
        """End all jobs and wait for their threads; safe to call twice."""
        self._is_shut = True
        for job in self.jobs:
            self._end(job)
        self._waiting.clear()
        for thread in self._running.values():
            thread.join(_PATIENCE_SECONDS)
        self._running.clear()

    def _end(self, job: Job) -> None:
        job.state = JobState.CANCELLED
        job.process.end()

    def _begin_next(self) -> None:
        while self._waiting and len(self._running) < self._at_once:
            job = self._waiting.popleft()
            job.state = JobState.RUNNING
            thread = threading.Thread(
                target=self._attend, args=(job,), name=f"postil-job {job.name}", daemon=True
            )
            self._running[job] = thread
            thread.start()

    def _attend(self, job: Job) -> None:
        """On the job's thread."""
        job.process.attend(lambda told: self._pass_on(job, told))
        self._pass_on(job, None)

    def _pass_on(self, job: Job, told: Told | None) -> None:
        # A window that was closed without waiting has nobody left to tell.
        with suppress(RuntimeError):
            self._told.emit(job, told)

    def _on_told(self, job: Job, told: Told | None) -> None:
        if self._is_shut:
            return
        if told is None:
            self._running.pop(job, None)
            self._begin_next()
        elif job.state is not JobState.RUNNING:
            return  # cancelled while it was on its way
        elif told[0] == "progress":
            self._on_progress(job, *told[1])
        else:
            self._on_last_word(job, *told)
        self.jobs_changed.emit()

    def _on_progress(self, job: Job, share: float, word: str) -> None:
        job.progress = JobProgress(share=share, word=word)
        if job.receivers.on_progress is not None:
            job.receivers.on_progress(job.progress)

    def _on_last_word(self, job: Job, outcome: str, value: Any) -> None:
        receivers = job.receivers
        if outcome == "done":
            job.state, job.progress = JobState.DONE, JobProgress(share=1.0, word="done")
            receivers.on_done(value)
        else:
            job.state = JobState.FAILED
            if receivers.on_failed is not None:
                receivers.on_failed(value)
