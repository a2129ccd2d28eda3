"""Engraving: canonical MusicXML to pages that can be drawn and pointed at.

Verovio lays the music out; ``Engraver`` wraps one of its toolkits. A toolkit belongs to one
thread. While Verovio loads or lays out, it lets other Python threads run.
Lengths of a layout are staff spaces, the natural unit of a page of music.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import TYPE_CHECKING

from core.errors import UnsupportedScoreError
from core.score.engraved_directions import match_directions
from core.score.engraved_page import EngravedPage, read_page
from core.score.line_chunks import as_chunks
from core.score.long_line import ChunkMeasure, LineFrame, joined, measure_chunk
from core.score.measure_numbers import lifted
from core.score.page_drawing import Element, PageDrawing

if TYPE_CHECKING:
    from core.score.score import Measure, RawDirection, Score

_VEROVIO_PER_SPACE = 18.0
"""Verovio's page units a staff space, at its default ``unit`` of 9."""

ENGRAVER_OPTIONS: Mapping[str, object] = {
    "header": "auto",
    "footer": "none",
    "breaks": "smart",
    "systemDivider": "none",
    "scale": 100,
    "font": "Leipzig",
    "lyricSize": 3.5,
    "spacingLinear": 0.23,
    "breaksSmartSb": 0.4,
    "spacingNonLinear": 0.57,
    "bottomMarginHeader": 12.0,
    "justificationBraceGroup": 0.2,
    "justificationStaff": 0.3,
    "svgFormatRaw": True,
    "svgRemoveXlink": True,
    "svgAdditionalAttribute": [
        "staff@n",
        *(
            f"{name}@{attribute}"
            for name in ("dir", "tempo", "dynam", "hairpin", "pedal", "octave", "reh", "repeatMark")
            for attribute in ("staff", "tstamp")
        ),
    ],
}
"""Room over the systems is for what is computed, below them for what a person writes."""

_LINE_OPTIONS: Mapping[str, object] = {
    "header": "none",
    "breaks": "encoded",
    "noJustification": True,
    "adjustPageWidth": True,
    "adjustPageHeight": True,
    "pageWidth": 100_000,
    "pageHeight": 60_000,
    "mnumInterval": 5,
    "spacingStaff": 16,
}
"""A chunk of a long line is a page as wide as its music; the sizes are the engraver's largest."""
_PAGE_OPTIONS: Mapping[str, object] = {
    "noJustification": False,
    "adjustPageWidth": False,
    "adjustPageHeight": False,
    "mnumInterval": 0,
    "spacingStaff": 12,
}
"""What a line changes, as it is for pages: a toolkit keeps what it was told before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageLayout:
    """A page's size, margins and least room between systems, in staff spaces.

    Or one long line, whose "pages" are chunks. With ``fills_height`` the systems of a page that
    is nearly full are spread over all of it.
    """

    width: float = 85.2
    height: float = 120.5
    left: float = 7.2
    right: float = 2.8
    top: float = 2.4
    bottom: float = 6.0
    between_systems: float = 4.5
    fills_height: bool = False
    is_one_line: bool = False

    def options(self) -> dict[str, object]:
        """The same in Verovio's words."""
        sizes = {
            "pageWidth": self.width,
            "pageHeight": self.height,
            "pageMarginLeft": self.left,
            "pageMarginRight": self.right,
            "pageMarginTop": self.top,
            "pageMarginBottom": self.bottom,
        }
        options: dict[str, object] = {
            name: round(size * _VEROVIO_PER_SPACE) for name, size in sizes.items()
        }
        options["justifyVertically"] = self.fills_height
        # In the engraver's words half a space is the unit of room.
        options["spacingSystem"] = round(2 * self.between_systems)
        return {**_PAGE_OPTIONS, **options, **(_LINE_OPTIONS if self.is_one_line else {})}


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedWords:
    """What the engraver is told of a score: measures with directions, by their ids."""

    ticks_per_quarter: int
    measures: dict[str, Measure]
    directions: dict[str, list[RawDirection]]

    @classmethod
    def of(cls, score: Score) -> PrintedWords:
        """The part of ``score`` that pages need."""
        directions: dict[str, list[RawDirection]] = {}
        for direction in score.directions:
            measure_id = score.measures[direction.measure_index].id
            directions.setdefault(measure_id, []).append(direction)
        indices = {direction.measure_index for direction in score.directions}
        return cls(
            ticks_per_quarter=score.ticks_per_quarter,
            measures={score.measures[i].id: score.measures[i] for i in indices},
            directions=directions,
        )


