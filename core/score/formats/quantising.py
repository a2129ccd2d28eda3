"""Times of a MIDI file brought to what can be written.

Conventions: times in and out are quarter notes; raw ones are floats. Each beat (a quarter) takes
the coarsest division that its onsets fit. A file written by a notation program fits exactly; one
that was played fits roughly, and the division is then the best trade of coarseness and error.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

DIVISIONS = (1, 2, 3, 4, 6, 8, 5, 12, 16, 7, 24, 32)
"""Parts of a quarter, the usual ones first."""
EXACT_QUARTERS = 0.011
"""Nearer than this is exact; MIDI files round to ticks, 1/96 of a quarter in old ones."""
_SHARE_OF_A_PART = 0.12
"""Of one part of a fine division, that an onset may be off and still be exact: anything is near
a thirty-second of something."""
_USUAL = (1, 2, 3, 4, 6, 8)
"""Divisions that a played beat can have; a written piece has them in most of its beats."""
_WRITTEN_SHARE = 0.6
_COST_OF_A_PART = 0.012
"""Quarters of error that one more part in the beat has to save."""
_SHARE_OF_GAP = 0.2
"""Of its time to the next onset, that a note may lack and still be meant to reach it."""


class Grid:
    """The division of each beat, from all onsets of a file.

    Parameters
    ----------
    onsets : sequence of float
        Quarter notes.
    """

    def __init__(self, onsets: Sequence[float]) -> None:
        in_beats: dict[int, set[float]] = defaultdict(set)
        for onset in onsets:
            beat = int(onset + EXACT_QUARTERS)
            in_beats[beat].add(onset - beat)
        exact = {beat: _exact(offsets) for beat, offsets in in_beats.items()}
        usual = sum(division in _USUAL for division in exact.values())
        self.is_rough = usual < _WRITTEN_SHARE * len(exact)
        """Whether the notes do not fall on the beats, as in a recorded performance."""
        self._divisions = {
            beat: _cheapest(in_beats[beat]) if self.is_rough or division is None else division
            for beat, division in exact.items()
        }

    def onset(self, raw: float) -> Fraction:
        """The onset as written."""
        beat = int(raw + EXACT_QUARTERS)
        division = self._divisions.get(beat, 1)
        return beat + Fraction(round((raw - beat) * division), division)

    def is_exact(self, end: float) -> bool:
        """Whether a note is let go where a written one can end."""
        offset = end - int(end)
        fits = (abs(round(offset * d) / d - offset) <= EXACT_QUARTERS for d in _USUAL)
        return not self.is_rough and any(fits)

    def step(self, onset: Fraction) -> Fraction:
        """The shortest duration in the beat of an onset."""
        return Fraction(1, self._divisions.get(int(onset), 1))

    def end(self, raw: float, onset: Fraction) -> Fraction:
        """The end of a note as written, later than its onset."""
        beat = int(raw + EXACT_QUARTERS)
        offset = raw - beat
        own = self._divisions.get(beat, 1)
        usual = [own, *(d for d in DIVISIONS if d % own == 0 or own % d == 0), *DIVISIONS]
        near = (d for d in usual if abs(round(offset * d) / d - offset) <= EXACT_QUARTERS)
        division = next(near, None) or max(own, 2)
        end = beat + Fraction(round(offset * division), division)
        return end if end > onset else onset + self.step(onset)


def reaching(end_raw: float, onset_raw: float, next_onset_raw: float) -> bool:
    """Whether a note is meant to last until the next onset, though it is let go before or after."""
    whole = next_onset_raw - onset_raw
    return whole > 0 and abs(next_onset_raw - end_raw) <= _SHARE_OF_GAP * whole


def next_later(onsets: Sequence[float], onset: float) -> float | None:
    """The first of the sorted onsets that is later by more than a rounding."""
    index = bisect_right(onsets, onset + EXACT_QUARTERS)
    return onsets[index] if index < len(onsets) else None


def _exact(offsets: set[float]) -> int | None:
    """The first division that all onsets of a beat fit."""
    for division in DIVISIONS:
        tolerance = min(EXACT_QUARTERS, _SHARE_OF_A_PART / division)
        if all(abs(round(o * division) / division - o) <= tolerance for o in offsets):
            return division
    return None


def _cheapest(offsets: set[float]) -> int:
    def cost(division: int) -> float:
        errors = [abs(round(offset * division) / division - offset) for offset in offsets]
        return sum(errors) / len(errors) + _COST_OF_A_PART * division

    return min(_USUAL, key=cost)
