"""What a person waits for when a score of 300 measures is opened (2 cores, medians of five).

Not part of the default run: ``python -m pytest tests/benchmarks -s``. Each opening is a fresh
process with compiled modules on a warm disk; limits are those of the project's table.
"""

from __future__ import annotations

import json
import statistics
import time
from pathlib import Path

import pytest

from core.score.engraving import Engraver, PageLayout
from core.score.reading import read_score
from tests.benchmarks.long_score import write_long_score
from tests.benchmarks.probing import run_probe

RUNS = 5


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> dict[str, float]:
    folder = tmp_path_factory.mktemp("opened")
    path = write_long_score(folder, 300)
    canonical = read_score(path).score.canonical
    engraving, opened = [], []
    _open(path, folder / "warm", folder / "compiled")
    for run in range(RUNS):
        engraving.append(_engraving_seconds(canonical))
        opened.append(_open(path, folder / f"home-{run}", folder / "compiled"))
    found = {
        "first page, s": statistics.median(o["first_page_seconds"] for o in opened),
        "verovio alone, s": statistics.median(engraving),
        "stall p99.9, ms": statistics.median(o["stalls_ms"][0] for o in opened),
        "stall worst, ms": statistics.median(o["stalls_ms"][1] for o in opened),
        "memory, MB": statistics.median(o["memory_mb"] for o in opened),
    }
    found["beyond verovio, s"] = found["first page, s"] - found["verovio alone, s"]
    print(json.dumps({name: round(value, 3) for name, value in found.items()}, indent=1))
    return found


def _engraving_seconds(canonical: bytes) -> float:
    """Verovio's own load and first page, in this process."""
    engraver = Engraver()
    began = time.perf_counter()
    engraver.load(canonical, PageLayout())
    engraver.page(1)
    return time.perf_counter() - began


def _open(path: Path, home: Path, compiled: Path) -> dict[str, float]:
    return run_probe("window_probe", path, home=home, compiled=compiled, patience_seconds=180)


@pytest.mark.parametrize(
    ("what", "limit"),
    [
        ("first page, s", 2.5),
        ("beyond verovio, s", 0.8),
        ("stall p99.9, ms", 30),
        ("stall worst, ms", 50),
        ("memory, MB", 450),
    ],
)
def test_opening_stays_under_its_limit(measured: dict[str, float], what: str, limit: float) -> None:
    assert measured[what] <= limit
