"""A piece of work in a process of its own: starting it, listening to it, ending it.

Nothing here loads Qt, since the process itself imports this. Each process does one piece of
work, tells how far it is, and ends with one last word: what came out, or what went wrong.
"""

from __future__ import annotations

import inspect
import multiprocessing
import os
import pickle
import signal
import sys
import threading
import time
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import wait
from typing import TYPE_CHECKING, Any, Literal

from app.interrupts import interrupts_held
from app.processor_time import Allowance
from core.errors import PostilError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

NICENESS = 10
"""Added to a worker's own: the window, and what sounds, come first."""
LEAST_BETWEEN_SECONDS = 0.05
"""Progress is told at most this often."""
PATIENCE_SECONDS = 2.0
"""How long a process that has had its last word is waited for."""

Told = tuple[Literal["progress", "done", "failed"], Any]
"""What a process tells, and what belongs to it: (share, word), the outcome, the exception."""


class JobError(PostilError):
    """A job ended without an answer: its ``name`` and the ``reason``, as sentences."""

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(name, reason)
        self.name, self.reason = name, reason

    def __str__(self) -> str:
        return f"{self.name}: {self.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What a process is to do.

    Parameters
    ----------
    work : callable
        Of a module, so that it can be named in another process. One with a parameter
        ``progress`` is given a function that takes a share (0 to 1) and a word.
    arguments : tuple
        What can be pickled.
    timeout_seconds : float or None
        After which it is ended and has failed; of the processor's time, see ``Allowance``.
    memory_bytes : int or None
        What it may hold beyond its program, where the system can see to it (Linux).
    """

    work: Callable[..., Any]
    arguments: tuple[object, ...]
    timeout_seconds: float | None = None
    memory_bytes: int | None = None


class JobProcess:
    """One process; ``attend`` belongs on a thread of its own, ``end`` may come from any.

    Parameters
    ----------
    name : str
        For what went wrong.
    task : Task
    """

    def __init__(self, name: str, task: Task) -> None:
        self._name, self._task = name, task
        self._lock = threading.Lock()
        self._process: BaseProcess | None = None
        self._is_ended = False

    @property
    def pid(self) -> int | None:
        """The process's number; None while there is none."""
        with self._lock:
            return None if self._process is None else self._process.pid

    def end(self) -> None:
        """Kill the process, or keep it from starting."""
        with self._lock:
            self._is_ended = True
            if self._process is not None:
                self._process.kill()

    def attend(self, tell: Callable[[Told], None]) -> None:
        """Start the process, pass on what it tells, and see it off; nothing once it is ended."""
        if self._is_ended:
            return
        try:
            pipe = self._start()
        except OSError as error:  # no memory for one more process, or it died at its door
            tell(("failed", JobError(self._name, NO_START.format(error))))
            return
        except Exception as error:  # noqa: BLE001 - work that can't be handed over is a bug
            tell(("failed", error))
            return
        with pipe:
            last = self._listen(pipe, tell)
        if last is not None and last[0] == "done":
            # Before its end is waited for, which takes a while after much was loaded.
            tell(last)
        exit_code = self._see_off()
        if last is None or last[0] != "done":
            tell(last or ("failed", JobError(self._name, how_it_died(exit_code))))

    def _start(self) -> Connection:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(
            target=serve,
            args=(theirs, self._name, self._task),
            name=f"postil: {self._name}",
            daemon=True,
        )
        # Not held while it starts, which takes as long as it takes to read the arguments: the
        # window asks for the lock when it cancels.
        with interrupts_held():
            process.start()
        theirs.close()
        with self._lock:
            self._process = process
            if self._is_ended:
                process.kill()
        return ours

    def _listen(self, pipe: Connection, tell: Callable[[Told], None]) -> Told | None:
        """The last word of the process; None if it ends without one."""
        limit = self._task.timeout_seconds
        allowance = None if limit is None else Allowance(limit, self.pid)
        while True:
            try:
                left = None if allowance is None else allowance.left_seconds()
                if not pipe.poll(left):
                    if left:
                        continue  # perhaps it has had little of the processor
                    self.end()
                    return "failed", JobError(self._name, _TOO_LONG.format(limit))
                told: Told = pipe.recv()
            except (EOFError, OSError):
                return None
            except Exception as error:  # noqa: BLE001 - an answer that can't be unpickled here
                return "failed", error
            if told[0] != "progress":
                return told
            tell(told)

    def _see_off(self) -> int | None:
        """Wait for the end of the process, or bring it about; its exit code."""
        process = self._process
        if process is None:
            return None
        process.join(PATIENCE_SECONDS)
        if process.is_alive():
            process.kill()
            process.join()
        with self._lock:
            self._process = None
            exit_code = process.exitcode
            process.close()
        return exit_code


