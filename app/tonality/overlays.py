"""From an analysis to what is drawn over the score: keys, bent degrees, letters, evidence."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from PySide6.QtGui import QColor

from app.score.finding_marks import ShownBent, ShownKey, ShownOverlays, ShownSection
from app.score.page_marks import Certainty
from app.theme import Theme
from app.tonality.finding_words import as_title
from app.tonality.key_colors import key_color
from app.tonality.signs import with_signs
from core.notebook.judgements import value_text
from core.score.findings import Finding

if TYPE_CHECKING:
    from core.notebook.analyses import Analysis


class OverlayKind(StrEnum):
    """What can be put away by itself."""

    KEYS = "keys and scales"
    BENT = "bent degrees"
    LETTERS = "section letters"


def overlays_of(
    analysis: Analysis | None,
    theme: Theme,
    *,
    kinds: Collection[OverlayKind],
    evidence: tuple[str, ...] = (),
) -> ShownOverlays:
    """What is to be drawn.

    Parameters
    ----------
    analysis : Analysis or None
    theme : Theme
        For the colours of the page.
    kinds : collection of OverlayKind
        Those that are not put away.
    evidence : tuple of str
        Ids of the notes lit by an open "why?".
    """
    if analysis is None:
        return ShownOverlays()
    is_dark = theme.is_dark and not theme.keeps_page_white
    return ShownOverlays(
        keys=_keys(analysis, is_dark) if OverlayKind.KEYS in kinds else (),
        bent=_bent(analysis) if OverlayKind.BENT in kinds else (),
        sections=_sections(analysis) if OverlayKind.LETTERS in kinds else (),
        evidence=evidence,
    )


def _sections(analysis: Analysis) -> tuple[ShownSection, ...]:
    return tuple(
        ShownSection(
            passage=found.value.passage,
            letter=found.value.label,
            certainty=Certainty.of(found.confidence),
        )
        for found in analysis.form.sections
        if found.value.parent is None
    )


def _keys(analysis: Analysis, is_dark: bool) -> tuple[ShownKey, ...]:
    """Scale regions where they are known, else key regions."""
    found: tuple[Finding[Any], ...] = getattr(analysis, "scale_regions", ())
    found = found or getattr(analysis, "key_regions", ())
    return tuple(
        ShownKey(
            passage=region.passage,
            label=label_of(region.value),
            color=color_of(region.value, is_dark=is_dark),
            certainty=Certainty.of(region.confidence),
        )
        for region in found
        if region.passage is not None
    )


def _bent(analysis: Analysis) -> tuple[ShownBent, ...]:
    return ()


def label_of(value: Any) -> str:
    """A key or scale in words, as it stands over a system."""
    return with_signs(as_title(value_text(value)))


def color_of(value: Any, *, is_dark: bool) -> QColor:
    """The colour of a key or scale, for its thin rule."""
    mode = "minor" if value.mode == "minor" else "major"
    return key_color(value.tonic, mode, is_dark=is_dark, is_rule=True)
