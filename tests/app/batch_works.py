"""What workers of the tests do; of a module, so that a worker finds it."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path


def never_ends(_task: object) -> None:
    """As a parser that catches whatever goes wrong."""
    while True:
        with suppress(Exception):
            sum(range(10_000))


def note_down(task: tuple[str, int]) -> int:
    """Write into a file that it was begun; a number below 0 takes long."""
    path, number = task
    with Path(path).open("a") as log:
        log.write(f"{number}\n")
    if number < 0:
        time.sleep(3)
    return number
