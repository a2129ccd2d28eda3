"""The note table: one row a note (or rest), in columns of equal length.

Conventions
-----------
Time is in *ticks*: integers of one common division of the quarter note for the whole score,
so that every onset and duration is exact. ``ticks_per_quarter`` converts. Onsets count from
the start of the written score; repeats are not expanded.
Rows are ordered by onset, then grace notes first, then staff, then MIDI pitch from below.
``step``, ``alter`` and ``octave`` spell what is written; ``midi_pitch`` is what sounds, with
the part's transposition applied (MIDI 1.0: middle C is 60).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

STEPS = "CDEFGAB"
TIE_START, TIE_STOP = 1, 2
UNPITCHED = -1
"""``midi_pitch`` of a note without pitch (percussion)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoteTable:
    """The notes of a score, shape ``(n,)`` in every column.

    Parameters
    ----------
    ticks_per_quarter : int
        The common division.
    ids : tuple of str
        Unique in the score, valid XML names.
    part : int16, position of the part in the score, from 0.
    staff : int16, staff counted through the whole score from the top, from 1.
    voice : tuple of str, names within the part.
    measure : int32, index of the measure in which the note is written.
    onset, duration : int64, ticks; a grace note's duration is 0.
    step : int8, index into ``STEPS``.
    alter : float32, semitones (quarter-tones are halves).
    octave : int8, scientific pitch notation (4 holds middle C).
    midi_pitch : int16, 0 to 127, or ``UNPITCHED``.
    tie : int8, bits ``TIE_START`` and ``TIE_STOP``.
    is_grace, is_cue : bool.
    """

    ticks_per_quarter: int
    ids: tuple[str, ...]
    part: NDArray[np.int16]
    staff: NDArray[np.int16]
    voice: tuple[str, ...]
    measure: NDArray[np.int32]
    onset: NDArray[np.int64]
    duration: NDArray[np.int64]
    step: NDArray[np.int8]
    alter: NDArray[np.float32]
    octave: NDArray[np.int8]
    midi_pitch: NDArray[np.int16]
    tie: NDArray[np.int8]
    is_grace: NDArray[np.bool_]
    is_cue: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.ids)

    def quarters(self, ticks: int) -> Fraction:
        """Ticks as exact quarter notes."""
        return Fraction(int(ticks), self.ticks_per_quarter)

    def row_of(self, note_id: str) -> int:
        """Row of a note id.

        Raises
        ------
        ValueError
            No note has that id.
        """
        try:
            return self.ids.index(note_id)
        except ValueError:
            raise ValueError(f"note_id {note_id!r} is not in this score; a rest's id?") from None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RestTable:
    """The rests of a score, in the columns of ``NoteTable`` that a rest has."""

    ids: tuple[str, ...]
    part: NDArray[np.int16]
    staff: NDArray[np.int16]
    voice: tuple[str, ...]
    measure: NDArray[np.int32]
    onset: NDArray[np.int64]
    duration: NDArray[np.int64]
    is_whole_measure: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.ids)
