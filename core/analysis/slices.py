"""A score cut into slices of a beat: what sounds in each, spelled, and what its bass is.

Conventions: a slice is one beat of the written metre, a dotted quarter in compound metres and a
quarter elsewhere, counted from the start of each measure, so that no slice crosses a barline.
Pitches are positions on the line of fifths (``keys``), in columns from ``LOWEST_FIFTHS`` up.
Grace notes, cue notes and notes without pitch are left out.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from core.score.note_table import UNPITCHED, NoteTable
from core.score.places import Passage, Place
from core.score.score import Measure, Score

LOWEST_FIFTHS, HIGHEST_FIFTHS = -15, 19
"""F double flat to B double sharp: every spelling with up to two signs."""
FIFTHS = np.arange(LOWEST_FIFTHS, HIGHEST_FIFTHS + 1)
PITCH_CLASS_OF_COLUMN = 7 * FIFTHS % 12
NO_BASS = -128
_LETTER_FIFTHS = np.array([0, 2, 4, -1, 1, 3, 5])
"""Of C D E F G A B on the line of fifths."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slices:
    """What sounds, beat by beat.

    Parameters
    ----------
    ticks_per_quarter : int
    edges : shape (n + 1,)
        Ticks; slice i lasts from ``edges[i]`` to ``edges[i + 1]``.
    measure : shape (n,)
        Index of the measure.
    fifths : shape (n, 35)
        Quarters that each spelled pitch sounds in the slice, over all voices.
    bass : shape (n,)
        The lowest note that sounds, on the line of fifths; ``NO_BASS`` in silence.
    bass_pitch : shape (n,)
        The same as a MIDI pitch; 999 in silence.
    """

    ticks_per_quarter: int
    edges: Ints
    measure: Ints
    fifths: Floats
    bass: Ints
    bass_pitch: Ints

    def __len__(self) -> int:
        return len(self.measure)

    @property
    def quarters(self) -> Floats:
        """Length of each slice."""
        return np.asarray(np.diff(self.edges) / self.ticks_per_quarter, dtype=np.float64)

    @property
    def pitch_classes(self) -> Floats:
        """Quarters that each pitch class sounds, shape (n, 12), from C up."""
        sums = np.zeros((len(self), 12))
        for pitch_class in range(12):
            sums[:, pitch_class] = self.fifths[:, pitch_class == PITCH_CLASS_OF_COLUMN].sum(axis=1)
        return sums


def fifths_of(notes: NoteTable, rows: Ints) -> Ints:
    """Positions of notes on the line of fifths; quarter-tones go to the nearer semitone."""
    fifths = _LETTER_FIFTHS[notes.step[rows]] + 7 * np.rint(notes.alter[rows]).astype(np.int64)
    return np.asarray(np.clip(fifths, LOWEST_FIFTHS, HIGHEST_FIFTHS), dtype=np.int64)


def sounding_rows(notes: NoteTable) -> Ints:
    """Rows of the notes that count: with a pitch and a duration, and no cue notes."""
    return _sounding(notes, 0, len(notes))


def rows_between(notes: NoteTable, start: int, end: int) -> Ints:
    """The same of the notes that begin from one onset up to another, both in ticks."""
    first, last = np.searchsorted(notes.onset, [start, end]).tolist()
    return _sounding(notes, first, last)


def _sounding(notes: NoteTable, first: int, end: int) -> Ints:
    inside = slice(first, end)
    is_one = (notes.duration[inside] > 0) & (notes.midi_pitch[inside] != UNPITCHED)
    return np.flatnonzero(is_one & ~notes.is_cue[inside]) + first


def slices_of(score: Score) -> Slices:
    """The slices of the whole score; they follow one another without a gap."""
    edges, measure = _grid(score)
    notes = score.notes
    rows = sounding_rows(notes)
    onset, end = notes.onset[rows], notes.onset[rows] + notes.duration[rows]
    first = np.searchsorted(edges, onset, side="right") - 1
    last = np.minimum(np.searchsorted(edges, end, side="left") - 1, len(measure) - 1)
    counts = np.maximum(last - first + 1, 0)
    note = np.repeat(np.arange(len(rows)), counts)
    slot = np.repeat(first - np.cumsum(counts) + counts, counts) + np.arange(counts.sum())
    length = np.minimum(end[note], edges[slot + 1]) - np.maximum(onset[note], edges[slot])
    column = fifths_of(notes, rows) - LOWEST_FIFTHS
    flat = np.bincount(
        slot * len(FIFTHS) + column[note],
        weights=length / notes.ticks_per_quarter,
        minlength=len(measure) * len(FIFTHS),
    )
    lowest = np.full(len(measure), 999 * 64)
    np.minimum.at(lowest, slot, notes.midi_pitch[rows].astype(np.int64)[note] * 64 + column[note])
    pitch = lowest // 64
    return Slices(
        ticks_per_quarter=notes.ticks_per_quarter,
        edges=edges,
        measure=measure,
        fifths=np.asarray(flat, dtype=np.float64).reshape(len(measure), len(FIFTHS)),
        bass=np.where(pitch == 999, NO_BASS, lowest % 64 + LOWEST_FIFTHS),
        bass_pitch=pitch,
    )


def window_sums(values: Floats, reach: int) -> Floats:
    """Sums over up to ``reach`` slices before and after each one; along the first axis."""
    count = len(values)
    total = np.concatenate([np.zeros((1, *values.shape[1:])), np.cumsum(values, axis=0)])
    after = np.minimum(np.arange(count) + reach + 1, count)
    before = np.maximum(np.arange(count) - reach, 0)
    return np.asarray(total[after] - total[before], dtype=np.float64)


def passage_between(score: Score, start: int, end: int) -> Passage:
    """The passage from one onset up to another, both in ticks."""
    return Passage(start=place_at(score, start), end=place_at(score, end))


def place_at(score: Score, ticks: int) -> Place:
    """The place of an onset: in the measure that sounds then, or after the last one."""
    if ticks >= score.duration:
        return Place(measure_index=len(score.measures))
    index = bisect_right(score.measures, ticks, key=attrgetter("onset")) - 1
    offset = score.quarters(ticks - score.measures[index].onset)
    return Place(measure_index=index, offset_quarters=offset)


def _grid(score: Score) -> tuple[Ints, Ints]:
    quarter = score.ticks_per_quarter
    onsets: list[int] = []
    measures: list[int] = []
    for measure in score.measures:
        if measure.duration > 0:
            steps = range(0, measure.duration, _beat_ticks(measure, quarter))
            onsets += [measure.onset + step for step in steps]
            measures += [measure.index] * len(steps)
    edges = np.array([*onsets, score.duration], dtype=np.int64)
    return edges, np.array(measures, dtype=np.int64)


def _beat_ticks(measure: Measure, quarter: int) -> int:
    beats, _, unit = (measure.signature or "4/4").partition("/")
    is_compound = unit == "8" and beats.isdecimal() and int(beats) % 3 == 0
    return max(quarter * 3 // 2 if is_compound else quarter, 1)
