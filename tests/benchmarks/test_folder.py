"""``postil analyse`` of many files at once: every tenth file of the corpus of music21.

Limits: each file, and each tune of a book, has its line, in the order of the files: an answer or a
reason; two workers are kept busy for 85 % of the time (processor time of all processes against
twice the wall clock); no process holds over 1 GB. The processor's share only means something with
nothing beside it. Some two minutes.

    python -m pytest tests/benchmarks/test_folder.py -s
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

import pytest

from core.resources import sample_library
from core.score.formats.converting import SUFFIXES
from core.score.formats.tune_books import scores_in

EVERY = 10
WORKERS = 2
BUSY_AT_LEAST = 0.85
MEMORY_MB = 1024
ROOT = sample_library().parent


class Run(NamedTuple):
    """What came out, and what it took."""

    lines: list[dict[str, object]]
    complaints: list[str]
    wall_seconds: float
    processor_seconds: float
    most_memory_mb: float


def every_tenth() -> list[Path]:
    from music21 import corpus

    paths = sorted(map(Path, corpus.getCorePaths()))[::EVERY]
    return [path for path in paths if path.name.lower().endswith(SUFFIXES)]


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    results = tmp_path_factory.mktemp("folder") / "results.jsonl"
    names = [str(path) for path in every_tenth()]
    wanted = ["--json", "--jobs", str(WORKERS), "--output", str(results)]
    before, began = _used(), time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "app.main", "analyse", *names, *wanted],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    wall, processor = time.perf_counter() - began, _used() - before
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    lines = [json.loads(line) for line in results.read_text("utf-8").splitlines()]
    complaints = done.stderr.splitlines()
    print(
        f"\n{len(names)} files, {len(lines)} scores: {wall:.1f} s, processor {processor:.1f} s, "
        f"{processor / (WORKERS * wall):.1%} of {WORKERS} processors; the largest process held "
        f"{most:.0f} MB; {len(complaints)} refused"
    )
    print("\n".join(complaints))
    return Run(lines, complaints, wall, processor, most)


def _used() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def test_each_is_answered_or_refused_with_a_reason_in_order(run: Run) -> None:
    expected = [str(score) for path in every_tenth() for score in scores_in(path)]
    assert [line["source"]["path"] for line in run.lines] == expected  # type: ignore[index]
    refused = [line["error"] for line in run.lines if "error" in line]
    assert all(error["kind"] in {"unreadable", "unsupported"} for error in refused)  # type: ignore[index]
    assert len(run.complaints) == len(refused)


def test_two_processors_are_kept_busy(run: Run) -> None:
    assert run.processor_seconds / (WORKERS * run.wall_seconds) >= BUSY_AT_LEAST


def test_memory_is_bounded(run: Run) -> None:
    assert run.most_memory_mb <= MEMORY_MB
