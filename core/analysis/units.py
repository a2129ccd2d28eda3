"""Units: the stretches of a score that are compared with one another.

Conventions
-----------
A unit is a measure, without those that are left out the last time a repeat is played (first
endings): what is heard last is what is compared. Unbarred music is cut into inferred measures.
Very long scores are compared in groups of measures.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from core.analysis.ordered import distinct
from core.score.places import Passage, Place
from core.score.repeats import written_repeats
from core.score.score import Score

MOST_UNITS = 1200
"""Units compared each with each; the work grows with the square."""

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Units:
    """The units of a score, in its written order.

    Parameters
    ----------
    starts, ends : int64, shape (n,)
        Ticks. Between an end and the next start lies what is left out.
    measures : int64, shape (n,)
        The measure in which each unit begins.
    is_written : bool
        Whether they are measures of the file (or groups of them).
    measures_each : int
        Measures in a unit; 1 but for very long scores.
    """

    starts: Ints
    ends: Ints
    measures: Ints
    is_written: bool = True
    measures_each: int = 1

    def __len__(self) -> int:
        return len(self.starts)

    def unit_of_measure(self, measure_index: int) -> int:
        """The unit a measure belongs to; for one left out the unit behind it."""
        if self.measures_each > 1:
            return int(np.searchsorted(self.measures, measure_index, side="right")) - 1
        return int(np.searchsorted(self.measures, measure_index))

    def place(self, score: Score, unit: int) -> Place:
        """Where a unit begins; the unit after the last one is the end of the score.

        A first ending belongs to the section before: it lies behind the unit before it.
        """
        if unit >= len(self):
            return Place(measure_index=len(score.measures))
        measure = int(self.measures[unit]) if unit else 0
        ticks = int(self.starts[unit]) - score.measures[measure].onset if unit else 0
        if self.is_written:
            return Place(measure_index=measure)
        return Place(measure_index=measure, offset_quarters=Fraction(score.quarters(ticks)))

    def passage(self, score: Score, first: int, end: int) -> Passage:
        """The passage from one unit up to another."""
        return Passage(start=self.place(score, first), end=self.place(score, end))


def written_units(score: Score) -> Units:
    """The measures of a score as units."""
    repeats, _ = written_repeats(score.measures)
    left_out = {index for repeat in repeats for index in repeat.left_out_the_last_time}
    kept = [m for m in score.measures if m.index not in left_out and m.duration > 0]
    kept = kept or list(score.measures)
    each = -(-len(kept) // MOST_UNITS)
    heads = kept[::each]
    lasts = [kept[min(i + each, len(kept)) - 1] for i in range(0, len(kept), each)]
    return Units(
        starts=np.array([m.onset for m in heads], dtype=np.int64),
        ends=np.array([m.onset + max(m.duration, 1) for m in lasts], dtype=np.int64),
        measures=np.array([m.index for m in heads], dtype=np.int64),
        measures_each=each,
    )


def inferred_units(score: Score, downbeats: Ints) -> Units:
    """Stretches between inferred downbeats (ticks, ascending); an upbeat is a unit too."""
    starts = distinct(np.concatenate(([0], downbeats[(downbeats > 0)])))
    starts = starts[starts < max(score.duration, 1)]
    starts = starts[:: -(-len(starts) // MOST_UNITS)]
    onsets = np.array([m.onset for m in score.measures], dtype=np.int64)
    return Units(
        starts=starts,
        ends=np.append(starts[1:], max(score.duration, int(starts[-1]) + 1)),
        measures=np.searchsorted(onsets, starts, side="right") - 1,
        is_written=False,
    )
