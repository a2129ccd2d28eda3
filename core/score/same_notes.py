"""Whether two scores hold the same notes, however they are laid out, spelled or written down.

Conventions: compared is what sounds: when each note begins (exactly, from the start of the
written score), its pitch as it sounds, and for how long each pitch sounds in all, so that a long
note and its tied halves are the same. Measures, staves, voices and spelling don't count: other
formats can't say them, and another edition lays them out anew.
"""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING

import numpy as np

from core.score.note_table import TIE_STOP

if TYPE_CHECKING:
    from core.score.note_table import NoteTable

_HEAD = re.compile(rb"<(?:pitch|unpitched)\b")
_TIE_STOP = re.compile(rb"<tie\b[^>]*\bstop")


def notes_digest(notes: NoteTable) -> str:
    """What sounds, in one word: the same for scores with the same notes.

    Parameters
    ----------
    notes : NoteTable

    Returns
    -------
    str
        SHA-256 as hexadecimal digits.
    """
    begins = (notes.tie & TIE_STOP) == 0
    pitches = notes.midi_pitch.astype(np.int64)
    totals = np.bincount(pitches + 1, weights=notes.duration.astype(np.float64), minlength=129)
    # Whole numbers below 2 ** 53, which a float holds exactly.
    sounding = totals.astype(np.int64)
    onsets = notes.onset[begins].astype(np.int64)
    # The division is the score's own; in the smallest that does, equal times are equal numbers.
    common = int(np.gcd.reduce(np.concatenate(([notes.ticks_per_quarter], onsets, sounding))))
    rows = np.stack([onsets // common, pitches[begins]], axis=1)
    rows = rows[np.lexsort((rows[:, 1], rows[:, 0]))]
    found = hashlib.sha256()
    for column in (np.array([notes.ticks_per_quarter // common]), rows, sounding // common):
        found.update(np.ascontiguousarray(column, dtype="<i8").tobytes())
    return found.hexdigest()


def note_count(notes: NoteTable) -> int:
    """How many notes begin: of a chain of ties, one."""
    return int(np.count_nonzero((notes.tie & TIE_STOP) == 0))


def note_count_in(canonical: bytes) -> int:
    """As ``note_count``, from the canonical form, in a thousandth of the time of reading it.

    Scores with different counts can't hold the same notes.
    """
    heads = sum(1 for _ in _HEAD.finditer(canonical))
    return heads - sum(1 for _ in _TIE_STOP.finditer(canonical))
