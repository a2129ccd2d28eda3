"""Walking through a score by keyboard: the next note, the note above, the next measure.

Pure functions over the note table. A *step* is a moment at which something is struck on the
current staff; grace notes count as moments of their own only where nothing else stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from app.desk.selection import Selection
from app.score.score_geometry import ScoreIndex
from core.notebook.values import AnchorKind
from core.score.places import Passage, Place


@dataclass(frozen=True, slots=True)
class _Row:
    """One note or rest, for walking."""

    onset: int
    staff: int
    id: str


class Walker:
    """Steps from one selection to the next; made once a score."""

    def __init__(self, index: ScoreIndex) -> None:
        self.index, self._score = index, index.score
        notes, rests = self._score.notes, self._score.rests
        onset = np.concatenate([notes.onset, rests.onset])
        staff = np.concatenate([notes.staff, rests.staff])
        pitch = np.concatenate([notes.midi_pitch, np.full(len(rests), -1, dtype=np.int16)])
        order = np.lexsort((-pitch, staff, onset))
        ids = notes.ids + rests.ids
        self._onsets: NDArray[np.int64] = onset[order]
        self._staves = staff[order]
        self._ids = [ids[at] for at in order.tolist()]

    # ------------------------------------------------------------------ one element

    def sideways(self, selection: Selection | None, direction: int) -> Selection | None:
        """The next moment (1) or the one before (-1) on the same staff, its highest note."""
        if not self._ids:
            return None
        if selection is None:
            return self.index.selection_of(self._ids[0])
        onset, staff = self._moment(selection, at_end=direction > 0)
        if not selection.passage.is_point:
            on_staff = [r for r in self._rows_at(onset) if staff is None or r.staff == staff]
            if direction < 0 and on_staff:
                return self._as_selection(on_staff[0])
        row = self._next_row(onset, staff, direction)
        return None if row is None else self._as_selection(row)

    def upright(self, selection: Selection | None, direction: int) -> Selection | None:
        """The next note above (-1) or below (1) at the same moment, over all staves."""
        if selection is None:
            return self.sideways(None, 1)
        onset, staff = self._moment(selection, at_end=False)
        rows = self._rows_at(onset) or self._rows_near(onset)
        here = next((i for i, row in enumerate(rows) if row.id == selection.element_id), None)
        if here is None:
            here = next((i for i, row in enumerate(rows) if row.staff == staff), -direction)
            here -= direction if staff is not None else 0
        there = here + direction
        return self._as_selection(rows[there]) if 0 <= there < len(rows) else None

    def by_measure(self, selection: Selection | None, direction: int) -> Selection | None:
        """The next or the previous whole measure."""
        last = len(self._score.measures) - 1
        if selection is None:
            there = 0 if direction > 0 else last
        else:
            passage = selection.passage
            there = passage.start.measure_index + direction
            if direction > 0 and not passage.is_point:
                there = self._last_measure(passage) + 1
            if direction < 0 and passage.start.offset_quarters > 0:
                there += 1
        return self._measures(there, there) if 0 <= there <= last else None

    def edge(self, direction: int) -> Selection:
        """The first (-1) or the last (1) measure."""
        there = 0 if direction < 0 else len(self._score.measures) - 1
        return self._measures(there, there)

    # ------------------------------------------------------------------ passages

    def stretch(
        self, selection: Selection | None, direction: int, *, by_measure: bool
    ) -> Selection | None:
        """Move the end of what is selected by a step or a measure; never before its start."""
        if selection is None:
            return self.by_measure(None, 1)
        start, end = selection.passage.start, selection.passage.end
        moved = self._measure_edge(end, direction) if by_measure else self._step(end, direction)
        if moved is None or moved.moment <= start.moment:
            return None
        begin = Place(measure_index=start.measure_index, offset_quarters=start.offset_quarters)
        passage = Passage(start=begin, end=moved)
        return Selection(kind=AnchorKind.PASSAGE, passage=passage)

    def _measure_edge(self, end: Place, direction: int) -> Place | None:
        last = len(self._score.measures)
        if direction > 0:
            there = end.measure_index + 1
        else:
            there = end.measure_index - (end.offset_quarters == 0)
        return Place(measure_index=there) if 0 < there <= last else None

    def _step(self, end: Place, direction: int) -> Place | None:
        """The end moved over one moment of any staff."""
        onset = self._score.onset_of(end)
        moments = np.append(np.unique(self._onsets), self._score.duration)
        at = _beside(moments, onset, direction)
        return self._place(int(moments[at])) if 0 <= at < len(moments) else None

    def _place(self, onset: int) -> Place:
        measures = self._score.measures
        if onset >= self._score.duration:
            return Place(measure_index=len(measures))
        at = max(i for i, m in enumerate(measures) if m.onset <= onset)
        offset = Fraction(onset - measures[at].onset, self._score.ticks_per_quarter)
        return Place(measure_index=at, offset_quarters=offset)

    # ------------------------------------------------------------------ rows

    def _moment(self, selection: Selection, *, at_end: bool) -> tuple[int, int | None]:
        """Onset and staff to walk on from; a passage is left at its end or its start."""
        passage = selection.passage
        if not passage.is_point and at_end:
            return self._score.onset_of(passage.end) - 1, passage.start.staff
        return self._score.onset_of(passage.start), passage.start.staff

    def _next_row(self, onset: int, staff: int | None, direction: int) -> _Row | None:
        at = _beside(self._onsets, onset, direction)
        while 0 <= at < len(self._ids):
            if staff is None or self._staves[at] == staff:
                together = self._rows_at(int(self._onsets[at]))
                return next(row for row in together if staff is None or row.staff == staff)
            at += direction
        return None

    def _rows_at(self, onset: int) -> list[_Row]:
        low = int(np.searchsorted(self._onsets, onset, side="left"))
        high = int(np.searchsorted(self._onsets, onset, side="right"))
        return [_Row(onset, int(self._staves[at]), self._ids[at]) for at in range(low, high)]

    def _rows_near(self, onset: int) -> list[_Row]:
        """What was struck last before a moment at which nothing is."""
        row = self._next_row(onset, None, -1) or self._next_row(onset, None, 1)
        return self._rows_at(row.onset) if row else []

    def _as_selection(self, row: _Row) -> Selection | None:
        return self.index.selection_of(row.id)

    def _last_measure(self, passage: Passage) -> int:
        return passage.end.measure_index - (passage.end.offset_quarters == 0)

    def _measures(self, first: int, last: int) -> Selection:
        return Selection(kind=AnchorKind.PASSAGE, passage=Passage.of_measures(first, last))


def _beside(onsets: NDArray[np.int64], onset: int, direction: int) -> int:
    """Index of the first onset after ``onset`` (1), or of the last one before it (-1)."""
    if direction > 0:
        return int(np.searchsorted(onsets, onset, side="right"))
    return int(np.searchsorted(onsets, onset, side="left")) - 1