_TOO_LONG = (
    "it took longer than {:g} seconds and was ended. Your notebook is as it was; try it again, "
    "or with a shorter score."
)
_DIED = (
    "it stopped unexpectedly ({}). Your notebook is as it was; try it again, and if it stops "
    "again, please report the score."
)
NO_START = "it could not be started ({}). Close other programs and try again."
_NO_MEMORY = "there was not enough memory for it. Close other programs and try again."


def how_it_died(exit_code: int | None) -> str:
    """A sentence for a process that ended without a last word."""
    if exit_code is None or exit_code >= 0:
        return _DIED.format(f"exit status {exit_code}")
    with suppress(ValueError):
        return _DIED.format(f"signal {signal.Signals(-exit_code).name}")
    return _DIED.format(f"signal {-exit_code}")


# ---------------------------------------------------------------------------- in the process


def serve(pipe: Connection, name: str, task: Task) -> None:
    """Do the work and tell of it; runs in the worker."""
    # Ctrl-C in a terminal reaches every process of the group; the window decides what it means.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=end_with_parent, daemon=True).start()
    step_back(task.memory_bytes)
    news = _News(pipe)
    with suppress(BrokenPipeError):
        news.last_word(_outcome(name, task, news))


def _outcome(name: str, task: Task, news: _News) -> Told:
    try:
        wants_progress = "progress" in inspect.signature(task.work).parameters
        more = {"progress": news.progress} if wants_progress else {}
        return "done", task.work(*task.arguments, **more)
    except MemoryError:
        return "failed", JobError(name, _NO_MEMORY)
    except Exception as error:  # noqa: BLE001 - it belongs to whoever gave the job
        return "failed", _with_trace(error)


class _News:
    """What the worker tells."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._last = 0.0

    def progress(self, share: float, word: str) -> None:
        """Tell how far the work is, if that was not told a moment ago."""
        now = time.monotonic()
        if now - self._last >= LEAST_BETWEEN_SECONDS or share >= 1:
            self._last = now
            self._pipe.send(("progress", (min(1.0, max(0.0, float(share))), word)))

    def last_word(self, told: Told) -> None:
        """Tell the outcome; one that can't be handed over is told as text."""
        try:
            data = pickle.dumps(told, pickle.HIGHEST_PROTOCOL)
            if told[0] == "failed":
                pickle.loads(data)  # not every exception that goes in comes out again
        except Exception as error:  # noqa: BLE001 - whatever pickling met
            words = f"{type(told[1]).__name__} can't be handed over: {error}; {told[1]!r:.500}"
            data = pickle.dumps(("failed", RuntimeError(words)))
        self._pipe.send_bytes(data)


def _with_trace(error: Exception) -> Exception:
    """Known errors as they are; a bug with where it happened, for its report."""
    if not isinstance(error, PostilError):
        trace = "".join(traceback.format_exception(error))
        error.add_note(f"In the worker:\n{trace}")
    return error


def end_with_parent() -> None:
    """End at once when the window's process is gone, even if it was killed."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def step_back(memory_bytes: int | None, *, niceness: int = NICENESS) -> None:
    """Leave the processor to the window, and the memory to everybody."""
    if niceness and hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(niceness)
    if memory_bytes is not None and sys.platform == "linux":
        import resource

        _soft, hard = resource.getrlimit(resource.RLIMIT_DATA)
        limit = memory_bytes if hard == resource.RLIM_INFINITY else min(memory_bytes, hard)
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_DATA, (limit, hard))
