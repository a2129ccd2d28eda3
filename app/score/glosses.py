"""Where the remarks of a piece hang on a page, in rows that don't overlap."""

from __future__ import annotations

from collections.abc import Iterable

from app.score.page_marks import (
    BRACKET_BELOW,
    BRACKET_STEP,
    BRACKET_STEP_LEAST,
    LABEL_ABOVE,
    LABEL_SIZE,
    Gloss,
    rule_above,
)
from app.score.score_geometry import PageGeometry, Span
from core.notebook.values import AnchorKind, Remark
from core.score.page_drawing import UNITS_PER_SPACE

_NUMBER_ROOM = 2.6 * UNITS_PER_SPACE
"""Left of a bracket, for its number."""
_LABEL_ROOM = LABEL_ABOVE + LABEL_SIZE + 0.5
"""Over a key rule, for its name, in spaces."""


def glosses_on(
    geometry: PageGeometry,
    numbered: Iterable[tuple[int, Remark]],
    score_sha256: str,
    *,
    darkened: int | None = None,
) -> list[Gloss]:
    """The brackets of one page.

    Parameters
    ----------
    geometry : PageGeometry
    numbered : iterable of (int, Remark)
        The piece's remarks with the numbers they are shown under.
    score_sha256 : str
        Remarks hung on another edition's score are left out.
    darkened : int or None
        Number of the remark that the pointer is on.
    """
    rows: dict[int, list[list[tuple[float, float]]]] = {}
    found: list[tuple[int, Span, int]] = []
    for number, remark in numbered:
        if remark.anchor.score_sha256 != score_sha256:
            continue
        for span in _spans(geometry, remark):
            row = _free_row(rows.setdefault(span.system, []), span)
            found.append((number, span, row))
    steps = {
        span.system: _step(geometry, span, len(rows[span.system])) for _number, span, _row in found
    }
    return [
        Gloss(
            number=number,
            span=span,
            row=row,
            step=steps[span.system],
            is_dark=number == darkened,
        )
        for number, span, row in found
    ]


def _step(geometry: PageGeometry, span: Span, rows: int) -> float:
    """From row to row, so that the last one ends over what stands over the next system."""
    below = geometry.top_staff_line(span.system + 1)
    if below is None or rows < 2:
        return BRACKET_STEP
    reach = (below - geometry.top_of_system(span.system + 1)) / UNITS_PER_SPACE
    room = (below - span.bottom) / UNITS_PER_SPACE - rule_above(reach) - _LABEL_ROOM
    return min(BRACKET_STEP, max(BRACKET_STEP_LEAST, (room - BRACKET_BELOW) / (rows - 1)))


def _spans(geometry: PageGeometry, remark: Remark) -> list[Span]:
    anchor = remark.anchor
    if anchor.passage is None or anchor.kind is AnchorKind.PIECE:
        return []
    if not anchor.passage.is_point:
        return geometry.spans(anchor.passage)
    span = geometry.point_span(anchor.passage.start)
    box = geometry.element_box(anchor.element_id) if anchor.element_id else None
    if span is not None and box is not None:
        middle = (box[0] + box[2]) / 2
        span = Span(span.system, middle, middle, span.top, span.bottom)
    return [span] if span else []


def _free_row(rows: list[list[tuple[float, float]]], span: Span) -> int:
    left, right = span.left - _NUMBER_ROOM, max(span.right, span.left + UNITS_PER_SPACE)
    for number, row in enumerate(rows):
        if all(right < taken[0] or left > taken[1] for taken in row):
            row.append((left, right))
            return number
    rows.append([(left, right)])
    return len(rows) - 1
