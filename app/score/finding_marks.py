"""What analysis found, as marks over a page: letters, key rules, bent degrees, evidence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from PySide6.QtGui import QColor

from app.score.page_marks import (
    RULE_ABOVE_MOST,
    RULE_CLEAR,
    BentDegree,
    Certainty,
    KeyRule,
    SectionLetter,
)
from app.score.score_geometry import PageGeometry, Span
from core.score.page_drawing import UNITS_PER_SPACE, Box
from core.score.places import Passage

_LABEL_ROOM = 5 * UNITS_PER_SPACE
"""What reaches this far over the top staff line pushes a key rule up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownKey:
    """A key or scale over a passage, ready to be drawn."""

    passage: Passage
    label: str
    color: QColor
    certainty: Certainty


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownBent:
    """A note that departs from its scale, and the degree it is."""

    note_id: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSection:
    """A section's letter where it begins."""

    passage: Passage
    letter: str
    certainty: Certainty = Certainty.SOLID


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownOverlays:
    """All that is drawn over a score; each kind can be put away by leaving it empty."""

    keys: tuple[ShownKey, ...] = ()
    bent: tuple[ShownBent, ...] = ()
    sections: tuple[ShownSection, ...] = ()
    evidence: tuple[str, ...] = ()


def key_rules_on(geometry: PageGeometry, keys: Iterable[ShownKey]) -> tuple[KeyRule, ...]:
    """The rules of one page, each labelled at its first stretch on it."""
    rules: list[KeyRule] = []
    for key in keys:
        for number, span in enumerate(geometry.spans(key.passage)):
            rules.append(
                KeyRule(
                    span=span,
                    color=key.color,
                    label=key.label if number == 0 else "",
                    certainty=key.certainty,
                    reach=reach_of(geometry, span),
                )
            )
    return tuple(rules)


def bent_on(geometry: PageGeometry, bent: Iterable[ShownBent]) -> tuple[BentDegree, ...]:
    """Triangles over the bent notes of one page; one for notes that sound together."""
    found: dict[tuple[int, int, str], BentDegree] = {}
    for degree in bent:
        box = geometry.element_box(degree.note_id)
        span = None if box is None else geometry.span_of(degree.note_id)
        if box is None or span is None:
            continue
        middle = (box[0] + box[2]) / 2
        key = (span.system, round(middle / UNITS_PER_SPACE), degree.label)
        if key not in found:
            found[key] = BentDegree(
                x=middle, span=span, label=degree.label, reach=reach_of(geometry, span)
            )
    return _labelled_once(found.values())


def _labelled_once(bent: Iterable[BentDegree]) -> tuple[BentDegree, ...]:
    """Triangles from left to right; of close ones with one label the first carries it."""
    in_order = sorted(bent, key=lambda each: (each.span.system, each.x))
    shown = in_order[:1]
    for before, degree in pairwise(in_order):
        is_said = (
            before.span.system == degree.span.system
            and before.label == degree.label
            and degree.x - before.x < _LABEL_ROOM
        )
        shown.append(replace(degree, label="") if is_said else degree)
    return tuple(shown)


def letters_on(
    geometry: PageGeometry, sections: Iterable[ShownSection]
) -> tuple[SectionLetter, ...]:
    """The letters of the sections that begin on one page."""
    letters: list[SectionLetter] = []
    for section in sections:
        span = geometry.point_span(section.passage.start)
        if span is None:
            continue
        left = geometry.system_left(span.system)
        is_continued = geometry.drawing.is_continued
        is_inside = is_continued or span.left - left > 12 * UNITS_PER_SPACE
        at = span if is_inside else Span(span.system, left, left, span.top, span.bottom)
        letters.append(
            SectionLetter(
                span=at,
                letter=section.letter,
                certainty=section.certainty,
                is_inside=is_inside,
                page_left=geometry.drawing.bleed,
                reach=reach_of(geometry, span),
            )
        )
    return tuple(letters)


def halos_on(geometry: PageGeometry, note_ids: Iterable[str]) -> tuple[Box, ...]:
    """Round notehead and accidental of each note that is evidence."""
    wanted = set(note_ids)
    return tuple(
        _with_accidental(element.box, element.accidental)
        for element in geometry.drawing.elements
        if element.id in wanted
    )


def reach_of(geometry: PageGeometry, span: Span) -> float:
    """How far notes and words of a system reach over its top staff line, in staff spaces.

    A long line is one system: there everything over it lies at one height, over most of them.
    """
    if geometry.drawing.bleed:
        return RULE_ABOVE_MOST - RULE_CLEAR
    return (span.top - geometry.top_of_system(span.system)) / UNITS_PER_SPACE


def _with_accidental(head: Box, accidental: Box | None) -> Box:
    if accidental is None:
        return head
    return (
        min(head[0], accidental[0]),
        min(head[1], accidental[1]),
        max(head[2], accidental[2]),
        max(head[3], accidental[3]),
    )
