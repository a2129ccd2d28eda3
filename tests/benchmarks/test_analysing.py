"""``postil analyse`` as a process of its own, against music21's reading of the same file.

Limit: 1.5 times music21's ``converter.parse(forceSource=True)`` of that file, its own start and
imports left out, for all of ``analyse --json``, its start and imports included. The files are
movements of string quartets in the corpus of music21, from 37 to 400 measures. Medians of five;
the two take turns, so that both meet the same machine. Wall time and processor time.

    python -m pytest tests/benchmarks/test_analysing.py -s
"""

from __future__ import annotations

import json
import os
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

import pytest

from core.resources import sample_library

LIMIT = 1.5
RUNS = 5
ROOT = sample_library().parent
LONG = (
    "mozart/k155/movement1.mxl",
    "haydn/opus74no1/movement2.mxl",
    "haydn/opus74no1/movement1.mxl",
    "mozart/k458/movement1.mxl",
    "beethoven/opus59no1/movement1.mxl",
)
SHORT = (
    "mozart/k156/movement2.mxl",
    "mozart/k80/movement3.mxl",
    "haydn/opus1no1/movement4.mxl",
    "mozart/k80/movement1.mxl",
    "haydn/opus74no1/movement3.mxl",
)
"""music21 reads them in less than Python and numpy take to begin, three times over: the limit
stands for the median of all, and here ``analyse`` must be done before music21 would be."""
PARSING = """
import json, sys, time
from music21 import converter
wall, processor = time.perf_counter(), time.process_time()
converter.parse(sys.argv[1], forceSource=True)
print(json.dumps([time.perf_counter() - wall, time.process_time() - processor]))
"""


class Seconds(NamedTuple):
    """Of the wall clock, and of the processor (a process and its children)."""

    wall: float
    processor: float


def corpus(movement: str) -> Path:
    import music21

    return Path(music21.__file__).parent / "corpus" / movement


def analysing(path: Path, folder: Path) -> Seconds:
    """All of a process that analyses the file."""
    command = ["-m", "app.main", "analyse", str(path), "--json"]
    before, began = _used(), time.perf_counter()
    with (folder / "analysis.jsonl").open("w") as results:
        _python(command, folder, stdout=results)
    return Seconds(time.perf_counter() - began, _used() - before)


def parsing(path: Path, folder: Path) -> tuple[Seconds, Seconds]:
    """music21's reading alone, and all of the process that it is done in."""
    before, began = _used(), time.perf_counter()
    told = _python(["-c", PARSING, str(path)], folder, stdout=subprocess.PIPE)
    whole = Seconds(time.perf_counter() - began, _used() - before)
    return Seconds(*json.loads(told)), whole


def _python(arguments: list[str], folder: Path, *, stdout: object) -> str:
    inherited = {name: value for name, value in os.environ.items() if "PYTHON" not in name}
    environment = inherited | {
        "PYTHONPATH": str(ROOT),
        # Compiled modules stay from run to run, as on a person's disk.
        "PYTHONPYCACHEPREFIX": str(folder / "compiled"),
    }
    done = subprocess.run(
        [sys.executable, *arguments], stdout=stdout, env=environment, text=True, check=True
    )  # type: ignore[call-overload]
    return done.stdout or ""


def _used() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("analysing")
    for warm_up in (analysing, parsing):
        warm_up(corpus(SHORT[0]), made)
    return made


class Compared(NamedTuple):
    """Medians of ``analyse``, of music21's reading, and of all of the process it is done in."""

    analyse: Seconds
    parse: Seconds
    process: Seconds

    @property
    def times(self) -> float:
        """By processor time, which other work on the machine moves less."""
        return self.analyse.processor / self.parse.processor


@pytest.fixture(scope="module")
def compared(folder: Path) -> dict[str, Compared]:
    """Every movement; all figures are printed."""
    found = {movement: _compare(corpus(movement), folder) for movement in (*SHORT, *LONG)}
    for movement, (analyse, parse, process) in found.items():
        print(
            f"\n{movement}: analyse {analyse.wall:.2f} s wall, {analyse.processor:.2f} s "
            f"processor; music21 reads in {parse.wall:.2f} / {parse.processor:.2f} s "
            f"({process.wall:.2f} / {process.processor:.2f} s with its start); "
            f"{analyse.wall / parse.wall:.2f} / {found[movement].times:.2f} times"
        )
    return found


def _compare(path: Path, folder: Path) -> Compared:
    runs = [(analysing(path, folder), *parsing(path, folder)) for _ in range(RUNS)]
    return Compared(*(_medians(list(column)) for column in zip(*runs, strict=True)))


def _medians(seconds: list[Seconds]) -> Seconds:
    return Seconds(*(statistics.median(column) for column in zip(*seconds, strict=True)))


def test_a_movement_costs_little_more_than_music21s_reading(
    compared: dict[str, Compared],
) -> None:
    median = statistics.median(each.times for each in compared.values())
    print(f"\nmedian of {len(compared)} movements: {median:.2f} times")
    assert median <= LIMIT


@pytest.mark.parametrize("movement", LONG)
def test_none_but_short_ones_cost_more(movement: str, compared: dict[str, Compared]) -> None:
    assert compared[movement].times <= LIMIT


@pytest.mark.parametrize("movement", SHORT)
def test_a_short_one_is_done_before_music21_would_be(
    movement: str, compared: dict[str, Compared]
) -> None:
    assert compared[movement].analyse.processor <= compared[movement].process.processor