class Engraver:
    """One Verovio toolkit with one score in it; use it from one thread only."""

    def __init__(self) -> None:
        import verovio

        verovio.enableLog(verovio.LOG_OFF)
        # Verovio keeps the path to its fonts for each thread, and sets it only in the one that
        # imports it: every other thread's toolkit finds no font and refuses every score.
        verovio.setDefaultResourcePath(str(files("verovio") / "data"))
        self._toolkit = verovio.toolkit()
        self._words = PrintedWords(ticks_per_quarter=1, measures={}, directions={})
        self._frame: LineFrame | None = None
        """Of the long line that is loaded; None with pages."""

    def load(self, canonical: bytes, layout: PageLayout, *, name: str = "score") -> int:
        """Load and lay out.

        Parameters
        ----------
        canonical : bytes
            Canonical MusicXML.
        layout : PageLayout
        name : str
            What an error calls the score.

        Returns
        -------
        int
            Number of pages.

        Raises
        ------
        UnsupportedScoreError
            The engraver can't lay this score out.
        """
        self._frame = LineFrame() if layout.is_one_line else None
        self._toolkit.setOptions({**ENGRAVER_OPTIONS, **layout.options()})
        self._words = PrintedWords(ticks_per_quarter=1, measures={}, directions={})
        if layout.is_one_line:
            canonical = as_chunks(canonical, name=name)
        if not self._toolkit.loadData(canonical.decode("utf-8")):
            raise UnsupportedScoreError(
                name, "The score was read, but can't be engraved; its notes can still be analysed."
            )
        return int(self._toolkit.getPageCount())

    def lay_out(self, layout: PageLayout) -> int:
        """Lay the loaded score out anew; the number of pages."""
        self._toolkit.setOptions({**ENGRAVER_OPTIONS, **layout.options()})
        self._toolkit.redoLayout({})
        return int(self._toolkit.getPageCount())

    def know(self, words: PrintedWords) -> None:
        """Tell what the loaded score says, so that pages carry its directions' ids."""
        self._words = words

    def page(self, number: int) -> PageDrawing:
        """The page of that number, from 1.

        Raises
        ------
        ValueError
            There is no such page.
        """
        if not 1 <= number <= self._toolkit.getPageCount():
            raise ValueError(f"number is {number}; pages count from 1")
        read = self._read(number)
        page = self._with_directions(read)
        if self._frame is None:
            return page
        numbered = lifted(page, read.measure_numbers)
        return joined(numbered, self._frame, is_first=number == 1)

    def chunk(self, number: int) -> ChunkMeasure:
        """What a chunk of a long line asks for; ``number`` from 1."""
        return measure_chunk(self._read(number).drawing, is_first=number == 1)

    def spread(self, frame: LineFrame) -> None:
        """Set the long line that is loaded into another frame; its chunks are drawn anew."""
        self._frame = frame

    def page_of(self, element_id: str) -> int:
        """Number of the page on which a note, rest or measure stands; 0 if on none."""
        return int(self._toolkit.getPageWithElement(element_id))

    def _read(self, number: int) -> EngravedPage:
        is_continued = self._frame is not None and number > 1
        svg = self._toolkit.renderToSVG(number, False)
        return read_page(svg, number, is_continued=is_continued)

    def _with_directions(self, page: EngravedPage) -> PageDrawing:
        words = self._words
        found = match_directions(
            page.directions, words.directions, words.measures, words.ticks_per_quarter
        )
        drawn = [
            Element(direction_id, "direction", engraved.measure_id, engraved.box)
            for engraved, direction_id in found
        ]
        return replace(page.drawing, elements=page.drawing.elements + tuple(drawn))
