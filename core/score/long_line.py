"""A score as one long line: what the engraver laid out in chunks, made to join edge to edge.

Every chunk is a ``PageDrawing`` of its own. In all of them the top staff lies at one height and
the staves stand equally far apart, and what a system repeats at its left edge is left out, so
that chunks laid side by side read as one system. Each reaches ``BLEED`` into its neighbours,
for words and slurs that stand over the cut; the ground of the page is drawn apart.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from core.score.line_staves import staff_tops, with_staves_at
from core.score.page_drawing import BLEED, UNITS_PER_SPACE, MeasureBox, PageDrawing

_BEFORE_NOTES = 1.6 * UNITS_PER_SPACE
"""From the cut to the leftmost mark after it."""
_ROOM_ABOVE, _ROOM_BELOW = 12 * UNITS_PER_SPACE, 9 * UNITS_PER_SPACE
"""Least height over the top staff and under the bottom one: for key rules and brackets."""
_CLEAR = 3 * UNITS_PER_SPACE
"""Between the highest mark and the paper's edge."""
_GAP_LEAST = 8 * UNITS_PER_SPACE
"""Least room between two staves: more than most music asks for, so that they rarely move apart."""
_STAFF = 4 * UNITS_PER_SPACE


@dataclass(frozen=True, slots=True, kw_only=True)
class ChunkMeasure:
    """What one chunk asks of the line, in drawing units.

    Parameters
    ----------
    width : float
        Of its stretch of the line, without bleed.
    gaps : tuple of (int, float)
        Number of a staff, and how far under it the engraver set the next one.
    above, below : float
        How far its marks reach over the top staff line and under the bottom one.
    """

    width: float
    gaps: tuple[tuple[int, float], ...]
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
    gaps : tuple of (int, float)
        Number of a staff, and from its bottom line to the top line of the next one; least where
        none is given.
    """

    above: float = _ROOM_ABOVE
    below: float = _ROOM_BELOW
    gaps: tuple[tuple[int, float], ...] = ()

    def holding(self, chunk: ChunkMeasure) -> LineFrame:
        """The frame, made large enough for another chunk."""
        return LineFrame(
            above=max(self.above, chunk.above + _CLEAR),
            below=max(self.below, chunk.below + _CLEAR),
            gaps=_larger(self.gaps, chunk.gaps),
        )

    def top_of(self, number: int) -> float:
        """Where the top line of a staff lies, by its number; staves count from 1."""
        gaps = dict(self.gaps)
        between = sum(gaps.get(before, _GAP_LEAST) for before in range(1, number))
        return self.above + between + (number - 1) * _STAFF


def measure_chunk(drawing: PageDrawing, *, is_first: bool) -> ChunkMeasure:
    """Measure a chunk as it came from the engraver."""
    staves = staff_tops(drawing)
    if not staves:
        return ChunkMeasure(width=drawing.width, gaps=(), above=0.0, below=0.0)
    gaps = [
        (number, staves[number + 1].y_top - staff.y_bottom)
        for number, staff in sorted(staves.items())
        if number + 1 in staves
    ]
    heights = list(_heights(drawing))
    return ChunkMeasure(
        width=_right(drawing) - _left(drawing, is_first=is_first),
        gaps=tuple((number, gap) for number, gap in gaps if gap > _GAP_LEAST),
        above=max(0.0, min(staff.y_top for staff in drawing.staves) - min(heights)),
        below=max(0.0, max(heights) - max(staff.y_bottom for staff in drawing.staves)),
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
    tops = {number: frame.top_of(number) for number in staff_tops(drawing)}
    moved = with_staves_at(_cut(drawing, cut), tops, BLEED - cut)
    return replace(
        moved,
        width=_right(drawing) - cut + 2 * BLEED,
        height=max(staff.y_bottom for staff in moved.staves) + frame.below,
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


def _larger(
    these: tuple[tuple[int, float], ...], those: tuple[tuple[int, float], ...]
) -> tuple[tuple[int, float], ...]:
    """Of every staff the larger gap."""
    found = dict(these)
    for number, gap in those:
        found[number] = max(gap, found.get(number, 0.0))
    return tuple(sorted(found.items()))
