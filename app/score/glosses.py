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
from core.score.places import Passage

_NUMBER_ROOM = 2.6 * UNITS_PER_SPACE
"""Left of a bracket, for its number."""
_CLEAR = 1.7
"""A bracket under what stands under the bottom staff, so that its number is clear, in spaces."""
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
    found: list[tuple[int, Span, int, Passage]] = []
    for number, remark in numbered:
        if remark.anchor.score_sha256 != score_sha256:
            continue
        for span in _spans(geometry, remark):
            row = _free_row(rows.setdefault(span.system, []), span)
            assert remark.anchor.passage is not None
            found.append((number, span, row, remark.anchor.passage))
    lies = {span.system: _lie(geometry, span, len(rows[span.system])) for _, span, _, _ in found}
    return [
        Gloss(
            number=number,
            span=span,
            row=row,
            below=lies[span.system][0],
            step=lies[span.system][1],
            is_dark=number == darkened,
            begins=geometry.begins_here(passage),
            ends=geometry.ends_here(passage),
        )
        for number, span, row, passage in found
    ]


def _lie(geometry: PageGeometry, span: Span, rows: int) -> tuple[float, float]:
    """How far under the staff the first row lies, and from row to row, in spaces.

    Under pedal signs and words, as far as the last row then still ends over what stands over
    the next system.
    """
    low = (geometry.bottom_of_system(span.system) - span.bottom) / UNITS_PER_SPACE
    first = max(BRACKET_BELOW, low + _CLEAR)
    below = geometry.top_staff_line(span.system + 1)
    if below is None:
        return first, BRACKET_STEP
    reach = (below - geometry.top_of_system(span.system + 1)) / UNITS_PER_SPACE
    room = (below - span.bottom) / UNITS_PER_SPACE - rule_above(reach) - _LABEL_ROOM
    first = max(BRACKET_BELOW, min(first, room - (rows - 1) * BRACKET_STEP_LEAST))
    if rows < 2:
        return first, BRACKET_STEP
    return first, min(BRACKET_STEP, max(BRACKET_STEP_LEAST, (room - first) / (rows - 1)))


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
