"""Sections as values, and their statements: every time a section sounds.

Conventions
-----------
A *section* is one written span with a letter. A *statement* is one sounding of it in a playing
order, counted from 1: "A, 2nd" is the second sounding of that written span; A'' is another
section. ``order`` indices are positions in the playing order; an end is exclusive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.score.places import Passage, Place

HALF = 0.5
"""Share of a section that has sounded when going back to its beginning is a new statement."""
UPBEAT = 1
"""Measures of a section that may stand before its start sign."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One written span with a letter.

    Parameters
    ----------
    passage : Passage
    label : str
        The letter, with primes for a return that differs.
    parent : int or None
        Index of the enclosing section; None at the top level.
    relation : str or None
        How it returns ``of``: "exact", or "transposed", "varied", "shortened", "extended",
        "reduced" joined by "+"; None for what is new.
    of : int or None
        Index of the section that it returns.
    interval : int
        Semitones from ``of`` up to this section.
    similarity : float
        0 to 1; 1 for what is new.
    """

    passage: Passage
    label: str
    parent: int | None = None
    relation: str | None = None
    of: int | None = None
    interval: int = 0
    similarity: float = 1.0

    @property
    def family(self) -> str:
        """The letter without its primes."""
        return self.label.rstrip("'")


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """One sounding of a section.

    Parameters
    ----------
    section : int
        Index of the section.
    label : str
        The section's letter.
    number : int
        Which sounding of this section it is, from 1.
    count : int
        How many soundings of it there are.
    order_start, order_end : int
        Positions in the playing order.
    passage : Passage
        What sounds of it; less than the section where an ending or a Fine cuts it.
    """

    section: int
    label: str
    number: int
    count: int
    order_start: int
    order_end: int
    passage: Passage

    @property
    def name(self) -> str:
        """Letter and number ("A, 2nd"), or the letter alone for the only statement."""
        return f"{self.label}, {ordinal(self.number)}" if self.count > 1 else self.label


def ordinal(number: int) -> str:
    """1st, 2nd, 3rd ...

    Examples
    --------
    >>> ordinal(1), ordinal(12), ordinal(22)
    ('1st', '12th', '22nd')
    """
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}th" if number % 100 in (11, 12, 13) else f"{number}{ending}"


def statements_of(sections: Sequence[Section], order: Sequence[int]) -> tuple[Statement, ...]:
    """Every sounding of every section, by position in the order, outer sections first.

    Parameters
    ----------
    sections : sequence of Section
    order : sequence of int
        Measure indices as they are played.

    Notes
    -----
    Coming into a section begins a statement, and so does going back to its beginning (its first
    measure, or the second where the first is an upbeat) when half of it has sounded.
    A section shorter than a measure sounds whenever its measure does.
    """
    positions: dict[int, list[int]] = {}
    for position, measure in enumerate(order):
        positions.setdefault(measure, []).append(position)
    found: list[Statement] = []
    for index, section in enumerate(sections):
        first, last = _measures(section.passage)
        played = sorted(p for measure in range(first, last + 1) for p in positions.get(measure, ()))
        runs = _runs(played, order, first, last)
        found.extend(
            Statement(
                section=index,
                label=section.label,
                number=number,
                count=len(runs),
                order_start=run[0],
                order_end=run[-1] + 1,
                passage=_sounding(section.passage, [order[p] for p in run]),
            )
            for number, run in enumerate(runs, start=1)
        )
    return tuple(sorted(found, key=lambda s: (s.order_start, -s.order_end, s.section)))


def _measures(passage: Passage) -> tuple[int, int]:
    """First and last measure that a passage touches."""
    end = passage.end
    last = end.measure_index if end.offset_quarters else end.measure_index - 1
    return passage.start.measure_index, max(passage.start.measure_index, last)


def _runs(played: Sequence[int], order: Sequence[int], first: int, last: int) -> list[list[int]]:
    runs: list[list[int]] = []
    for position in played:
        run = runs[-1] if runs else None
        if (
            run is None
            or position != run[-1] + 1
            or _begins_again(run, position, order, first, last)
        ):
            runs.append([position])
        else:
            run.append(position)
    return runs


def _begins_again(
    run: Sequence[int], position: int, order: Sequence[int], first: int, last: int
) -> bool:
    if order[position] > order[run[-1]] or order[position] - first > UPBEAT:
        return False
    return order[run[-1]] - first + 1 >= HALF * (last - first + 1)


def _sounding(passage: Passage, measures: Sequence[int]) -> Passage:
    """The part of a section's passage between the measures that sound."""
    start = max(passage.start, Place(measure_index=min(measures)), key=lambda place: place.moment)
    end = min(passage.end, Place(measure_index=max(measures) + 1), key=lambda place: place.moment)
    return Passage(start=start, end=end)
