"""Degrees of a scale that are bent in some places: another note stands for them there.

A note outside the scale bends a degree when it carries the same number, sounds more than once and
not just in passing, and the plain degree keeps silent in the same measures. A leading note (a
raised note that goes up a semitone at once) bends nothing, nor does a neighbour or a passing note
on a short value. Common practice; the limits are judgements.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from core.analysis.keys import tonic_name
from core.analysis.scales import ScaleInUse, degree_fifths
from core.analysis.slices import Ints, fifths_of, rows_between
from core.score.findings import Finding
from core.score.note_table import NoteTable
from core.score.places import Passage
from core.score.score import Score

BENDABLE = ("b2", "b3", "3", "4", "#4", "b5", "5", "#5", "b6", "6", "b7", "7", "2")
_MINOR = ("natural minor", "harmonic minor", "melodic minor")
LEAST_NOTES, LEAST_QUARTERS = 2, 1.0
MOST_MEASURES_SHARE = 0.5
"""Of the measures that sound the degree at all; what is bent more often is no exception."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BentDegree:
    """A degree against the major scale ("b2") that stands for that of a scale on its tonic."""

    degree: str
    tonic: int

    @property
    def name(self) -> str:
        """For a reader: "b2 of G"."""
        return f"{self.degree} of {tonic_name(self.tonic)}"


def bent_notes(
    score: Score, regions: Iterable[Finding[ScaleInUse]]
) -> tuple[Finding[BentDegree], ...]:
    """Where degrees are bent: one finding for each measure and degree, by region and measure.

    Its confidence is that of the region; its evidence are the notes, the highest first.
    """
    notes = score.notes
    found = []
    for region in regions:
        if not region.value.bent or region.passage is None:
            continue
        first, end = region.passage.start.measure_index, region.passage.end.measure_index
        for degree, rows in bends(score, first, end, region.value):
            for measure in sorted(set(notes.measure[rows].tolist())):
                inside = rows[notes.measure[rows] == measure]
                highest = inside[np.argsort(-notes.midi_pitch[inside], kind="stable")]
                found.append(
                    Finding(
                        kind="bent degree",
                        passage=Passage.of_measures(measure, measure),
                        value=BentDegree(degree=degree, tonic=region.value.tonic),
                        confidence=region.confidence,
                        evidence=tuple(notes.ids[row] for row in highest.tolist()),
                    )
                )
    return tuple(found)


def bent_degrees(score: Score, first: int, end: int, scale: ScaleInUse) -> tuple[str, ...]:
    """Degrees against the major scale that stand for those of ``scale`` in some of its measures.

    Parameters
    ----------
    score : Score
    first, end : int
        Indices of measures; the end is exclusive.
    """
    return tuple(degree for degree, _ in bends(score, first, end, scale))


def bends(score: Score, first: int, end: int, scale: ScaleInUse) -> Iterator[tuple[str, Ints]]:
    """Each bent degree with the rows of the notes that bend it."""
    notes = score.notes
    measures = score.measures
    stop = measures[end].onset if end < len(measures) else score.duration
    rows = rows_between(notes, measures[first].onset, stop)
    above = fifths_of(notes, rows) - scale.tonic
    plain = {degree[-1]: degree for degree in scale.degrees}
    for degree in BENDABLE:
        natural = plain.get(degree[-1])
        if natural is None or degree in scale.degrees or _is_inflection(scale, degree):
            continue
        bent = rows[above == degree_fifths(degree)]
        usual = rows[above == degree_fifths(natural)]
        if _bends(notes, bent, usual, is_raised=_is_raised(degree, natural)):
            yield degree, bent


def _is_inflection(scale: ScaleInUse, degree: str) -> bool:
    """Both sixths and both sevenths belong to the minor."""
    return scale.scale in _MINOR and degree[-1] in "67"


def _is_raised(degree: str, natural: str) -> bool:
    return degree_fifths(degree) > degree_fifths(natural)


def _bends(notes: NoteTable, bent: Ints, usual: Ints, *, is_raised: bool) -> bool:
    if len(bent) < LEAST_NOTES:
        return False
    quarters = float(notes.duration[bent].sum() / notes.ticks_per_quarter)
    where, elsewhere = set(notes.measure[bent].tolist()), set(notes.measure[usual].tolist())
    if quarters < LEAST_QUARTERS or where & elsewhere:
        return False
    if len(where) > MOST_MEASURES_SHARE * len(where | elsewhere):
        return False
    return not (is_raised and _lead_up(notes, bent))


def _lead_up(notes: NoteTable, rows: Ints) -> bool:
    """Whether most of the notes go up a semitone at once, in any voice of their part."""
    led = 0
    for row in rows.tolist():
        end = notes.onset[row] + notes.duration[row]
        after = np.flatnonzero(
            (notes.part == notes.part[row]) & (notes.onset == end) & (notes.duration > 0)
        )
        led += bool(np.any(notes.midi_pitch[after] == notes.midi_pitch[row] + 1))
    return 2 * led > len(rows)
