"""Numbers of measures in the middle of a system, set over what stands there.

The engraver keeps room for the number at the start of a system only; later ones it sets on the
staff's upper edge, into slurs and notes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from math import ceil

from core.score.engraved_marks import numbers_in
from core.score.page_drawing import UNITS_PER_SPACE, Curve, PageDrawing, TextLine

_LEFT, _RIGHT = 0.8 * UNITS_PER_SPACE, 2.6 * UNITS_PER_SPACE
"""How far a number reaches to both sides of where it is set."""
_CLEAR = 0.7 * UNITS_PER_SPACE
"""Between a number's foot and what it stands over."""
_LETTER, _CAPITAL = 0.45, 0.7
"""Width of a letter and height of a capital, in em."""
_STEPS = 12
"""Points looked at along a curve."""
_FARTHEST = 9 * UNITS_PER_SPACE
"""Over the staff: what is higher belongs to something else."""

_Point = tuple[float, float]


def lifted(drawing: PageDrawing, numbers: Collection[int]) -> PageDrawing:
    """The drawing with its numbers clear of notes, slurs and words.

    Parameters
    ----------
    drawing : PageDrawing
    numbers : collection of int
        Which of its texts are numbers of measures.
    """
    if not numbers or not drawing.staves:
        return drawing
    top = min(staff.y_top for staff in drawing.staves)
    points = [at for at in _points(drawing, numbers) if at[1] > top - _FARTHEST]
    texts = [
        _set_over(text, points) if at in numbers else text for at, text in enumerate(drawing.texts)
    ]
    return replace(drawing, texts=tuple(texts))


def _set_over(text: TextLine, points: list[_Point]) -> TextLine:
    near = [y for x, y in points if text.x - _LEFT <= x <= text.x + _RIGHT]
    return text._replace(y=min(text.y, min(near, default=text.y) - _CLEAR))


def _points(drawing: PageDrawing, numbers: Collection[int]) -> Iterator[_Point]:
    """Points of all marks that a number may meet."""
    for element in drawing.elements:
        left, top, right, _ = element.box
        yield from ((left, top), ((left + right) / 2, top), (right, top))
    for line in drawing.lines:
        if line.role != "staff":
            yield from ((line.x1, line.y1), (line.x2, line.y2))
    for glyph in drawing.glyphs:
        if glyph.staff >= 0:
            yield glyph.x, glyph.y
    for polygon in drawing.polygons:
        yield from polygon.points
    for curve in drawing.curves:
        yield from _along(curve)
    for at, text in enumerate(drawing.texts):
        if at not in numbers:
            yield from _over(text)


def _over(text: TextLine) -> Iterator[_Point]:
    """Points along the upper edge of a line of text, by the usual width of letters."""
    size = max((run.size for run in text.runs), default=0.0)
    width = _LETTER * sum(run.size * len(run.text) for run in text.runs)
    left = text.x - {"middle": width / 2, "end": width}.get(text.anchor, 0.0)
    steps = ceil(width / UNITS_PER_SPACE)
    for step in range(steps + 1):
        yield left + width * step / max(1, steps), text.y - _CAPITAL * size


def _along(curve: Curve) -> Iterator[_Point]:
    """Points along a path of cubic curves (SVG 1.1, 8.3.6: absolute ``M`` and ``C``)."""
    values = numbers_in(curve.path)
    knots = list(zip(values[::2], values[1::2], strict=False))
    for first in range(0, len(knots) - 3, 3):
        yield from (_cubic(knots[first : first + 4], step / _STEPS) for step in range(_STEPS + 1))


def _cubic(knots: list[_Point], t: float) -> _Point:
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    x = sum(weight * knot[0] for weight, knot in zip(weights, knots, strict=True))
    y = sum(weight * knot[1] for weight, knot in zip(weights, knots, strict=True))
    return x, y
