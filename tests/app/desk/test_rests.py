"""Long steps of different rooms leave room between them."""

from __future__ import annotations

import time
from itertools import pairwise

from pytestqt.qtbot import QtBot

from app.desk.rests import REST_SECONDS
from app.desk.turns import Turns
from app.form.slices import Slices, Steps

STEP_SECONDS = 0.004


def test_steps_that_are_due_together_are_taken_apart(qtbot: QtBot) -> None:
    taken: list[tuple[float, float]] = []

    def step() -> None:
        began = time.monotonic()
        time.sleep(STEP_SECONDS)
        taken.append((began, time.monotonic()))

    def steps() -> Steps[None]:
        for _ in range(3):
            step()
            yield

    first, second, sliced = Turns(), Turns(), Slices()
    first.soon(step, step)
    second.soon(step, step)
    sliced.begin(steps(), is_short=False)
    qtbot.waitUntil(lambda: len(taken) == 7 and not sliced.is_busy)
    # A slice may hold several short steps; between turns and slices there is always a rest.
    rests = [after[0] - before[1] for before, after in pairwise(taken)]
    assert sum(rest >= REST_SECONDS for rest in rests) >= 4


def test_a_step_that_fails_is_followed_by_the_next(qtbot: QtBot) -> None:
    done: list[str] = []
    turns = Turns()

    def fail() -> None:
        raise ValueError("this step fails")

    turns.soon(fail, lambda: done.append("next"))
    with qtbot.captureExceptions() as caught:
        qtbot.waitUntil(lambda: bool(caught))
    turns.soon(lambda: done.append("later"))
    qtbot.waitUntil(lambda: done == ["next", "later"])
    assert "this step fails" in str(caught[0][1])
