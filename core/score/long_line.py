"""A score as one long line: what the engraver laid out in chunks, made to join edge to edge.

Every chunk is a ``PageDrawing`` of its own. In all of them the top staff lies at one height and
the staves stand equally far apart, and what a system repeats at its left edge is left out, so
that chunks laid side by side read as one system. Each reaches ``BLEED`` into its neighbours,
for words and slurs that stand over the cut; the ground of the page is drawn apart.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from core.score.engraved_marks import moved_path
from core.score.page_drawing import UNITS_PER_SPACE, Box, Element, MeasureBox, PageDrawing

BLEED = 10 * UNITS_PER_SPACE
"""How far a chunk is drawn beyond its own stretch of the line, on either side."""
_BEFORE_NOTES = 1.6 * UNITS_PER_SPACE
"""From the cut to the leftmost mark after it."""
_ROOM_ABOVE, _ROOM_BELOW = 12 * UNITS_PER_SPACE, 9 * UNITS_PER_SPACE
"""Least height over the top staff and under the bottom one: for key rules and brackets."""
_CLEAR = 3 * UNITS_PER_SPACE
"""Between the highest mark and the paper's edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChunkMeasure:
    """What one chunk asks of the line, in drawing units.

    Parameters
    ----------
    width : float
        Of its stretch of the line, without bleed.
    staff_distance : float
        The largest that the engraver needed between two of its staves; 0 with one staff.
    above, below : float
        How far its marks reach over the top staff line and under the bottom one.
    """

    width: float
    staff_distance: float
    above: float
    below: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFrame:
    """The frame that all chunks of a line share, in drawing units.

    Parameters
    ----------
    above : float
        From the paper's upper edge to the top staff line.
    below : float
        From the bottom staff line to the paper's lower edge.
    staff_distance : float
        Least distance between the bottom line of a staff and the top line of the next one.
    """

    above: float = _ROOM_ABOVE
    below: float = _ROOM_BELOW
    staff_distance: float = 8 * UNITS_PER_SPACE

    def holding(self, chunk: ChunkMeasure) -> LineFrame:
        """The frame, made large enough for another chunk."""
        return LineFrame(
            above=max(self.above, chunk.above + _CLEAR),
            below=max(self.below, chunk.below + _CLEAR),
            staff_distance=max(self.staff_distance, chunk.staff_distance),
        )


def measure_chunk(drawing: PageDrawing, *, is_first: bool) -> ChunkMeasure:
    """Measure a chunk as it came from the engraver."""
    tops = sorted({(staff.y_top, staff.y_bottom) for staff in drawing.staves})
    if not tops:
        return ChunkMeasure(width=drawing.width, staff_distance=0.0, above=0.0, below=0.0)
    gaps = [after[0] - before[1] for before, after in pairwise(tops)]
    heights = list(_heights(drawing))
    return ChunkMeasure(
        width=_right(drawing) - _left(drawing, is_first=is_first),
        staff_distance=max(gaps, default=0.0),
        above=max(0.0, tops[0][0] - min(heights)),
        below=max(0.0, max(heights) - tops[-1][1]),
    )


def joined(drawing: PageDrawing, frame: LineFrame, *, is_first: bool) -> PageDrawing:
    """A chunk cut out of its system and set into the frame.

    Parameters
    ----------
    drawing : PageDrawing
        As it came from the engraver; read as continued unless it is the first.
    frame : LineFrame
    is_first : bool
        The first chunk keeps its clefs, signatures and brace.

    Returns
    -------
    PageDrawing
        Its own stretch of the line lies between ``bleed`` and ``width - bleed``.
    """
    if not drawing.staves:
        return replace(drawing, bleed=BLEED, is_continued=not is_first)
    cut = _left(drawing, is_first=is_first)
    top = min(staff.y_top for staff in drawing.staves)
    bottom = max(staff.y_bottom for staff in drawing.staves)
    moved = _moved(_cut(drawing, cut), BLEED - cut, frame.above - top)
    return replace(
        moved,
        width=_right(drawing) - cut + 2 * BLEED,
        height=frame.above + bottom - top + frame.below,
        bleed=BLEED,
        is_continued=not is_first,
        header_bottom=0.0,
    )


