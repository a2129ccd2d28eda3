"""Many tasks in processes of their own: each is answered, whatever becomes of a process."""

from __future__ import annotations

import signal
import sys
from multiprocessing.context import SpawnProcess
from pathlib import Path

import pytest

from app import crew
from app.batch import AHEAD, MEMORY_BYTES, outcomes
from app.outcomes import NoWorkerError, TookTooLongError, TookTooMuchError, WorkerDiedError
from tests.app import batch_works as works


def test_a_worker_that_dies_takes_one_task_along() -> None:
    tasks = ["1 + 1", "__import__('os')._exit(7)", "2 + 2", "1 / 0", "3 + 3"]
    two, died, four, error, six = outcomes(eval, tasks, jobs=2)
    assert (two, four, six) == (2, 4, 6)
    assert isinstance(died, WorkerDiedError)
    assert "ended unexpectedly (exit code 7)" in str(died)
    assert isinstance(error, ZeroDivisionError)


def test_when_every_worker_dies_every_task_is_answered() -> None:
    tasks = ["__import__('os')._exit(1)"] * 3
    assert all(isinstance(each, WorkerDiedError) for each in outcomes(eval, tasks, jobs=2))


def test_an_answer_that_cannot_be_handed_over_is_an_error() -> None:
    answer, five = outcomes(eval, ["lambda: 0", "5"], jobs=1)
    assert isinstance(answer, RuntimeError)
    assert "can't be handed over" in str(answer)
    assert five == 5


NO_END = "sum(iter(int, 1))"


def test_one_that_has_no_end_is_given_up_and_the_rest_are_done() -> None:
    tasks = ["1 + 1", NO_END, "2 + 2", "3 + 3"]
    found = [*outcomes(eval, tasks, jobs=2, seconds=lambda task: 0.5 if task == NO_END else 60)]
    assert [found[0], *found[2:]] == [2, 4, 6]
    assert isinstance(found[1], TookTooLongError)
    assert "It was given up after 0 seconds: it seems to have no end" in str(TookTooLongError(0.4))


def test_one_that_sleeps_is_given_up_too() -> None:
    tasks = ["__import__('time').sleep(600)", "1 + 1"]
    slept, two = outcomes(eval, tasks, jobs=1, seconds=lambda task: 0.3 if task == tasks[0] else 60)
    assert isinstance(slept, TookTooLongError)
    assert two == 2


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="this system has no alarms")
def test_one_alone_is_given_up_though_it_catches_everything() -> None:
    before = signal.getsignal(signal.SIGPROF)
    (found,) = outcomes(works.never_ends, [0], jobs=2, seconds=lambda _task: 0.2)
    assert isinstance(found, TookTooLongError)
    assert signal.getsignal(signal.SIGPROF) == before
    assert signal.getitimer(signal.ITIMER_PROF) == (0.0, 0.0)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux limits a process's memory")
def test_one_that_wants_all_memory_fails_alone() -> None:
    much, two = outcomes(eval, [f"len(bytearray({2 * MEMORY_BYTES}))", "1 + 1"], jobs=1)
    assert isinstance(much, TookTooMuchError)
    assert "not enough memory" in str(much)
    assert two == 2


def test_what_costs_most_is_begun_first_and_given_in_its_place(tmp_path: Path) -> None:
    log = tmp_path / "begun"
    tasks = [(str(log), number) for number in range(8)]
    found = [*outcomes(works.note_down, tasks, jobs=1, cost=lambda task: float(task[1] == 6))]
    assert found == [*range(8)]
    assert log.read_text().split() == ["6", "0", "1", "2", "3", "4", "5", "7"]


def test_none_is_begun_far_ahead_of_one_that_takes_long(tmp_path: Path) -> None:
    log = tmp_path / "begun"
    others = [(str(log), number) for number in range(1, AHEAD + 100)]
    first = (str(log), -1)
    found = outcomes(works.note_down, [first, *others], jobs=2)
    assert next(found) == -1
    begun_meanwhile = len(log.read_text().split())
    found.close()
    assert AHEAD // 2 < begun_meanwhile <= AHEAD + 2


def test_a_worker_that_held_much_leaves_after_its_task() -> None:
    pid = "__import__('os').getpid()"
    much = f"(bytearray({crew.LEAVING_BYTES}) and {pid})"
    first, second, third = outcomes(eval, [pid, much, pid], jobs=1)
    assert first == second
    assert third != second


def test_where_no_process_can_be_started_that_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_process: SpawnProcess) -> None:
        raise OSError(12, "Cannot allocate memory")

    monkeypatch.setattr(SpawnProcess, "start", refuse)
    with pytest.raises(NoWorkerError, match=r"could be started .*\(Cannot allocate memory\)"):
        [*outcomes(eval, ["1 + 1", "2 + 2"], jobs=2)]
