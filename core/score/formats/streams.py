"""A score of music21 into a draft, in one walk.

Conventions: each part of music21 is a part with one staff; a reader that knows more joins them
afterwards (``joined``). Elements are told apart by class, once a class. Only what the canonical
form has a use for is taken; layout and sound are left.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from core.score.formats.beams import beamed_as_given
from core.score.formats.drafts import Barline, Draft, DraftMeasure, DraftPart, Event
from core.score.formats.stream_notes import event_of, exact
from core.score.formats.stream_signs import (
    Spans,
    change_of,
    class_names,
    first_of_one_kind,
    sign_of,
    spans_of,
)

_START = Fraction(0)


def draft_of(score: Any) -> Draft:
    """A draft of everything in a ``music21.stream.Score``."""
    draft = Draft(title=_title(score.metadata), composer=_composer(score.metadata))
    walk = _Walk(spans_of(score))
    for part in score.parts:
        draft.parts.append(walk.part(part))
    if walk.has_chord_symbols:
        draft.losses.append("Chord symbols over the staff are left out.")
    return draft


def joined(upper: DraftPart, lower: DraftPart) -> DraftPart:
    """Two parts of one staff each as one part of two staves."""
    measures = []
    for top, bottom in zip(upper.measures, lower.measures, strict=True):
        voices = dict(top.voices)
        voices |= {(2, voice): events for (_, voice), events in bottom.voices.items()}
        changes = [change._replace(staff=1) for change in top.changes]
        changes += [change._replace(staff=2) for change in bottom.changes if not change.metre]
        shown = {(s.onset, s.kind, s.text) for s in top.signs}
        below = [
            s._replace(staff=2) for s in bottom.signs if (s.onset, s.kind, s.text) not in shown
        ]
        measures.append(
            replace(
                top,
                quarters=max(top.quarters, bottom.quarters),
                voices=voices,
                changes=changes,
                signs=[*top.signs, *below],
                left=top.left or bottom.left,
                right=top.right or bottom.right,
            )
        )
    return DraftPart(name=upper.name, staves=2, measures=measures)


def _title(metadata: Any) -> str:
    if metadata is None:
        return ""
    return " ".join(str(metadata.title or metadata.movementName or "").split())


def _composer(metadata: Any) -> str:
    if metadata is None:
        return ""
    return " ".join(str(metadata.composer or "").split())


class _Walk:
    """One walk through a score."""

    def __init__(self, spans: Spans) -> None:
        self._spans = spans
        self.has_chord_symbols = False
        self._metre: Fraction | None = None

    def part(self, part: Any) -> DraftPart:
        """One part with its measures; without barlines it is one measure."""
        self._metre = None
        name = " ".join((part.partName or "").split())
        containers = [e for e in part.elements if "Measure" in class_names(e)]
        measures = [self.measure(container) for container in containers or [part]]
        if not containers and measures:
            measures[0].number = "1"
        return DraftPart(name=name, measures=measures)

    def measure(self, container: Any) -> DraftMeasure:
        """One measure."""
        is_measure = "Measure" in class_names(container)
        number = f"{container.number}{container.numberSuffix or ''}" if is_measure else "1"
        measure = DraftMeasure(number=number, quarters=_START)
        self._fill(measure, container, _START, 0)
        measure.changes = first_of_one_kind(measure.changes)
        if is_measure:
            measure.left = _barline(container.leftBarline, "start")
            measure.right = _barline(container.rightBarline, "end")
            self._spans.put_endings(container, measure)
            self._settle(measure, container)
        for place, events in measure.voices.items():
            measure.voices[place] = self._finished(events, measure)
        return measure

    def _settle(self, measure: DraftMeasure, container: Any) -> None:
        """The real length, and whether the measure is counted."""
        metre = next((c.metre for c in measure.changes if c.metre and c.onset == 0), None)
        if metre is not None:
            self._metre = _metre_quarters(*metre)
        ends = [e.onset + e.quarters for events in measure.voices.values() for e in events]
        measure.quarters = max(ends, default=self._metre or _START)
        is_short = self._metre is not None and measure.quarters < self._metre
        measure.is_implicit = bool(container.paddingLeft) or (measure.number == "0" and is_short)

    def _finished(self, events: list[Event], measure: DraftMeasure) -> list[Event]:
        events.sort(key=lambda event: event.onset)
        if len(events) == 1 and not events[0].pitches:
            rest = events[0]
            if rest.onset == 0 and rest.quarters in (self._metre, measure.quarters):
                events = [rest._replace(is_whole_measure=rest.quarters == self._metre)]
        return beamed_as_given(events)

    def _fill(self, measure: DraftMeasure, container: Any, start: Fraction, voice: int) -> None:
        """Take all elements of a measure, or of one of its voices."""
        events: list[Event] = []
        next_voice = voice + 1
        voices = []
        spans = self._spans
        for element in container.elements:
            onset = start + exact(container.elementOffset(element))
            names = class_names(element)
            if "GeneralNote" in names:
                if "Harmony" in names:
                    self.has_chord_symbols = True
                    continue
                event = event_of(element, onset, spans.slurs.get(id(element), ()))
                events.append(event)
                if id(element) in spans.wedges:
                    measure.signs += spans.wedge_signs(element, event)
            elif "Voice" in names:
                voices.append((element, onset))
            elif "Stream" not in names:
                change = change_of(element, onset, names)
                if change is not None:
                    measure.changes.append(change)
                else:
                    measure.signs += sign_of(element, onset, names)
        if events:
            measure.voices[1, max(voice, 1)] = events
            next_voice = max(voice, 1) + 1
        for number, (element, onset) in enumerate(voices, max(next_voice, 1)):
            self._fill(measure, element, onset, number)


def _metre_quarters(beats: str, beat_type: str) -> Fraction | None:
    if not beats:
        return None
    return Fraction(sum(map(int, beats.split("+"))) * 4, int(beat_type))


def _barline(barline: Any, side: str) -> Barline | None:
    if barline is None:
        return None
    names = class_names(barline)
    made = Barline()
    if "Repeat" in names:
        made.repeat = "forward" if barline.direction == "start" else "backward"
        made.style = "heavy-light" if made.repeat == "forward" else "light-heavy"
        made.times = barline.times or 2
        if (made.repeat == "forward") != (side == "start"):
            return None
        return made
    made.style = barline.type if barline.type in _OWN_STYLES else _STYLES.get(barline.type, "")
    return made if made.style and made.style != "regular" else None


_OWN_STYLES = {"dotted", "dashed", "heavy", "heavy-light", "heavy-heavy", "tick", "short", "none"}
_STYLES = {"double": "light-light", "final": "light-heavy"}
