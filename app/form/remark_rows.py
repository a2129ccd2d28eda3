"""Where the numbers of remarks stand in their lane: in two rows, none over another.

A number is never covered; the line behind it, which shows how far the remark reaches, gives
way to the next number of its row. Where there is no room for a number, a dot stands.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from app.form.form_parts import RemarkMark
from app.form.line_scale import LEFT, LineScale

ROWS = 2
GAP = 6.0
DOT = 4.0
MOST_SHIFT = 16.0
"""How far from its place a dot may stand."""
LEAST_LINE = 10.0
"""A shorter stretch has its number only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedRemark:
    """A remark as it is drawn, x in logical pixels; a dot where its number has no room.

    ``is_cut`` says that the line ends before the remark does.
    """

    mark: RemarkMark
    row: int
    x: float
    right: float
    number_width: float
    is_dot: bool = False
    is_cut: bool = False

    @property
    def has_line(self) -> bool:
        """Whether the stretch is long enough to be drawn."""
        return not self.is_dot and self.right - self.x - self.number_width >= LEAST_LINE


def placed_remarks(
    marks: Iterable[RemarkMark], scale: LineScale, width: Callable[[str], float]
) -> list[PlacedRemark]:
    """Place what is seen, by start; a dot that would stand too far from its place is left out."""
    rows: list[list[PlacedRemark]] = [[] for _ in range(ROWS)]
    edge = LEFT + scale.width
    for mark in marks:
        if mark.start > scale.last_quarters:
            break
        if mark.end < scale.first_quarters:
            continue
        number = width(str(mark.number))
        x = min(max(scale.x(mark.start), float(LEFT)), edge - number)
        right = min(max(scale.x(mark.end), x + number), edge)
        entry = PlacedRemark(mark=mark, row=0, x=x, right=right, number_width=number)
        _put(entry, rows)
    return [entry for row in rows for entry in row]


def _put(entry: PlacedRemark, rows: list[list[PlacedRemark]]) -> None:
    """Into a row that is free, else where only a line gives way, else as a dot."""
    for at, row in enumerate(rows):
        if not row or row[-1].right + GAP <= entry.x:
            row.append(replace(entry, row=at))
            return
    for at, row in enumerate(rows):
        if _number_right(row[-1]) + GAP <= entry.x:
            row[-1] = replace(row[-1], right=entry.x - GAP, is_cut=True)
            row.append(replace(entry, row=at))
            return
    at = min(range(len(rows)), key=lambda row: _number_right(rows[row][-1]))
    before = rows[at][-1]
    x = max(entry.x, _number_right(before) + GAP / 2)
    if x - entry.x <= MOST_SHIFT:
        rows[at][-1] = replace(before, right=_number_right(before), is_cut=True)
        rows[at].append(replace(entry, row=at, x=x, right=x + DOT, is_dot=True))


def _number_right(entry: PlacedRemark) -> float:
    return entry.right if entry.is_dot else entry.x + entry.number_width
