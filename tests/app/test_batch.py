"""Many tasks in processes of their own: each is answered, whatever becomes of a process."""

from __future__ import annotations

from app.batch import outcomes
from app.outcomes import WorkerDiedError


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
