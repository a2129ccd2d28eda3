"""Workers that take damaged files all the way, each under limits of time and memory."""

from __future__ import annotations

import faulthandler
import multiprocessing
import resource
import tempfile
import time
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import suppress
from multiprocessing.connection import Connection, wait
from pathlib import Path

from tests.mutations.sources import Source, sources
from tests.mutations.trying import FAILED, Outcome, Trial

LONGEST_SECONDS = 10.0
"""Of the processor, for one file."""
PATIENCE_SECONDS = 60.0
"""Of the clock, before a worker is ended: it may have to share its processor with others."""
MOST_BYTES = 2**30
GUARD_BYTES = 3 * 2**30
"""Addresses that a worker may ask for; far more than it uses, far less than the machine has."""


class Worker:
    """A process with a notebook of its own, and this end of its pipe."""

    def __init__(self, seed: int, folder: Path) -> None:
        spawn = multiprocessing.get_context("spawn")
        self.pipe, far_end = spawn.Pipe()
        self.trace = folder / "trace.txt"
        arguments = (seed, folder, self.trace, far_end)
        self.process = spawn.Process(target=_work, args=arguments, daemon=True)
        self.process.start()
        far_end.close()
        self.index, self.began = -1, 0.0

    def begin(self, index: int) -> None:
        """Hand it a case."""
        self.index, self.began = index, time.monotonic()
        with suppress(OSError):  # it died while it waited; reading its pipe will say so
            self.pipe.send(index)

    def outcome(self) -> Outcome:
        """What came through the pipe, or that the process is gone."""
        try:
            outcome: Outcome = self.pipe.recv()
        except (EOFError, OSError):
            self.process.join(5)
            return self.lost(f"The process died ({self.process.exitcode}).")
        return outcome

    def lost(self, why: str) -> Outcome:
        """A failure of a case that nobody came back from."""
        trace = self.trace.read_text() if self.trace.exists() else ""
        return Outcome(self.index, FAILED, "", "", f"{why}\n{trace}", PATIENCE_SECONDS, 0)

    def end(self) -> None:
        """Let it go, by force where it has to be."""
        self.pipe.close()
        self.process.join(2)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.process.close()


def outcomes(
    indices: Sequence[int], *, seed: int, jobs: int, patience: float = PATIENCE_SECONDS
) -> Iterator[Outcome]:
    """What becomes of each case, as they come back."""
    waiting = deque(indices)
    with tempfile.TemporaryDirectory(prefix="mutations-") as folder:
        workers: list[Worker] = []
        hired = 0
        try:
            while waiting or workers:
                while waiting and len(workers) < jobs:
                    home = Path(folder, str(hired))
                    home.mkdir()
                    worker, hired = Worker(seed, home), hired + 1
                    workers.append(worker)
                    worker.begin(waiting.popleft())
                for worker, outcome in _answers(workers, patience):
                    checked = within_limits(outcome)
                    yield checked
                    may_stay = worker.process.is_alive() and outcome.peak_bytes < MOST_BYTES
                    if may_stay and waiting:
                        worker.begin(waiting.popleft())
                    else:
                        workers.remove(worker)
                        worker.end()
        finally:
            for worker in workers:
                worker.process.kill()
                worker.end()


def _answers(workers: list[Worker], patience: float) -> list[tuple[Worker, Outcome]]:
    """Of those that have one, and of those that had time enough for one."""
    ready = wait([worker.pipe for worker in workers], timeout=patience / 4)
    answers = [(worker, worker.outcome()) for worker in workers if worker.pipe in ready]
    for worker in workers:
        if worker.pipe not in ready and time.monotonic() - worker.began > patience:
            worker.process.kill()
            worker.process.join()
            answers.append((worker, worker.lost(f"No answer in {patience:.0f} s.")))
    return answers


def within_limits(outcome: Outcome) -> Outcome:
    """The outcome, a failure where it took too long or too much."""
    if outcome.kind == FAILED:
        return outcome
    if outcome.seconds > LONGEST_SECONDS:
        said = f"It took {outcome.seconds:.1f} s. {outcome.said}"
    elif outcome.peak_bytes > MOST_BYTES:
        said = f"It took {outcome.peak_bytes / 2**20:.0f} MB. {outcome.said}"
    else:
        return outcome
    return outcome._replace(kind=FAILED, said=said)


def source_of(index: int, known: Sequence[Source]) -> Source:
    """The file of a case: each in turn."""
    return known[index % len(known)]


def _work(seed: int, folder: Path, trace: Path, pipe: Connection) -> None:
    """A worker's life: cases in, outcomes out, until the pipe is closed."""
    resource.setrlimit(resource.RLIMIT_AS, (GUARD_BYTES, GUARD_BYTES))
    known = sources()
    notebook = folder / "notebook"
    notebook.mkdir()
    trial = Trial.begun(notebook)
    with trace.open("w") as file, suppress(EOFError, OSError):
        while True:
            index = pipe.recv()
            faulthandler.dump_traceback_later(2 * LONGEST_SECONDS, file=file)
            pipe.send(trial.outcome(source_of(index, known), seed=seed, index=index))
            faulthandler.cancel_dump_traceback_later()
    trial.end()
