"""Reading a score, against what lxml needs for its bare parse of the same bytes.

A person waits for it when a score is brought in. Limit: 5 times lxml, at every length, for two
hands and for four parts; and the time a note doesn't grow with the length. Medians of five, both
sides in turns in one run, in time of the processor.

Each side pays for what it leaves behind. Giving a tree of XML back leaves as many small pieces of
memory as it had nodes, which glibc joins only when somebody next asks for a larger piece; that
takes nearly half of lxml's own time. Hence a larger piece is asked for before the clock is read:
otherwise lxml's pieces are joined on the account of the reading that comes after it.

    python -m pytest tests/benchmarks/test_reading.py -s
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import pytest
from lxml import etree

from core.score.reading import read_bytes
from tests.core.score.written_scores import attributes, move, note, rest, score, words

LIMIT = 5.0
LARGER_BYTES = 4096
"""Enough for glibc to join what is free (it does from 1024 on)."""
ROUNDS = 5
MEASURES = 100
"""Of the shortest score; about 2 MB at the longest, as a long sonata movement has."""
LENGTHS = (1, 2, 4, 8)
GROWTH_LIMIT = 1.6
"""Time a note at the longest over that at the shortest; twice the length would give 2."""

STEM, SLURRED = "<stem>up</stem>", '<notations><slur number="1" type="start"/></notations>'


def played(pitch: str, staff: int, type_name: str, duration: int, more: str = "") -> str:
    """Write a note as notation editors do: with voice, type, stem, staff, beam."""
    where = (
        f"<voice>{4 * staff - 3}</voice><type>{type_name}</type>{STEM}<staff>{staff}</staff>"
        f'<beam number="1">begin</beam>{more}'
    )
    return note(pitch, duration, where, **{"default-x": "83.58", "default-y": "-15.00"})


def invented(measure_count: int) -> bytes:
    """Write an invented piece for two hands of so many measures, without ids."""
    upper = [played(pitch, 1, "eighth", 2) for pitch in ("D5", "F5", "Bb4", "C5", "A4", "G4")]
    upper[0] = played("D5", 1, "eighth", 2, SLURRED)
    lower = [played(pitch, 2, "16th", 1) for pitch in ("G2", "D3", "Bb3", "D4", "C4", "F#3") * 2]
    measure = words("dolce") + "".join(upper) + move("backup", 12) + "".join(lower)
    first = attributes(4, "6/8", "<staves>2</staves>") + measure
    return score([first, *[measure] * (measure_count - 1)])


def invented_quartet(measure_count: int) -> bytes:
    """Write an invented piece for four parts, with dynamics, slurs and rests."""
    soft = "<direction><direction-type><dynamics><p/></dynamics></direction-type></direction>"
    lines = [("D5", "F5", "Bb4", "C5"), ("A4", "C5", "G4", "A4"), ("F4", "Eb4", "D4", "E4"),
             ("Bb2", "A2", "G2", "C3")]  # fmt: skip
    parts = []
    for pitches in lines:
        moving = [played(pitch, 1, "eighth", 2) for pitch in pitches * 2]
        moving[0] = played(pitches[0], 1, "eighth", 2, SLURRED)
        calm = [soft, *(played(pitch, 1, "quarter", 4) for pitch in pitches[:3]), rest(4)]
        pair = ["".join(moving), "".join(calm)]
        measures = [pair[index % 2] for index in range(measure_count)]
        parts.append([attributes(4, "4/4") + measures[0], *measures[1:]])
    return score(*parts)


def medians(*tasks: Callable[[], object]) -> list[float]:
    """Seconds of each task, the tasks in turns."""
    seconds: list[list[float]] = [[] for _ in tasks]
    for _ in range(ROUNDS):
        for task, taken in zip(tasks, seconds, strict=True):
            start = time.process_time()
            task()
            bytearray(LARGER_BYTES)
            taken.append(time.process_time() - start)
    return [statistics.median(taken) for taken in seconds]


@pytest.mark.parametrize("length", LENGTHS)
@pytest.mark.parametrize("written", [invented, invented_quartet])
def test_reading_costs_a_few_bare_parses(written: Callable[[int], bytes], length: int) -> None:
    data = written(MEASURES * length)
    bare, whole = medians(
        lambda: etree.fromstring(data), lambda: read_bytes(data, name="invented.musicxml")
    )
    print(
        f"\n{written.__name__}, {MEASURES * length} measures, {len(data) / 1e6:.2f} MB: "
        f"lxml {bare * 1e3:.1f} ms, reading {whole * 1e3:.1f} ms, {whole / bare:.2f} times"
    )
    assert whole / bare <= LIMIT


def test_reading_is_linear_in_the_length() -> None:
    datas = [invented(MEASURES * length) for length in LENGTHS]
    seconds = medians(*(lambda data=data: read_bytes(data, name="x") for data in datas))
    per_unit = [taken / length for taken, length in zip(seconds, LENGTHS, strict=True)]
    figures = ", ".join(f"{each * 1e3:.1f}" for each in per_unit)
    print(f"\nms for each {MEASURES} measures at lengths 1, 2, 4, 8: {figures}")
    assert max(per_unit) / min(per_unit) <= GROWTH_LIMIT
