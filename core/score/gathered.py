"""What the parts of a score give while they are read, in rows; ``musicxml`` makes tables of it.

Conventions: onsets are local to their measure, in ticks, until all parts are read and the real
lengths of the measures are known. Rows of notes are bare tuples, since a score has tens of
thousands of them, and each pitch is kept once.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from core.score.measure_signs import Signs

Pitch = tuple[int, float, int, int]
"""Step, alter, octave, MIDI pitch as it sounds."""
NoteRow = tuple[str, int, str, int, int, int, int, int]
"""Id, staff, voice, measure, onset, duration, index of the ``Pitch`` in ``Gathered``, flags."""
RestRow = tuple[str, int, int, str, int, int, int, bool]
"""Id, part, staff, voice, measure, onset, duration, is_whole_measure."""

GRACE, CUE = 4, 8
"""Flags of a note row, beside the bits of its tie (1 and 2)."""


class DirectionRow(NamedTuple):
    """A direction with an onset local to its measure."""

    id: str
    measure: int
    onset: int
    part: int
    staff: int
    kind: str
    text: str
    placement: str | None
    sign_type: str


class TimeInForce(NamedTuple):
    """The time signature as printed, and ticks of a full measure; None for either without one."""

    signature: str | None
    nominal: int | None


@dataclass(slots=True)
class Gathered:
    """What all parts of a score give.

    Parameters
    ----------
    name : str
        The file as the person named it, for errors.
    ticks_per_quarter : int
    notes : list of NoteRow, part after part.
    notes_by_part : list of int, how many rows each part has.
    pitches : dict, each pitch with its index.
    extents : list of int, ticks to the farthest point of each measure.
    """

    name: str
    ticks_per_quarter: int
    notes: list[NoteRow] = field(default_factory=list)
    notes_by_part: list[int] = field(default_factory=list)
    pitches: dict[Pitch, int] = field(default_factory=dict)
    rests: list[RestRow] = field(default_factory=list)
    directions: list[DirectionRow] = field(default_factory=list)
    extents: list[int] = field(default_factory=list)
    signs: Signs = field(default_factory=Signs)
    oddities: list[str] = field(default_factory=list)
