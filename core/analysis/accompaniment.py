"""What the lower staves do: the pattern of an accompaniment, its period, how regular it is.

Conventions
-----------
Each staff below the first one of its part (of the score, where parts have one staff each) is
looked at unit by unit (``units``): the chords that it strikes, lowest note first. A unit is
named only where simple evidence carries it; units of one name side by side make a stretch.
Names are common practice.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.analysis.units import Units
from core.score.findings import Finding
from core.score.note_table import TIE_STOP, UNPITCHED
from core.score.places import Passage
from core.score.score import Score

LEAST_UNITS = 2
"""A pattern is one when it comes twice."""
LEAST_REGULARITY = 0.5
LEAST_TURN = 3
"""Single notes in a figure: low and high alone come again within any Alberti bass."""
OCTAVE = 12
LEAP = 3
"""Semitones: a smaller step belongs to a line, not to a broken chord."""
QUICK_QUARTERS = Fraction(1, 4)
"""Alternating notes up to this length are a tremolo."""
EVIDENCE_NOTES = 12

Chord = tuple[int, ...]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Accompaniment:
    """The pattern of one staff over a stretch.

    Parameters
    ----------
    passage : Passage
    staff : int
        Counted through the score, from 1.
    pattern : str
        "broken chords", "Alberti bass", "bass and chords", "repeated chords",
        "repeated notes", "block chords", "octaves", "tremolo" or "pedal point".
    period_quarters : fractions.Fraction
        After which its rhythm comes again.
    regularity : float
        Share of the units of the stretch that have the pattern in its usual rhythm.
    """

    passage: Passage
    staff: int
    pattern: str
    period_quarters: Fraction
    regularity: float


class _Struck(NamedTuple):
    """One unit of a staff: when chords are struck (ticks from its start), and which."""

    times: tuple[int, ...]
    chords: tuple[Chord, ...]
    length: int
    pattern: str | None


def accompaniments(score: Score, units: Units) -> tuple[Finding[Accompaniment], ...]:
    """The stretches of accompaniment of a score, by staff, then by onset."""
    found: list[Finding[Accompaniment]] = []
    for staff in _lower_staves(score):
        rows = _rows_of(score, staff)
        struck = list(_struck_units(score, units, rows))
        found.extend(
            _finding(score, units, rows, struck[first:end], staff=staff, first=first)
            for first, end in _stretches([unit.pattern for unit in struck])
        )
    return tuple(f for f in found if f.value.regularity >= LEAST_REGULARITY)


def _lower_staves(score: Score) -> list[int]:
    if any(part.staves > 1 for part in score.parts):
        return [
            staff
            for part in score.parts
            for staff in range(part.first_staff + 1, part.first_staff + part.staves)
        ]
    return [part.first_staff for part in score.parts[1:]]


def _rows_of(score: Score, staff: int) -> Ints:
    notes = score.notes
    return np.flatnonzero(
        (notes.staff == staff)
        & (notes.midi_pitch != UNPITCHED)
        & ~notes.is_grace
        & ((notes.tie & TIE_STOP) == 0)
    )


def _struck_units(score: Score, units: Units, rows: Ints) -> Iterator[_Struck]:
    onsets = score.notes.onset[rows]
    pitches = score.notes.midi_pitch[rows]
    firsts = np.searchsorted(onsets, units.starts)
    lasts = np.searchsorted(onsets, units.ends)
    for unit in range(len(units)):
        start, length = int(units.starts[unit]), int(units.ends[unit] - units.starts[unit])
        by_time: dict[int, list[int]] = {}
        inside = slice(firsts[unit], lasts[unit])
        for onset, pitch in zip(onsets[inside].tolist(), pitches[inside].tolist(), strict=True):
            by_time.setdefault(onset - start, []).append(pitch)
        times = tuple(sorted(by_time))
        chords = tuple(tuple(sorted(set(by_time[time]))) for time in times)
        pattern = pattern_of(chords, times, score.ticks_per_quarter)
        yield _Struck(times, chords, length, pattern)


def pattern_of(chords: Sequence[Chord], times: Sequence[int], ticks_per_quarter: int) -> str | None:
    """The name of what one unit does; None where simple evidence does not carry one."""
    if not chords:
        return None
    if len(set(chords)) == 1 and len(chords[0]) == 1:
        return "pedal point" if len(chords) == 1 else "repeated notes"
    sizes = {len(chord) for chord in chords}
    if all(len(chord) == 2 and chord[1] - chord[0] == OCTAVE for chord in chords):
        return "octaves"
    if sizes == {1}:
        return _pattern_of_line([chord[0] for chord in chords], times, ticks_per_quarter)
    if _is_bass_and_chords(chords):
        return "bass and chords"
    if min(sizes) >= 2:
        return "repeated chords" if _is_repeated(chords) else "block chords"
    return None


def _pattern_of_line(
    pitches: Sequence[int], times: Sequence[int], ticks_per_quarter: int
) -> str | None:
    if len(pitches) < 3:
        return None
    steps = [abs(b - a) for a, b in itertools.pairwise(pitches)]
    gaps = [b - a for a, b in itertools.pairwise(times)]
    alternates = len(set(pitches[::2])) == 1 and len(set(pitches[1::2])) == 1
    if alternates and len(pitches) >= 4:
        if max(gaps) <= QUICK_QUARTERS * ticks_per_quarter:
            return "tremolo"
        if set(steps) == {OCTAVE}:
            return "octaves"
    if sum(step >= LEAP for step in steps) < 0.6 * len(steps):
        return None
    return "Alberti bass" if _is_alberti(pitches) else "broken chords"


def _is_alberti(pitches: Sequence[int]) -> bool:
    """Low, high, middle, high, again and again."""
    if len(pitches) % 4:
        return False
    groups = [pitches[i : i + 4] for i in range(0, len(pitches), 4)]
    return all(low < middle < high == again for low, high, middle, again in groups)


def _is_bass_and_chords(chords: Sequence[Chord]) -> bool:
    """A low note (or its octave), then chords above it."""
    low, *rest = chords
    is_bass = len(low) == 1 or (len(low) == 2 and low[1] - low[0] == OCTAVE)
    above = [chord for chord in rest if len(chord) >= 2 and chord[0] > low[0]]
    return is_bass and len(above) >= 1 and 2 * len(above) >= len(rest)


def _is_repeated(chords: Sequence[Chord]) -> bool:
    same = sum(a == b for a, b in itertools.pairwise(chords))
    return len(chords) >= 3 and 2 * same >= len(chords) - 1


def _stretches(patterns: Sequence[str | None]) -> Iterator[tuple[int, int]]:
    """Spans of one pattern; a single unit of something else inside does not end one."""
    first = 0
    while first < len(patterns):
        name = patterns[first]
        end = first + 1
        while end < len(patterns) and (
            patterns[end] == name or (end + 1 < len(patterns) and patterns[end + 1] == name)
        ):
            end += 1
        if name is not None and end - first >= LEAST_UNITS:
            yield first, end
        first = end


def _finding(
    score: Score,
    units: Units,
    rows: Ints,
    struck: Sequence[_Struck],
    *,
    staff: int,
    first: int,
) -> Finding[Accompaniment]:
    name = struck[0].pattern
    assert name is not None
    usual = _usual_rhythm(struck, name)
    regular = sum(u.pattern == name and u.times == usual.times for u in struck) / len(struck)
    has_pattern = sum(unit.pattern == name for unit in struck) / len(struck)
    value = Accompaniment(
        passage=units.passage(score, first, first + len(struck)),
        staff=staff,
        pattern=name,
        period_quarters=Fraction(score.quarters(_period(usual))),
        regularity=round((regular + has_pattern) / 2, 4),
    )
    onsets = score.notes.onset[rows]
    start = int(np.searchsorted(onsets, units.starts[first]))
    return Finding(
        kind="accompaniment",
        passage=value.passage,
        value=value,
        confidence=round(min(0.95, 0.5 * has_pattern + 0.05 * min(len(struck), 9)), 4),
        evidence=tuple(score.notes.ids[row] for row in rows[start : start + EVIDENCE_NOTES]),
    )


def _usual_rhythm(struck: Sequence[_Struck], name: str) -> _Struck:
    units = [unit for unit in struck if unit.pattern == name]
    counts: dict[tuple[int, ...], int] = {}
    for unit in units:
        counts[unit.times] = counts.get(unit.times, 0) + 1
    return max(units, key=lambda unit: counts[unit.times])


def _period(unit: _Struck) -> int:
    """The shortest even part of a unit after which the same kinds of chord are struck again."""
    for parts in (4, 3, 2):
        part = unit.length // parts
        if unit.length % parts or len(unit.times) % parts:
            continue
        each = len(unit.times) // parts
        kinds = [
            (time - (index // each) * part, len(chord) > 1)
            for index, (time, chord) in enumerate(zip(unit.times, unit.chords, strict=True))
        ]
        turns = [unit.chords[i : i + each] for i in range(0, len(unit.chords), each)]
        shapes = {tuple(_contour(turn)) for turn in turns}
        least = 2 if any(len(chord) > 1 for chord in unit.chords) else LEAST_TURN
        if each >= least and len(shapes) == 1 and kinds == kinds[:each] * parts:
            return part
    return unit.length


def _contour(chords: Sequence[Chord]) -> Iterator[int]:
    """Up, down or level from each chord's lowest note to the next."""
    for before, after in itertools.pairwise(chords):
        yield (after[0] > before[0]) - (after[0] < before[0])
