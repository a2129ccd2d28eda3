"""How the current place is marked on a page."""

from __future__ import annotations

from typing import TypedDict

from app.desk.selection import Selection
from app.score.score_geometry import PageGeometry, Span
from core.score.page_drawing import Box


class HereMarks(TypedDict):
    """The fields of ``PageMarks`` that show the current place."""

    spans: tuple[Span, ...]
    begins: bool
    points: tuple[Span, ...]
    selected: tuple[Box, ...]


def here_on(geometry: PageGeometry, selection: Selection | None) -> HereMarks:
    """A mark's frame, a bare place's rule, or a passage's wash; nothing for the whole piece."""
    marks = HereMarks(spans=(), begins=True, points=(), selected=())
    if selection is None:
        return marks
    box = geometry.element_box(selection.element_id) if selection.element_id else None
    if box is not None:
        marks["selected"] = (box,)
    elif selection.passage.is_point:
        point = geometry.point_span(selection.passage.start)
        marks["points"] = (point,) if point else ()
    else:
        marks["spans"] = tuple(geometry.spans(selection.passage))
        marks["begins"] = geometry.begins_here(selection.passage)
    return marks
