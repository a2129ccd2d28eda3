"""Places of the written score and where they lie in the playing order.

Conventions: a *position* counts measures as they are played, from 0; *played quarters* count
from the first of them. A measure without any length gets one quarter, so that it can be seen.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from core.score.places import Passage, Place
from core.score.score import Score
from core.score.statements import Statement

FREE_STEP_QUARTERS = Fraction(1, 4)
"""What a free drag snaps to: a sixteenth note."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """From one point of played time up to another, in played quarters."""

    start: float
    end: float


class PlayedTime:
    """The measures of a score laid out as they are played.

    Parameters
    ----------
    score : Score
    order : sequence of int
        Measure indices as they are played; those that the score has not are left out.
    """

    def __init__(self, score: Score, order: Sequence[int]) -> None:
        known = len(score.measures)
        self.order = [index for index in order if 0 <= index < known]
        lengths = [measure.duration / score.ticks_per_quarter or 1.0 for measure in score.measures]
        self.lengths = lengths
        self.starts: list[float] = [0.0]
        for index in self.order:
            self.starts.append(self.starts[-1] + lengths[index])
        order_array = np.array(self.order, dtype=np.int64)
        self._by_measure = np.argsort(order_array, kind="stable")
        self._sorted = order_array[self._by_measure]

    def __len__(self) -> int:
        return len(self.order)

    @property
    def total_quarters(self) -> float:
        """Length of the whole, repeats played."""
        return self.starts[-1]

    def position_at(self, quarters: float) -> int:
        """The position that sounds at a moment; the nearest one outside of the piece."""
        return min(max(bisect_right(self.starts, quarters) - 1, 0), len(self.order) - 1)

    def place_at(self, quarters: float) -> Place:
        """The place that sounds at a moment, to the nearest sixteenth note."""
        position = self.position_at(quarters)
        index = self.order[position]
        inside = min(max(quarters - self.starts[position], 0.0), self.lengths[index])
        steps = round(inside / float(FREE_STEP_QUARTERS))
        if steps * float(FREE_STEP_QUARTERS) >= self.lengths[index]:
            return Place(measure_index=index + 1)
        return Place(measure_index=index, offset_quarters=steps * FREE_STEP_QUARTERS)

    def positions_of(self, first: int, last: int) -> list[int]:
        """Every position at which measures from ``first`` to ``last`` are played, in order."""
        low, high = np.searchsorted(self._sorted, (first, last + 1))
        found: list[int] = np.sort(self._by_measure[low:high]).tolist()
        return found

    def stretches_of(self, passage: Passage) -> tuple[Stretch, ...]:
        """Every time a passage sounds; a jump back begins another stretch.

        A point has stretches without length.
        """
        positions = self.positions_of(*_measures(passage))
        runs: list[Stretch] = []
        begun = 0
        for at, position in enumerate(positions, start=1):
            following = positions[at] if at < len(positions) else None
            if following != position + 1 or self.order[following] != self.order[position] + 1:
                first = self._inside(positions[begun], passage)
                last = first if at == begun + 1 else self._inside(position, passage)
                runs.append(Stretch(first.start, last.end))
                begun = at
        return tuple(runs)

    def stretch_of(self, statement: Statement) -> Stretch:
        """When a statement sounds."""
        first, last = statement.order_start, min(statement.order_end, len(self.order)) - 1
        if first >= len(self.order):
            return Stretch(self.total_quarters, self.total_quarters)
        start, end = self.starts[first], self.starts[last + 1]
        passage = statement.passage
        if self.order[first] == passage.start.measure_index:
            start += float(passage.start.offset_quarters)
        if self.order[last] == passage.end.measure_index and passage.end.offset_quarters:
            end = self.starts[last] + float(passage.end.offset_quarters)
        return Stretch(start, max(start, end))

    def whole_measures(self, first: int, last: int) -> Passage:
        """The written measures that hold two positions and all between, in either order."""
        first, last = min(first, last), max(first, last)
        played = self.order[first : last + 1]
        return Passage.of_measures(min(played), max(played))

    def between(self, first_quarters: float, last_quarters: float) -> Passage:
        """The written passage that holds two moments and all between, in either order."""
        early, late = sorted((first_quarters, last_quarters))
        first, last = self.position_at(early), self.position_at(late)
        if any(later != earlier + 1 for earlier, later in pairwise(self.order[first : last + 1])):
            # Over a jump the end of one stretch and the start of another are played: only the
            # whole measures hold both.
            return self.whole_measures(first, last)
        return Passage(start=self.place_at(early), end=self.place_at(late))

    def _inside(self, position: int, passage: Passage) -> Stretch:
        index, start = self.order[position], self.starts[position]
        begin, end = 0.0, self.lengths[index]
        if index == passage.start.measure_index:
            begin = min(float(passage.start.offset_quarters), end)
        if index == passage.end.measure_index:
            end = min(float(passage.end.offset_quarters), end)
        return Stretch(start + begin, start + max(begin, end))


def _measures(passage: Passage) -> tuple[int, int]:
    """First and last measure that a passage touches."""
    first, end = passage.start.measure_index, passage.end
    touches_end = end.offset_quarters > 0 or passage.is_point
    return first, max(first, end.measure_index if touches_end else end.measure_index - 1)
