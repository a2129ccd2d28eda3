"""Scores of a few notes, put together by hand."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from core.score.note_table import TIE_STOP, NoteTable, RestTable
from core.score.places import Passage, Place
from core.score.score import Measure, Part, RawDirection, Score

SHA = "ab" * 32


@dataclass(frozen=True, kw_only=True)
class Note:
    """A note by its onset in quarters."""

    id: str
    onset: Fraction | int
    pitch: int
    staff: int = 1
    is_grace: bool = False
    is_tied_over: bool = False


# Four measures of 4/4 after a pickup of one quarter; a chord on each downbeat.
NOTES = (
    Note(id="n0", onset=0, pitch=67),
    Note(id="n1", onset=1, pitch=72),
    Note(id="n2", onset=1, pitch=48, staff=2),
    Note(id="n3", onset=2, pitch=74),
    Note(id="n4", onset=Fraction(7, 2), pitch=76),
    Note(id="g5", onset=5, pitch=79, is_grace=True),
    Note(id="n5", onset=5, pitch=77),
    Note(id="n6", onset=5, pitch=53, staff=2),
    Note(id="n7", onset=9, pitch=77, is_tied_over=True),
    Note(id="n8", onset=9, pitch=55, staff=2),
    Note(id="n9", onset=13, pitch=72),
    Note(id="n10", onset=13, pitch=48, staff=2),
)
LENGTHS = (1, 4, 4, 4, 4)


def small_score(
    *,
    title: str = "",
    composer: str = "",
    sha256: str = SHA,
    ticks: int = 4,
    notes: tuple[Note, ...] = NOTES,
    lengths: tuple[int, ...] = LENGTHS,
) -> Score:
    """A score for piano; ``lengths`` are those of the measures, in quarters."""
    onsets = [sum(lengths[:index]) for index in range(len(lengths))]
    measures = tuple(
        Measure(
            index=index,
            id=f"m{index}",
            number=str(index),
            onset=onset * ticks,
            duration=lengths[index] * ticks,
        )
        for index, onset in enumerate(onsets)
    )
    return Score(
        sha256=sha256,
        canonical=b"<score-partwise/>",
        title=title,
        composer=composer,
        parts=(Part(id="P1", name="Piano", staves=2, first_staff=1),),
        measures=measures,
        notes=_table(notes, onsets, ticks),
        rests=_no_rests(),
        directions=(
            RawDirection(
                id="d1", measure_index=1, onset=ticks, part=0, staff=1, kind="words", text="dolce"
            ),
        ),
    )


def at(measure_index: int, offset: Fraction | int = 0, **more: object) -> Passage:
    """A point."""
    place = Place(measure_index=measure_index, offset_quarters=Fraction(offset), **more)
    return Passage.at(place)


def between(start: tuple[int, int], end: tuple[int, int]) -> Passage:
    """From a measure and its offset to another, exclusive."""
    return Passage(start=at(*start).start, end=at(*end).start)


def _table(notes: tuple[Note, ...], onsets: list[int], ticks: int) -> NoteTable:
    count = len(notes)
    measure_of = [max(i for i, onset in enumerate(onsets) if onset <= n.onset) for n in notes]
    return NoteTable(
        ticks_per_quarter=ticks,
        ids=tuple(note.id for note in notes),
        part=np.zeros(count, np.int16),
        staff=np.array([note.staff for note in notes], np.int16),
        voice=("1",) * count,
        measure=np.array(measure_of, np.int32),
        onset=np.array([int(note.onset * ticks) for note in notes], np.int64),
        duration=np.array([0 if note.is_grace else ticks for note in notes], np.int64),
        step=np.zeros(count, np.int8),
        alter=np.zeros(count, np.float32),
        octave=np.full(count, 4, np.int8),
        midi_pitch=np.array([note.pitch for note in notes], np.int16),
        tie=np.array([TIE_STOP if note.is_tied_over else 0 for note in notes], np.int8),
        is_grace=np.array([note.is_grace for note in notes], np.bool_),
        is_cue=np.zeros(count, np.bool_),
    )


def _no_rests() -> RestTable:
    return RestTable(
        ids=("r1",),
        part=np.zeros(1, np.int16),
        staff=np.ones(1, np.int16),
        voice=("1",),
        measure=np.zeros(1, np.int32),
        onset=np.zeros(1, np.int64),
        duration=np.ones(1, np.int64),
        is_whole_measure=np.zeros(1, np.bool_),
    )
