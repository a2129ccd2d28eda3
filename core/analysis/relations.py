"""In what way a passage is another one again.

Conventions
-----------
Two spans of units are laid side by side, unit by unit. What counts as the same is a note with
the same place in its unit and the same pitch, moved by one interval for all. Grace notes and
the continuation of ties are left out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.analysis.ordered import distinct
from core.analysis.units import Units
from core.score.note_table import TIE_STOP, UNPITCHED, NoteTable

EXACT = 0.97
"""Share of notes the same from which a return is called exact: a slip or a tie apart."""
OCTAVES = (0, -12, 12, -24, 24, -36, 36)
_PITCHES = 512

Ints = NDArray[np.int64]


class Relation(NamedTuple):
    """How one passage returns another.

    Parameters
    ----------
    words : tuple of str
        "exact", or some of "transposed", "varied", "shortened", "extended", "reduced".
    interval : int
        Semitones from the first up to the second.
    same_notes : float
        Share of the notes of both that are the same, 0 to 1 (intersection over union).
    """

    words: tuple[str, ...]
    interval: int
    same_notes: float

    @property
    def text(self) -> str:
        """The words joined by "+", as the contract has them."""
        return "+".join(self.words)

    @property
    def is_exact(self) -> bool:
        """Whether nothing differs."""
        return self.words == ("exact",)


class UnitNotes(NamedTuple):
    """The notes that begin in each unit, sorted: ticks inside the unit and pitch as one key."""

    keys: Ints
    bounds: Ints

    def of(self, first: int, end: int) -> Ints:
        """Keys of the units ``first`` up to ``end``, told apart by unit."""
        return self.keys[self.bounds[first] : self.bounds[end]]


def unit_notes(notes: NoteTable, units: Units) -> UnitNotes:
    """Sort the notes into their units."""
    sounding = (notes.midi_pitch != UNPITCHED) & ~notes.is_grace & ((notes.tie & TIE_STOP) == 0)
    rows = np.flatnonzero(sounding)
    unit = np.searchsorted(units.starts, notes.onset[rows], side="right") - 1
    inside = (unit >= 0) & (notes.onset[rows] < units.ends[unit])
    rows, unit = rows[inside], unit[inside]
    longest = int((units.ends - units.starts).max()) + 1
    ticks = notes.onset[rows] - units.starts[unit]
    keys = (unit * longest + ticks) * _PITCHES + notes.midi_pitch[rows].astype(np.int64)
    keys = np.sort(keys)
    edges = np.arange(len(units) + 1) * longest * _PITCHES
    return UnitNotes(keys=keys, bounds=np.searchsorted(keys, edges))


def compare_spans(
    notes: UnitNotes, units: Units, *, first: int, second: int, length: int, shift: int
) -> Relation:
    """Compare two spans of equal length, unit by unit.

    Parameters
    ----------
    shift : int
        Semitones modulo 12 from the first up to the second.
    """
    longest = int((units.ends - units.starts).max()) + 1
    here = distinct(notes.of(first, first + length) - first * longest * _PITCHES)
    there = distinct(notes.of(second, second + length) - second * longest * _PITCHES)
    best, interval = 0.0, 0
    near = shift if shift <= 6 else shift - 12
    for octave in OCTAVES:
        moved = here + near + octave
        common = len(np.intersect1d(moved, there, assume_unique=True))
        share = common / max(1, len(here) + len(there) - common)
        if share > best + 0.02:
            best, interval = share, near + octave
    if best == 0.0:
        interval = near
    return Relation(words=_words(best, interval), interval=interval, same_notes=best)


def _words(same: float, interval: int) -> tuple[str, ...]:
    words = ("transposed",) if interval else ()
    if same < EXACT:
        return (*words, "varied")
    return words or ("exact",)


def with_lengths(relation: Relation, earlier_units: int, later_units: int) -> Relation:
    """The relation of two whole sections: with "shortened" or "extended" where they differ."""
    if earlier_units == later_units:
        return relation
    length_word = "shortened" if later_units < earlier_units else "extended"
    words = tuple(word for word in relation.words if word != "exact")
    return Relation(
        words=(*words, length_word), interval=relation.interval, same_notes=relation.same_notes
    )
