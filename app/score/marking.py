"""Keeps the marks over the pages in sight in step with the desk and with what was found."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from app.desk.desk_model import DeskModel
from app.score.finding_marks import (
    ShownOverlays,
    bent_on,
    halos_on,
    key_rules_on,
    letters_on,
)
from app.score.glosses import glosses_on
from app.score.here_marks import here_on
from app.score.page_stack import PageStack
from app.score.score_geometry import PageGeometry, Span
from core.score.places import Place


class Marking:
    """What is drawn over the pages of one view.

    Attributes
    ----------
    has_glosses : bool
        Whether the brackets of remarks are shown.
    """

    def __init__(self, desk: DeskModel, pages: PageStack) -> None:
        self._desk, self._pages = desk, pages
        self._darkened: int | None = None
        self._overlays = ShownOverlays()
        self.has_glosses = True
        self._sounding: Place | None = None

    @property
    def overlays(self) -> ShownOverlays:
        """What analysis found, as it is shown."""
        return self._overlays

    def clear(self) -> None:
        """Another score: nothing is known of it yet."""
        self._overlays = ShownOverlays()
        self._sounding = None

    def show_pages(self, numbers: Collection[int]) -> None:
        """Every mark of some pages, which came near or were engraved anew."""
        for item, geometry in self._pages.near(numbers):
            item.mark(
                **here_on(geometry, self._desk.selection),
                **self._glosses_on(geometry),
                **self._overlays_on(geometry),
                sounding=self._sounding_on(geometry),
            )

    def show_here(self) -> None:
        """The current place."""
        selection = self._desk.selection
        for item, geometry in self._pages.near():
            item.mark(**here_on(geometry, selection), sounding=self._sounding_on(geometry))

    def show_sounding(self, place: Place | None) -> None:
        """Where it sounds, while it plays."""
        self._sounding = place
        for item, geometry in self._pages.near():
            item.mark(sounding=self._sounding_on(geometry))

    def switch_glosses(self) -> None:
        """Show the brackets of remarks, or put them away."""
        self.has_glosses = not self.has_glosses
        self.show_glosses()

    def _sounding_on(self, geometry: PageGeometry) -> Span | None:
        return None if self._sounding is None else geometry.point_span(self._sounding)

    def show_glosses(self) -> None:
        """The brackets of the remarks."""
        for item, geometry in self._pages.near():
            item.mark(**self._glosses_on(geometry))

    def darken_remark(self, number: int | None) -> None:
        """Draw one remark's bracket stronger."""
        if number != self._darkened:
            self._darkened = number
            self.show_glosses()

    def show_overlays(self, overlays: ShownOverlays) -> None:
        """What analysis found."""
        if overlays != self._overlays:
            self._overlays = overlays
            self._show_overlays()

    def _show_overlays(self) -> None:
        for item, geometry in self._pages.near():
            item.mark(**self._overlays_on(geometry))

    def _glosses_on(self, geometry: PageGeometry) -> dict[str, Any]:
        score = self._desk.score
        if score is None:
            return {}
        numbered = self._desk.numbered() if self.has_glosses else ()
        glosses = glosses_on(geometry, numbered, score.sha256, darkened=self._darkened)
        return {"glosses": tuple(glosses)}

    def _overlays_on(self, geometry: PageGeometry) -> dict[str, Any]:
        overlays = self._overlays
        return {
            "rules": key_rules_on(geometry, overlays.keys),
            "bent": bent_on(geometry, overlays.bent),
            "letters": letters_on(geometry, overlays.sections),
            "halos": halos_on(geometry, overlays.evidence),
        }
