"""Repeats: which stretches of a score its repeat signs and endings play again.

Conventions: measures are named by their index. A *repeat* is a stretch that is played several
times; its *endings* are those brackets after which the playing goes back. The last ending,
after which it goes on, is ordinary music behind the repeat.

Rules (common practice), where the signs leave something open:

* A sign back without a start sign goes back to the later of: what follows the last repeat, a
  double bar, a new key or time signature; without any, to the beginning.
* Start signs nest: a sign back belongs to the last start sign that is still open.
* Every ending but the last of its row leads back, whether the sign is there or not.
* A sole ending that leads back is left out the last time. Of several endings that all lead
  back, the last one closes the repeat.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from core.score.score import Measure

MAX_TIMES = 32
"""A repeat is played at most so often: more is a slip in the file."""
MAX_DEPTH = 4
"""Repeats within repeats; a deeper start sign takes the place of the innermost."""
_DOUBLE_BARS = ("light-light", "light-heavy", "heavy-heavy")


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """A place where the signs leave the order open, and the rule that closed it.

    Parameters
    ----------
    measure_index : int
        The measure whose sign it is.
    rule : str
        What was taken to be meant, one sentence.
    """

    measure_index: int
    rule: str


class Ending(NamedTuple):
    """An ending: its first and last measure, both included, and its numbers."""

    first: int
    last: int
    numbers: tuple[int, ...]


class Repeat(NamedTuple):
    """A stretch that is played several times.

    Parameters
    ----------
    start, end : int
        First measure, and the last one that leads back; both included.
    body_last : int
        Last measure before the endings; ``start - 1`` when the endings begin at once.
    passes : tuple of Ending or None
        One entry each time: the ending that is played after the body, None for none.
    section_last : int
        Last measure that belongs to it, its last ending included.
    """

    start: int
    end: int
    body_last: int
    passes: tuple[Ending | None, ...]
    section_last: int

    @property
    def left_out_the_last_time(self) -> set[int]:
        """Measures inside the repeat that are not played when it is played once."""
        kept = self.passes[-1]
        kept_measures = set(range(kept.first, kept.last + 1)) if kept else set()
        return set(range(self.body_last + 1, self.end + 1)) - kept_measures


def written_repeats(
    measures: Sequence[Measure],
) -> tuple[tuple[Repeat, ...], tuple[Repair, ...]]:
    """The repeats that the signs mean, by their end, and what had to be mended.

    Two repeats are either apart or one inside the other; no two begin in one measure.
    """
    finder = _Finder(measures=measures, rows=_rows_of_endings(measures))
    finder.walk()
    return tuple(finder.repeats), tuple(finder.repairs)


def begins_section(measures: Sequence[Measure], index: int) -> bool:
    """Whether a double bar before a measure, or a new key or time signature, begins something."""
    if index == 0:
        return True
    before = measures[index - 1]
    # The barline of a sign back is drawn like a final one.
    is_double = before.barline in _DOUBLE_BARS and not before.repeat_end
    return is_double or signature_changes(measures, index)


def signature_changes(measures: Sequence[Measure], index: int) -> bool:
    """Whether the key or the time signature is another than in the measure before."""
    before, here = measures[index - 1], measures[index]
    return (before.fifths, before.signature) != (here.fifths, here.signature)


@dataclass(slots=True)
class _Finder:
    """One walk over the measures with the start signs that are still open."""

    measures: Sequence[Measure]
    rows: dict[int, tuple[Ending, ...]]
    open_starts: list[int] = field(default_factory=list)
    repeats: list[Repeat] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)

    def walk(self) -> None:
        index = 0
        while index < len(self.measures):
            measure = self.measures[index]
            if measure.repeat_start:
                self._open(index)
            row = self.rows.get(index, ())
            back = self._leading_back(row)
            if back:
                self._close_row(row, back)
                index = back[-1].last
            elif measure.repeat_end:
                times = max(1, min(measure.repeat_times, MAX_TIMES))
                self._close(index, body_last=index, passes=(None,) * times, section_last=index)
            index += 1

    def _open(self, index: int) -> None:
        if len(self.open_starts) == MAX_DEPTH:
            self.open_starts.pop()
        self.open_starts.append(index)

    def _leading_back(self, row: tuple[Ending, ...]) -> tuple[Ending, ...]:
        if not row:
            return ()
        return row if self.measures[row[-1].last].repeat_end else row[:-1]

    def _close_row(self, row: tuple[Ending, ...], back: tuple[Ending, ...]) -> None:
        for ending in back:
            if not self.measures[ending.last].repeat_end:
                self._mend(ending.last, "The ending has no sign back; it leads back all the same.")
        turns = sorted(
            ((number, e) for e in back for number in e.numbers), key=lambda turn: turn[0]
        )
        passes: tuple[Ending | None, ...] = tuple(e for _, e in turns[:MAX_TIMES])
        if back != row or len(row) == 1:
            passes = (*passes, None)
        else:
            self._mend(row[-1].last, "The last ending leads back; it closes the repeat.")
        self._close(
            back[-1].last, body_last=row[0].first - 1, passes=passes, section_last=row[-1].last
        )

    def _close(
        self, end: int, *, body_last: int, passes: tuple[Ending | None, ...], section_last: int
    ) -> None:
        start = self.open_starts.pop() if self.open_starts else self._implied_start(end)
        # An ending may begin before the only start there is; then there is nothing to repeat.
        if start <= body_last + 1:
            self.repeats.append(
                Repeat(
                    start=start,
                    end=end,
                    body_last=body_last,
                    passes=passes,
                    section_last=section_last,
                )
            )

    def _implied_start(self, end: int) -> int:
        floor = 0
        if self.repeats:
            last = self.repeats[-1]
            floor = last.section_last + 1 if last.section_last < end else last.end + 1
        start = end
        while start > floor and not begins_section(self.measures, start):
            start -= 1
        if start > 0:
            number = self.measures[start].number
            self._mend(end, f"The repeat has no start sign; it goes back to measure {number}.")
        return start

    def _mend(self, index: int, rule: str) -> None:
        self.repairs.append(Repair(measure_index=index, rule=rule))


def _rows_of_endings(measures: Sequence[Measure]) -> dict[int, tuple[Ending, ...]]:
    """Endings side by side, in rows, by the first measure of the row."""
    rows: list[list[Ending]] = []
    for ending in _endings(measures):
        previous = rows[-1][-1] if rows else None
        if previous and _goes_on(measures, previous, ending):
            # A bracket drawn too short reaches up to its sign back.
            rows[-1][-1] = Ending(
                first=previous.first, last=ending.first - 1, numbers=previous.numbers
            )
            rows[-1].append(ending)
        else:
            rows.append([ending])
    return {row[0].first: tuple(row) for row in rows}


def _goes_on(measures: Sequence[Measure], previous: Ending, ending: Ending) -> bool:
    """Whether an ending stands in one row with the previous one."""
    if min(ending.numbers) <= min(previous.numbers):
        return False
    between = measures[previous.last + 1 : ending.first]
    if not between:
        return True
    signs_inside = any(m.repeat_start for m in between) or any(m.repeat_end for m in between[:-1])
    closed = measures[previous.last].repeat_end
    return between[-1].repeat_end and not signs_inside and not closed


def _endings(measures: Sequence[Measure]) -> Iterator[Ending]:
    first: int | None = None
    for index, measure in enumerate(measures):
        if not measure.endings:
            first = None
            continue
        if first is None:
            first = index
        following = measures[index + 1] if index + 1 < len(measures) else None
        goes_on = (
            following is not None
            and following.endings == measure.endings
            and not following.ending_starts
            and not measure.ending_stops
        )
        if not goes_on:
            yield Ending(first=first, last=index, numbers=tuple(sorted(set(measure.endings))))
            first = None
