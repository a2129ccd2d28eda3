"""What the jobs of the tests do; of a module, so that a worker finds it."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

from core.errors import UnreadableFileError

Progress = Callable[[float, str], None]


def add(first: int, second: int) -> int:
    return first + second


def told(progress: Progress) -> int:
    for share in (0.0, 0.5, 2.0):
        progress(share, f"at {share:g}")
        time.sleep(0.06)
    return os.getpid()


def loaded_modules() -> list[str]:
    return sorted(sys.modules)


def niceness() -> int:
    return os.nice(0)


def wait_for_ever(mark: str) -> None:
    Path(mark).write_text(str(os.getpid()))
    while True:
        time.sleep(0.01)


def count_to(mark: str) -> int:
    Path(mark).touch()
    return 1


def fail_as_expected() -> None:
    raise UnreadableFileError("a.musicxml", "it is empty; choose another one.", "line 1")


def fail_by_a_bug() -> None:
    raise ZeroDivisionError("a bug")


class UnpicklableError(Exception):
    def __init__(self, one: str, two: str) -> None:
        super().__init__(one + two)


def fail_unpicklably() -> None:
    raise UnpicklableError("one", "two")


def give_what_cant_be_handed_over() -> object:
    return lambda: None


def die(by: int) -> None:
    os.kill(os.getpid(), by)
    time.sleep(10)


def leave() -> None:
    os._exit(3)


def take_memory() -> int:
    return len(bytearray(2**30))
