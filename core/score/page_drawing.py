"""A page as engraved: what is drawn where, and which element of the score each mark belongs to.

Conventions
-----------
Coordinates are *drawing units*, x to the right and y down from the page's upper left corner;
``UNITS_PER_SPACE`` of them make one staff space. Nothing here knows of pixels, colours or Qt.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

UNITS_PER_SPACE = 180.0
BLEED = 10 * UNITS_PER_SPACE
"""How far a chunk of a long line is drawn beyond its own stretch of it, on either side."""

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


class Glyph(NamedTuple):
    """One sign of the music font (a SMuFL code point in hexadecimal) with its origin."""

    code: str
    x: float
    y: float
    scale: float
    staff: int
    """Index into ``PageDrawing.staves`` of the staff it stands on, -1 for none."""
    is_upright: bool = False
    """Turned to the left by a quarter, as the wavy line of an arpeggio is."""


class Line(NamedTuple):
    """A straight stroke; ``role`` is "staff", "ledger", "stem", "barline", "ending" or ""."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float
    role: str
    staff: int
    dash: float = 0.0


class Polygon(NamedTuple):
    """A filled polygon (beams), or an open stroke where ``width`` is not 0 (hairpins)."""

    points: tuple[tuple[float, float], ...]
    width: float
    staff: int


class Curve(NamedTuple):
    """A path in SVG's notation, filled and stroked (slurs, ties, braces), or stroked only."""

    path: str
    width: float
    is_filled: bool
    dash: float = 0.0


class Ellipse(NamedTuple):
    """A filled ellipse (augmentation dots)."""

    cx: float
    cy: float
    rx: float
    ry: float
    staff: int


class TextRun(NamedTuple):
    """Characters of one style; ``is_music`` marks signs of the music font."""

    text: str
    size: float
    is_bold: bool
    is_italic: bool
    is_music: bool


class TextLine(NamedTuple):
    """Runs set one after the other from (x, y) on the baseline; anchor "start", "middle", "end"."""

    x: float
    y: float
    anchor: str
    runs: tuple[TextRun, ...]


class Staff(NamedTuple):
    """The five (or other) lines of one staff in one measure."""

    number: int
    """Counted through the score, from 1."""
    measure_id: str
    x1: float
    x2: float
    y_top: float
    y_bottom: float


class Element(NamedTuple):
    """Something that can be pointed at."""

    id: str
    """In the canonical score; a direction's own id, not the engraver's."""
    kind: str
    """"note", "rest" or "direction"."""
    measure_id: str
    box: Box
    """A note's head; a rest, a direction whole."""
    accidental: Box | None = None
    """The sign before a note, where one is drawn."""


class MeasureBox(NamedTuple):
    """A measure on the page, from its top staff line to its bottom one."""

    id: str
    system: int
    """Number of the system on this page, from 0."""
    box: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class PageDrawing:
    """Everything on one page.

    Parameters
    ----------
    number : int
        From 1.
    width, height : float
        Drawing units.
    header_bottom : float
        Where the room kept for title and composer, or the page's number, ends; 0 without any.
    bleed : float
        How far it reaches beyond its own stretch of a long line, left and right; 0 for a page.
    is_continued : bool
        Its first measure goes on from the drawing before, with nothing at the left edge.
    """

    number: int
    width: float
    height: float
    header_bottom: float = 0.0
    bleed: float = 0.0
    is_continued: bool = False
    glyphs: tuple[Glyph, ...] = ()
    lines: tuple[Line, ...] = ()
    polygons: tuple[Polygon, ...] = ()
    curves: tuple[Curve, ...] = ()
    ellipses: tuple[Ellipse, ...] = ()
    texts: tuple[TextLine, ...] = ()
    staves: tuple[Staff, ...] = ()
    elements: tuple[Element, ...] = ()
    measures: tuple[MeasureBox, ...] = ()
