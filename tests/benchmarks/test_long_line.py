"""What a person waits for in one long line, and while the score is printed (2 cores).

Not part of the default run: ``python -m pytest tests/benchmarks/test_long_line.py -s``. The line
has 1,000 measures; 312 are printed.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks.long_score import write_long_score
from tests.benchmarks.probing import run_probe


def _measured(folder: Path, measures: int) -> dict[str, Any]:
    path = write_long_score(folder, measures)
    found = run_probe(
        "line_probe", path, home=folder / "home", compiled=folder / "compiled", patience_seconds=400
    )
    print(json.dumps(found, indent=1))
    return found


@pytest.fixture(scope="module")
def long(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return _measured(tmp_path_factory.mktemp("long"), 1000)


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return _measured(tmp_path_factory.mktemp("usual"), 312)


def test_a_line_of_1000_measures_begins_soon_and_does_not_stall(long: dict[str, Any]) -> None:
    assert long["first_chunk_seconds"] <= 4.0
    assert long["far_seconds"] <= 1.0
    assert long["line_stalls_ms"][0] <= 30
    assert long["line_stalls_ms"][1] <= 50
    assert long["memory_mb"] <= 450


def test_printing_312_measures_does_not_stall_the_window(usual: dict[str, Any]) -> None:
    assert usual["print_seconds"] <= 20.0
    assert usual["print_stalls_ms"][0] <= 30
    assert usual["print_stalls_ms"][1] <= 50
