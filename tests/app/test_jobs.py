"""Jobs: one process each, ended when cancelled, one sentence when it dies."""

from __future__ import annotations

import os
import pickle
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from app.job_process import how_it_died
from app.jobs import Job, JobError, JobProgress, JobRunner, JobState
from core.errors import UnreadableFileError
from core.notebook.analyses import analyse_score
from core.notebook.analysis_jobs import analyse_canonical
from core.resources import sample_library
from core.score.reading import read_score
from tests.app import job_works

PATIENCE_MS = 20_000


class Ear:
    """Keeps what a job tells, and on which thread."""

    def __init__(self) -> None:
        self.done: list[Any] = []
        self.failed: list[Exception] = []
        self.progress: list[JobProgress] = []
        self.threads: set[int] = set()

    def on_done(self, value: Any) -> None:
        self.done.append(value)
        self.threads.add(threading.get_ident())

    def on_failed(self, error: Exception) -> None:
        self.failed.append(error)
        self.threads.add(threading.get_ident())

    def on_progress(self, progress: JobProgress) -> None:
        self.progress.append(progress)
        self.threads.add(threading.get_ident())


@pytest.fixture
def runner(qtbot: QtBot) -> Iterator[JobRunner]:
    one = JobRunner()
    yield one
    one.shut_down()


@pytest.fixture
def ear() -> Ear:
    return Ear()


def run(runner: JobRunner, ear: Ear, work: Any, *arguments: object, **more: Any) -> Job:
    more.setdefault("name", "Counting")
    return runner.run(
        work,
        *arguments,
        on_done=ear.on_done,
        on_failed=ear.on_failed,
        on_progress=ear.on_progress,
        **more,
    )


def wait_until_over(qtbot: QtBot, *jobs: Job) -> None:
    qtbot.waitUntil(lambda: all(job.is_over for job in jobs), timeout=PATIENCE_MS)


def wait_until_idle(qtbot: QtBot, runner: JobRunner) -> None:
    qtbot.waitUntil(lambda: not runner._running, timeout=PATIENCE_MS)


def is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def wait_for_mark(qtbot: QtBot, mark: Path) -> int:
    qtbot.waitUntil(lambda: mark.exists() and bool(mark.read_text()), timeout=PATIENCE_MS)
    return int(mark.read_text())


def test_what_comes_out_is_told_on_the_window_s_thread(
    qtbot: QtBot, runner: JobRunner, ear: Ear
) -> None:
    job = run(runner, ear, job_works.add, 1, 2)
    assert job.state is JobState.RUNNING
    assert runner.jobs == (job,)
    wait_until_over(qtbot, job)
    assert (ear.done, ear.failed, job.state) == ([3], [], JobState.DONE)
    assert ear.threads == {threading.get_ident()}
    assert runner.jobs == ()


def test_progress_is_told_and_kept_within_bounds(qtbot: QtBot, runner: JobRunner, ear: Ear) -> None:
    changes: list[None] = []
    runner.jobs_changed.connect(lambda: changes.append(None))
    job = run(runner, ear, job_works.told)
    wait_until_over(qtbot, job)
    assert ear.progress == [
        JobProgress(share=0.0, word="at 0"),
        JobProgress(share=0.5, word="at 0.5"),
        JobProgress(share=1.0, word="at 2"),
    ]
    assert job.progress.share == 1
    assert ear.done != [os.getpid()]
    assert len(changes) >= 5


def test_a_worker_loads_no_qt_and_steps_back(qtbot: QtBot, runner: JobRunner, ear: Ear) -> None:
    wait_until_over(qtbot, run(runner, ear, job_works.loaded_modules))
    wait_until_over(qtbot, run(runner, ear, job_works.niceness))
    modules, niceness = ear.done
    assert [name for name in modules if name.startswith(("PySide6", "sqlalchemy"))] == []
    assert niceness > os.nice(0)


def test_a_cancelled_job_is_ended_and_silent(
    qtbot: QtBot, runner: JobRunner, ear: Ear, tmp_path: Path
) -> None:
    job = run(runner, ear, job_works.wait_for_ever, str(tmp_path / "pid"))
    pid = wait_for_mark(qtbot, tmp_path / "pid")
    assert is_alive(pid)
    job.cancel()
    job.cancel()
    assert job.state is JobState.CANCELLED
    assert runner.jobs == ()
    wait_until_idle(qtbot, runner)
    assert not is_alive(pid)
    assert (ear.done, ear.failed) == ([], [])


def test_a_job_cancelled_at_once_never_works(
    qtbot: QtBot, runner: JobRunner, ear: Ear, tmp_path: Path
) -> None:
    run(runner, ear, job_works.count_to, str(tmp_path / "mark")).cancel()
    after = run(runner, ear, job_works.add, 2, 2)
    wait_until_over(qtbot, after)
    assert ear.done == [4]
    assert not (tmp_path / "mark").exists()


def test_one_at_a_time_in_the_order_given(
    qtbot: QtBot, runner: JobRunner, ear: Ear, tmp_path: Path
) -> None:
    first = run(runner, ear, job_works.wait_for_ever, str(tmp_path / "pid"))
    waiting = [run(runner, ear, job_works.add, n, 0) for n in range(3)]
    assert [job.state for job in waiting] == [JobState.WAITING] * 3
    assert runner.jobs == (first, *waiting)
    waiting[1].cancel()
    wait_for_mark(qtbot, tmp_path / "pid")
    first.cancel()
    wait_until_over(qtbot, *waiting)
    assert ear.done == [0, 2]


