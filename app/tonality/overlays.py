"""From an analysis to what is drawn over the score: keys, bent degrees, letters, evidence."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum
from typing import TYPE_CHECKING

from app.score.finding_marks import ShownBent, ShownKey, ShownOverlays, ShownSection
from app.score.page_marks import Certainty
from app.theme import Theme
from app.tonality.key_colors import key_color
from app.tonality.signs import with_signs
from core.analysis.scales import ScaleInUse
from core.analysis.tonal_line import TonalStretch, tonal_line

if TYPE_CHECKING:
    from core.notebook.analyses import Analysis
    from core.score.places import Passage


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
    line = tonal_line(analysis.key_regions, analysis.scale_regions)
    return ShownOverlays(
        keys=_keys(line, is_dark) if OverlayKind.KEYS in kinds else (),
        bent=_bent(analysis, line) if OverlayKind.BENT in kinds else (),
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


def _keys(line: tuple[TonalStretch, ...], is_dark: bool) -> tuple[ShownKey, ...]:
    return tuple(
        ShownKey(
            passage=stretch.passage,
            label=with_signs(stretch.name),
            color=key_color(stretch.tonic, stretch.mode, is_dark=is_dark, is_rule=True),
            certainty=Certainty.of(stretch.confidence),
        )
        for stretch in line
    )


def _bent(analysis: Analysis, line: tuple[TonalStretch, ...]) -> tuple[ShownBent, ...]:
    """One note a measure of each degree that is bent in a scale that the rules name."""
    told = [
        found.passage
        for stretch in line
        for found in stretch.told_by
        if found.passage is not None and isinstance(found.value, ScaleInUse) and found.value.bent
    ]
    return tuple(
        ShownBent(note_id=bent.evidence[0], label=with_signs(bent.value.degree))
        for bent in analysis.bent_degrees
        if any(_is_inside(bent.passage, passage) for passage in told)
    )


def _is_inside(inner: Passage | None, outer: Passage) -> bool:
    if inner is None:
        return False
    return outer.start.moment <= inner.start.moment < outer.end.moment
