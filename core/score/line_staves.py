"""Sets the staves of a chunk where the long line has them, with all that stands on them.

The engraver spaces each chunk by what stands in it. Here the staves are moved apart to the
distances of the whole line. A mark moves with the staff it stands on; what stands between two
staves, with the nearer one; a brace or barline that joins them is stretched.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from core.score.page_drawing import (
    UNITS_PER_SPACE,
    Box,
    Curve,
    Element,
    PageDrawing,
    Polygon,
    Staff,
)

_REACH = UNITS_PER_SPACE
"""A mark this near to another staff stands on that one, whatever it belongs to."""
_TALL = 7 * UNITS_PER_SPACE
"""A curve higher than this joins staves, and is stretched."""
_POINT = re.compile(r"(-?\d+(?:\.\d+)?)[ ,](-?\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class _Shift:
    """One staff of the chunk: where it is, and how far it moves."""

    top: float
    bottom: float
    by: float

    def away(self, y: float) -> float:
        return max(self.top - y, y - self.bottom, 0.0)


def staff_tops(drawing: PageDrawing) -> dict[int, Staff]:
    """Of every staff, by its number, the one farthest up."""
    found: dict[int, Staff] = {}
    for staff in drawing.staves:
        if staff.number not in found or staff.y_top < found[staff.number].y_top:
            found[staff.number] = staff
    return found


def with_staves_at(drawing: PageDrawing, tops: Mapping[int, float], dx: float) -> PageDrawing:
    """The drawing with its staves moved.

    Parameters
    ----------
    drawing : PageDrawing
    tops : mapping of int to float
        Where the top line of each staff shall lie, by its number.
    dx : float
        How far everything moves to the right.
    """
    return _Mover(drawing, tops, dx).moved()


class _Mover:
    def __init__(self, drawing: PageDrawing, tops: Mapping[int, float], dx: float) -> None:
        self._drawing, self._dx = drawing, dx
        by_number = {
            number: _Shift(staff.y_top, staff.y_bottom, tops[number] - staff.y_top)
            for number, staff in staff_tops(drawing).items()
        }
        self._shifts = sorted(by_number.values(), key=lambda shift: shift.top)
        self._of_staff = [by_number[staff.number] for staff in drawing.staves]

    def moved(self) -> PageDrawing:
        drawing, dx, on = self._drawing, self._dx, self._on_staff
        return replace(
            drawing,
            glyphs=tuple(g._replace(x=g.x + dx, y=g.y + on(g.y, g.staff)) for g in drawing.glyphs),
            lines=tuple(
                line._replace(
                    x1=line.x1 + dx,
                    y1=line.y1 + on(line.y1, line.staff),
                    x2=line.x2 + dx,
                    y2=line.y2 + on(line.y2, line.staff),
                )
                for line in drawing.lines
            ),
            polygons=tuple(self._polygon(polygon) for polygon in drawing.polygons),
            curves=tuple(self._curve(curve) for curve in drawing.curves),
            ellipses=tuple(
                e._replace(cx=e.cx + dx, cy=e.cy + on(e.cy, e.staff)) for e in drawing.ellipses
            ),
            texts=tuple(t._replace(x=t.x + dx, y=t.y + self._near(t.y)) for t in drawing.texts),
            staves=tuple(self._staff(s, shift) for s, shift in self._staves()),
            elements=tuple(self._element(element) for element in drawing.elements),
            measures=tuple(m._replace(box=self._stretched(m.box)) for m in drawing.measures),
        )

    # ------------------------------------------------------------------ how far

    def _near(self, y: float) -> float:
        """As the nearest staff."""
        return min(self._shifts, key=lambda shift: shift.away(y)).by

    def _on_staff(self, y: float, staff: int) -> float:
        """As its own staff, unless it stands on another one, as notes across staves do."""
        if staff < 0:
            return self._near(y)
        own = self._of_staff[staff]
        nearest = min(self._shifts, key=lambda shift: shift.away(y))
        return nearest.by if nearest.away(y) <= _REACH else own.by

    def _between(self, y: float) -> float:
        """In proportion between two staves."""
        before = self._shifts[0]
        for after in self._shifts:
            if y <= after.top and after.top > before.bottom:
                share = min(1.0, max(0.0, (y - before.bottom) / (after.top - before.bottom)))
                return before.by + share * (after.by - before.by)
            before = after
        return before.by

    # ------------------------------------------------------------------ marks

    def _staves(self) -> list[tuple[Staff, _Shift]]:
        return list(zip(self._drawing.staves, self._of_staff, strict=True))

    def _staff(self, staff: Staff, shift: _Shift) -> Staff:
        return staff._replace(
            x1=staff.x1 + self._dx,
            x2=staff.x2 + self._dx,
            y_top=staff.y_top + shift.by,
            y_bottom=staff.y_bottom + shift.by,
        )

    def _polygon(self, polygon: Polygon) -> Polygon:
        middle = sum(y for _, y in polygon.points) / max(1, len(polygon.points))
        dy = self._on_staff(middle, polygon.staff)
        return polygon._replace(points=tuple((x + self._dx, y + dy) for x, y in polygon.points))

    def _curve(self, curve: Curve) -> Curve:
        ys = [float(y) for _, y in _POINT.findall(curve.path)]
        is_tall = bool(ys) and max(ys) - min(ys) > _TALL
        rigid = self._near(sum(ys) / len(ys)) if ys else 0.0

        def moved(found: re.Match[str]) -> str:
            x, y = float(found[1]), float(found[2])
            dy = self._between(y) if is_tall else rigid
            return f"{x + self._dx:.1f} {y + dy:.1f}"

        return curve._replace(path=_POINT.sub(moved, curve.path))

    def _element(self, element: Element) -> Element:
        dy = self._near((element.box[1] + element.box[3]) / 2)
        accidental = element.accidental
        return element._replace(
            box=self._rigid(element.box, dy),
            accidental=None if accidental is None else self._rigid(accidental, dy),
        )

    def _rigid(self, box: Box, dy: float) -> Box:
        left, top, right, bottom = box
        return left + self._dx, top + dy, right + self._dx, bottom + dy

    def _stretched(self, box: Box) -> Box:
        left, top, right, bottom = box
        return (
            left + self._dx,
            top + self._between(top),
            right + self._dx,
            bottom + self._between(bottom),
        )