def test_two_at_a_time_where_two_may(qtbot: QtBot, ear: Ear, tmp_path: Path) -> None:
    runner = JobRunner(at_once=2)
    jobs = [run(runner, ear, job_works.wait_for_ever, str(tmp_path / f"{n}")) for n in range(2)]
    pids = [wait_for_mark(qtbot, tmp_path / f"{n}") for n in range(2)]
    runner.shut_down()
    runner.shut_down()
    assert not any(is_alive(pid) for pid in pids)
    assert [job.state for job in jobs] == [JobState.CANCELLED] * 2
    assert run(runner, ear, job_works.add, 1, 1).state is JobState.CANCELLED
    assert (ear.done, ear.failed) == ([], [])


def test_a_known_error_comes_back_as_it_was(qtbot: QtBot, runner: JobRunner, ear: Ear) -> None:
    job = run(runner, ear, job_works.fail_as_expected)
    wait_until_over(qtbot, job)
    (error,) = ear.failed
    assert isinstance(error, UnreadableFileError)
    assert str(error) == "a.musicxml, line 1: it is empty; choose another one."
    assert job.state is JobState.FAILED


def test_a_bug_comes_back_with_where_it_happened(qtbot: QtBot, runner: JobRunner, ear: Ear) -> None:
    wait_until_over(qtbot, run(runner, ear, job_works.fail_by_a_bug))
    (error,) = ear.failed
    assert isinstance(error, ZeroDivisionError)
    assert "in fail_by_a_bug" in error.__notes__[0]


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (job_works.fail_unpicklably, r"UnpicklableError can't be handed over: .*onetwo"),
        (job_works.give_what_cant_be_handed_over, r"function can't be handed over"),
    ],
)
def test_what_can_t_be_handed_over_is_told_as_text(
    qtbot: QtBot, runner: JobRunner, ear: Ear, work: Any, words: str
) -> None:
    wait_until_over(qtbot, run(runner, ear, work))
    with pytest.raises(RuntimeError, match=words):
        raise ear.failed[0]


def test_work_that_can_t_be_named_elsewhere_fails(
    qtbot: QtBot, runner: JobRunner, ear: Ear
) -> None:
    wait_until_over(qtbot, run(runner, ear, lambda: None))
    assert len(ear.failed) == 1
    after = run(runner, ear, job_works.add, 1, 1)
    wait_until_over(qtbot, after)
    assert ear.done == [2]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signals")
@pytest.mark.parametrize("by", [signal.SIGKILL, signal.SIGSEGV])
def test_a_dead_worker_is_one_failed_job(
    qtbot: QtBot, runner: JobRunner, ear: Ear, by: signal.Signals
) -> None:
    dead = run(runner, ear, job_works.die, int(by), name="Analysing Barcarolle")
    after = run(runner, ear, job_works.add, 1, 1)
    wait_until_over(qtbot, dead, after)
    with pytest.raises(
        JobError, match=rf"Analysing Barcarolle: it stopped unexpectedly \(signal {by.name}\)"
    ):
        raise ear.failed[0]
    assert ear.done == [2]


def test_a_worker_that_leaves_without_a_word_has_failed(
    qtbot: QtBot, runner: JobRunner, ear: Ear
) -> None:
    wait_until_over(qtbot, run(runner, ear, job_works.leave))
    with pytest.raises(JobError, match=r"stopped unexpectedly \(exit status 3\)"):
        raise ear.failed[0]


def test_too_long_is_ended(qtbot: QtBot, runner: JobRunner, ear: Ear, tmp_path: Path) -> None:
    mark = tmp_path / "pid"
    job = run(runner, ear, job_works.wait_for_ever, str(mark), timeout_seconds=1.5)
    pid = wait_for_mark(qtbot, mark)
    wait_until_over(qtbot, job)
    with pytest.raises(JobError, match=r"longer than 1\.5 seconds and was ended"):
        raise ear.failed[0]
    assert not is_alive(pid)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps to the limit")
def test_too_much_memory_is_a_sentence(qtbot: QtBot, runner: JobRunner, ear: Ear) -> None:
    job = run(runner, ear, job_works.take_memory, memory_bytes=2**28)
    wait_until_over(qtbot, job)
    with pytest.raises(JobError, match="Counting: there was not enough memory for it"):
        raise ear.failed[0]


def test_without_a_receiver_a_failure_goes_to_the_runner_s(qtbot: QtBot, ear: Ear) -> None:
    runner = JobRunner(on_error=ear.on_failed)
    job = runner.run(job_works.fail_as_expected, name="Reading", on_done=ear.on_done)
    wait_until_over(qtbot, job)
    runner.shut_down()
    assert isinstance(ear.failed[0], UnreadableFileError)


def test_a_score_is_analysed_elsewhere(qtbot: QtBot, runner: JobRunner, ear: Ear) -> None:
    score = read_score(sample_library() / "barcarolle.musicxml").score
    job = run(runner, ear, analyse_canonical, score.canonical, score.sha256)
    wait_until_over(qtbot, job)
    (analysis,) = ear.done
    assert analysis.sha256 == score.sha256
    assert analysis.key.value.name == analyse_score(score).key.value.name
    assert ear.progress[0].word == "getting ready"


def test_a_job_error_survives_pickling() -> None:
    error = JobError("Analysing", "it stopped.")
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), again.name, again.reason) == (str(error), "Analysing", "it stopped.")


def test_an_unknown_signal_has_a_sentence_too() -> None:
    assert "(signal 200)" in how_it_died(-200)
