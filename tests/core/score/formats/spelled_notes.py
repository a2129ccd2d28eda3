"""Notes of a score as a person would list them."""

from __future__ import annotations

from fractions import Fraction

from core.score.note_table import STEPS
from core.score.score import Score

_SIGNS = {0: "", 1: "#", -1: "b", 2: "##"}


def spelled(score: Score) -> list[tuple[int, str, Fraction, Fraction]]:
    """(staff, spelling, onset, duration in quarters) of each note, in the order of the table."""
    notes = score.notes
    return [
        (
            int(notes.staff[row]),
            f"{STEPS[notes.step[row]]}{_SIGNS[int(notes.alter[row])]}{notes.octave[row]}",
            notes.quarters(int(notes.onset[row])),
            notes.quarters(int(notes.duration[row])),
        )
        for row in range(len(notes))
    ]


def names(score: Score, *, staff: int | None = None) -> list[str]:
    """Spellings alone, of one staff or all."""
    return [name for number, name, _, _ in spelled(score) if staff in (None, number)]