def _left(drawing: PageDrawing, *, is_first: bool) -> float:
    """Where a chunk's own stretch begins: the paper's edge, or just before its first mark."""
    if is_first:
        return 0.0
    first = drawing.measures[0]
    edge = first.box[0]
    marks = [glyph.x for glyph in drawing.glyphs if glyph.staff >= 0]
    marks += [line.x1 for line in drawing.lines if line.role == "barline" and line.x1 > edge]
    return max(edge, min(marks, default=edge) - _BEFORE_NOTES)


def _right(drawing: PageDrawing) -> float:
    return max(staff.x2 for staff in drawing.staves)


def _heights(drawing: PageDrawing) -> Iterable[float]:
    """Heights of all that is drawn, as far as the marks themselves say."""
    for staff in drawing.staves:
        yield from (staff.y_top, staff.y_bottom)
    for element in drawing.elements:
        yield from (element.box[1], element.box[3])
    for line in drawing.lines:
        yield from (line.y1, line.y2)
    for glyph in drawing.glyphs:
        yield glyph.y
    for polygon in drawing.polygons:
        yield from (y for _, y in polygon.points)


def _cut(drawing: PageDrawing, cut: float) -> PageDrawing:
    """Let the staves begin at the cut, and what stood over the left-out signs too."""
    return replace(
        drawing,
        lines=tuple(
            line._replace(x1=max(line.x1, cut), x2=max(line.x2, cut))
            if line.role == "staff"
            else line
            for line in drawing.lines
        ),
        texts=tuple(text._replace(x=max(text.x, cut)) for text in drawing.texts),
        staves=tuple(staff._replace(x1=max(staff.x1, cut)) for staff in drawing.staves),
        measures=tuple(
            MeasureBox(box.id, box.system, (max(box.box[0], cut), *box.box[1:]))
            for box in drawing.measures
        ),
    )


def _moved(drawing: PageDrawing, dx: float, dy: float) -> PageDrawing:
    """Everything on the page moved."""
    return replace(
        drawing,
        glyphs=tuple(g._replace(x=g.x + dx, y=g.y + dy) for g in drawing.glyphs),
        lines=tuple(
            line._replace(x1=line.x1 + dx, y1=line.y1 + dy, x2=line.x2 + dx, y2=line.y2 + dy)
            for line in drawing.lines
        ),
        polygons=tuple(
            p._replace(points=tuple((x + dx, y + dy) for x, y in p.points))
            for p in drawing.polygons
        ),
        curves=tuple(c._replace(path=moved_path(c.path, dx, dy)) for c in drawing.curves),
        ellipses=tuple(e._replace(cx=e.cx + dx, cy=e.cy + dy) for e in drawing.ellipses),
        texts=tuple(t._replace(x=t.x + dx, y=t.y + dy) for t in drawing.texts),
        staves=tuple(
            s._replace(x1=s.x1 + dx, x2=s.x2 + dx, y_top=s.y_top + dy, y_bottom=s.y_bottom + dy)
            for s in drawing.staves
        ),
        elements=tuple(_moved_element(e, dx, dy) for e in drawing.elements),
        measures=tuple(m._replace(box=_moved_box(m.box, dx, dy)) for m in drawing.measures),
    )


def _moved_element(element: Element, dx: float, dy: float) -> Element:
    accidental = element.accidental
    return element._replace(
        box=_moved_box(element.box, dx, dy),
        accidental=None if accidental is None else _moved_box(accidental, dx, dy),
    )


def _moved_box(box: Box, dx: float, dy: float) -> Box:
    left, top, right, bottom = box
    return left + dx, top + dy, right + dx, bottom + dy
