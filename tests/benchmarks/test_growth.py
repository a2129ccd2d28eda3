"""Reading and analysing from 100 to 10,000 measures: how time grows, and what memory it takes.

Reading grows with the length in every format, analysing with n log n at most: a measure of the
longest costs at most half as much again as one of 1,000. Time of the processor; each format and
the analysis in a process of its own, whose peak is what is held to 1 GB. The music is invented
(``growing_scores``), with new themes all along. Some minutes.

    python -m pytest tests/benchmarks/test_growth.py -s
"""

from __future__ import annotations

import json
import math
import resource
import subprocess
import sys
import time

import pytest

from core.resources import sample_library
from tests.benchmarks.growing_scores import WRITERS, invented

LENGTHS = (100, 300, 1000, 3000, 10_000)
WARM_UP = 30
"""Measures; the first file of a format imports its reader."""
LIMIT = 1.5
MOST_BYTES = 2**30
ROOT = sample_library().parent


def reading_seconds(name: str) -> dict[int, float]:
    """Of each length, in the process that asks."""
    from core.score.reading import read_bytes

    read_bytes(WRITERS[name](invented(WARM_UP)), name="warm")
    spent = {}
    for length in LENGTHS:
        data = WRITERS[name](invented(length))
        began = time.process_time()
        score = read_bytes(data, name="invented").score
        spent[length] = time.process_time() - began
        assert len(score.measures) == length
    return spent


def analysing_seconds(_: str) -> dict[int, float]:
    """As ``reading_seconds``, of ``analyse_score`` and writing it out."""
    from core.exchange.contract_json import analysis_object, json_line
    from core.notebook.analyses import analyse_score
    from core.score.reading import read_bytes

    write = WRITERS["MusicXML"]
    analyse_score(read_bytes(write(invented(WARM_UP)), name="warm").score)
    spent = {}
    for length in LENGTHS:
        score = read_bytes(write(invented(length)), name="invented").score
        began = time.process_time()
        json_line(analysis_object(analyse_score(score), path="invented"))
        spent[length] = time.process_time() - began
    return spent


def measured(function: str, name: str) -> dict[int, float]:
    """Seconds by length in a fresh process; prints them with its memory."""
    command = [sys.executable, "-m", "tests.benchmarks.test_growth", function, name]
    told = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    spent, peak = json.loads(told)
    figures = ", ".join(f"{s / int(n) * 1e3:.2f}" for n, s in spent.items())
    print(
        f"\n{name}: ms a measure at {', '.join(spent)} measures: {figures}; "
        f"{spent[str(LENGTHS[-1])]:.1f} s the longest; {peak / 2**20:.0f} MB"
    )
    assert peak <= MOST_BYTES
    return {int(length): seconds for length, seconds in spent.items()}


@pytest.mark.parametrize("name", WRITERS)
def test_reading_grows_with_the_length(name: str) -> None:
    spent = measured("reading_seconds", name)
    assert spent[10_000] / 10_000 <= LIMIT * spent[1000] / 1000


def test_analysing_grows_with_n_log_n() -> None:
    spent = measured("analysing_seconds", "analysis")
    grown = spent[10_000] / spent[1000]
    assert grown <= LIMIT * (10_000 * math.log(10_000)) / (1000 * math.log(1000))


def main() -> None:
    """Measure in this process what the command line names."""
    function, name = sys.argv[1:]
    spent = {"reading_seconds": reading_seconds, "analysing_seconds": analysing_seconds}[function](
        name
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    print(json.dumps([spent, peak]))


if __name__ == "__main__":
    main()
