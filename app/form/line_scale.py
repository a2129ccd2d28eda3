"""Where a moment is drawn: zoom and scrolling of the form line, without widgets.

Conventions: ``x`` is in logical pixels of the widget. A zoom of 1 shows the whole piece.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

LEFT, RIGHT = 104, 24
"""Where the lanes begin, and how far from the right edge they end."""
LEAST_WIDTH = 8.0
MOST_PIXELS_A_QUARTER = 96.0
"""Nothing more is to be seen beyond: a measure of four quarters then fills a third of a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineScale:
    """What part of the piece is shown, and how large.

    Parameters
    ----------
    total_quarters : float
    width : float
        Of the lanes.
    zoom : float
        1 or more.
    first_quarters : float
        What stands at the left end.
    """

    total_quarters: float
    width: float
    zoom: float = 1.0
    first_quarters: float = 0.0

    @property
    def pixels_a_quarter(self) -> float:
        """How wide a quarter note is drawn."""
        return max(self.width, LEAST_WIDTH) * self.zoom / max(self.total_quarters, 1e-9)

    @property
    def shown_quarters(self) -> float:
        """How much of the piece is seen at once."""
        return self.total_quarters / self.zoom

    @property
    def last_quarters(self) -> float:
        """What stands at the right end."""
        return self.first_quarters + self.shown_quarters

    @property
    def most_zoom(self) -> float:
        """How far one can zoom in."""
        whole = max(self.width, LEAST_WIDTH)
        return max(1.0, MOST_PIXELS_A_QUARTER * self.total_quarters / whole)

    def x(self, quarters: float) -> float:
        """Where a moment is drawn."""
        return LEFT + (quarters - self.first_quarters) * self.pixels_a_quarter

    def quarters(self, x: float) -> float:
        """The moment that is drawn at x, kept inside of the piece."""
        moment = self.first_quarters + (x - LEFT) / self.pixels_a_quarter
        return min(max(moment, 0.0), self.total_quarters)

    def zoomed(self, factor: float, x: float) -> LineScale:
        """Larger or smaller, with what is drawn at x left in its place."""
        zoom = min(max(self.zoom * factor, 1.0), self.most_zoom)
        held = self.quarters(x)
        shown = self.total_quarters / zoom
        share = (x - LEFT) / max(self.width, LEAST_WIDTH)
        return replace(self, zoom=zoom, first_quarters=held - share * shown).kept_inside()

    def scrolled(self, pixels: float) -> LineScale:
        """Moved by so many pixels to later music."""
        first = self.first_quarters + pixels / self.pixels_a_quarter
        return replace(self, first_quarters=first).kept_inside()

    def resized(self, width: float) -> LineScale:
        """The same stretch of music on another width."""
        return replace(self, width=width).kept_inside()

    def showing(self, start: float, end: float) -> LineScale:
        """Moved just as far as it needs to show a stretch; its start if it is too long."""
        if start < self.first_quarters or end - start > self.shown_quarters:
            return replace(self, first_quarters=start).kept_inside()
        if end > self.last_quarters:
            return replace(self, first_quarters=end - self.shown_quarters).kept_inside()
        return self

    def kept_inside(self) -> LineScale:
        """Zoom and scroll within what there is."""
        zoom = min(max(self.zoom, 1.0), self.most_zoom)
        most = self.total_quarters - self.total_quarters / zoom
        first = min(max(self.first_quarters, 0.0), max(most, 0.0))
        return replace(self, zoom=zoom, first_quarters=first)
