"""The music of an MEI file: sections, measures, staves, layers.

Conventions: as in ``mei``; times are local to the measure. What names its notes by id is looked
up after all notes are read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from lxml import etree

from core.score.formats.beams import beamed_as_given
from core.score.formats.drafts import Barline, Change, Draft, DraftMeasure, Event
from core.score.formats.mei_notes import ID, contents, duration_of, event_of
from core.score.formats.mei_signs import attached_in, barlines_of, changes_in, signs_of
from core.score.quoting import shown

_START = Fraction(0)
_SECTIONS = frozenset(("section", "score", "mdiv", "body", "parts", "part", "music", "rdg"))
_CHANGES = frozenset(("clef", "keySig", "meterSig"))
_DIRECTIONS = frozenset(("dynam", "dir", "tempo", "hairpin", "reh", "repeatMark", "pedal"))
_LEFT_OUT = {
    "harm": "Chord symbols over the staff are left out.",
    "multiRest": "A rest of several measures is read as one measure.",
    "beatRpt": "Signs that repeat a beat are left out.",
    "halfmRpt": "Signs that repeat half a measure are left out.",
    "mRpt2": "Signs that repeat two measures are left out.",
}
STAFF_UNDEFINED = "Staff {!r} is left out: nothing defines it."
WITHOUT_PITCH = "{} notes are left out: they have no pitch that can be read."
WITHOUT_DURATION = "{} durations can't be read; quarters are assumed."
_FIELD_OF_ONSET = re.compile(r"(?:(\d{1,4})m\s*\+\s*)?(\d{1,4}(?:\.\d{1,9})?)")

Ratio = tuple[int, int] | None


class MusicWalk:
    """One walk through the music, which fills the parts of a draft."""

    def __init__(
        self, draft: Draft, staves: dict[str, tuple[int, int]], music: etree._Element
    ) -> None:
        self._draft, self._staves, self._music = draft, staves, music
        self._attached = attached_in(music)
        self._pending: list[tuple[int, Change]] = []
        self._metre: Fraction | None = None
        self._units: list[Fraction] = []
        self._losses: dict[str, None] = {}
        self._places: dict[str, tuple[int, Fraction, Fraction]] = {}
        self._controls: list[tuple[int, str, etree._Element]] = []
        self._unit = Fraction(1)
        self._repeats_next = False
        self._count = 0

    def walk(self, definition: etree._Element) -> None:
        """Everything, from the first definition on."""
        self._define(definition)
        self._sections(self._music, definition)
        for index, tag, element in self._controls:
            self._direct(index, tag, element)
        self._draft.losses += [*self._losses, *self._unread()]

    def _unread(self) -> Iterator[str]:
        if self._attached.without_pitch:
            yield WITHOUT_PITCH.format(self._attached.without_pitch)
        if self._attached.without_duration:
            yield WITHOUT_DURATION.format(self._attached.without_duration)

    def _sections(self, container: etree._Element, first: etree._Element) -> None:
        for tag, child in contents(container):
            if tag == "measure":
                self._measure(child)
            elif tag in ("scoreDef", "staffDef"):
                if child is not first:
                    self._define(child)
            elif tag == "ending":
                before = self._count
                self._sections(child, first)
                self._put_ending(child, before)
            elif tag in _SECTIONS:
                self._sections(child, first)

    def _define(self, definition: etree._Element) -> None:
        """Take the changes of a definition; they hold from the next measure on."""
        own = [d for d in definition.iter("{*}staffDef") if d is not definition]
        for element in (definition, *own):
            place = self._staves.get(element.get("n", "")) if element.tag.endswith("Def") else None
            is_one = element.tag.endswith("staffDef")
            if is_one and place is None:
                continue
            for change in changes_in(element, place[1] if place else 0):
                parts = [place[0]] if place else range(len(self._draft.parts))
                self._pending += [(part, change) for part in parts if change.clef is None or place]
                self._take_metre(change)

    def _take_metre(self, change: Change) -> None:
        if change.metre is None:
            return
        beats, unit = change.metre
        self._metre = None
        if beats:
            self._unit = Fraction(4, int(unit))
            self._metre = sum(map(int, beats.split("+"))) * self._unit

    def _measure(self, element: etree._Element) -> None:
        index, self._count = self._count, self._count + 1
        self._units.append(self._unit)
        left, right = barlines_of(element)
        if self._repeats_next and left is None:
            left = Barline(style="heavy-light", repeat="forward")
        self._repeats_next = element.get("right") == "rptboth"
        number = element.get("n") or str(index + 1)
        for part in self._draft.parts:
            part.measures.append(DraftMeasure(number=number, quarters=_START))
        for part_index, change in self._pending:
            self._draft.parts[part_index].measures[index].changes.append(change)
        self._pending.clear()
        for tag, child in contents(element):
            if tag == "staff":
                self._staff(child, index)
            elif tag in _DIRECTIONS:
                self._controls.append((index, tag, child))
            elif tag in _LEFT_OUT:
                self._losses[_LEFT_OUT[tag]] = None
        self._settle(index, element, left, right)

    def _settle(
        self, index: int, element: etree._Element, left: Barline | None, right: Barline | None
    ) -> None:
        measures = [part.measures[index] for part in self._draft.parts]
        ends = [e.onset + e.quarters for m in measures for es in m.voices.values() for e in es]
        quarters = max(ends, default=self._metre or _START)
        is_short = self._metre is not None and quarters < self._metre
        is_implicit = is_short and element.get("n") in (None, "0")
        for measure in measures:
            measure.quarters, measure.is_implicit = quarters, is_implicit
            measure.left, measure.right = _copy(left), _copy(right)
            measure.changes = _one_metre(measure.changes)

    def _staff(self, element: etree._Element, index: int) -> None:
        place = self._staves.get(element.get("n", ""))
        if place is None:
            self._losses[STAFF_UNDEFINED.format(shown(element.get("n")))] = None
            return
        part, staff = place
        measure = self._draft.parts[part].measures[index]
        voice = 0
        for tag, layer in contents(element):
            if tag != "layer":
                continue
            voice += 1
            reader = _Layer(self, measure, staff)
            before = self._draft.parts[part].measures[index - 1] if index else None
            reader.read(layer, before.voices.get((staff, voice)) if before else None)
            for event, ids in reader.events:
                for own in ids:
                    self._places[own] = index, event.onset, event.onset + event.quarters
            measure.voices[staff, voice] = beamed_as_given([event for event, _ in reader.events])

    def _put_ending(self, element: etree._Element, before: int) -> None:
        numbers = re.findall(r"\d{1,2}", element.get("n", "") or element.get("label", ""))
        if self._count == before:
            return
        number = ",".join(numbers) or "1"
        for part in self._draft.parts:
            first, last = part.measures[before], part.measures[self._count - 1]
            first.left = first.left or Barline()
            first.left.endings.append((number, "start"))
            last.right = last.right or Barline()
            last.right.endings.append((number, "stop"))

    def _direct(self, index: int, tag: str, element: etree._Element) -> None:
        """Put a direction where it stands; one that says nowhere stands at the measure's start."""
        numbers = element.get("staff", "").split()
        part, staff = self._staves.get(numbers[0] if numbers else "", (0, 1))
        start = element.get("startid", "").lstrip("#")
        at = self._places.get(start) or (index, self._beat(index, element.get("tstamp", "")), None)
        measures = self._draft.parts[part].measures
        for sign in signs_of(tag, element, at[1], staff):
            measures[at[0]].signs.append(sign)
            if sign.kind == "wedge":
                end = self._end(index, element)
                measures[end[0]].signs.append(sign._replace(onset=end[1], text="stop"))

    def _end(self, index: int, element: etree._Element) -> tuple[int, Fraction]:
        named = self._places.get(element.get("endid", "").lstrip("#"))
        if named is not None:
            return named[0], named[2]
        found = _FIELD_OF_ONSET.fullmatch(element.get("tstamp2", "").strip())
        last = len(self._units) - 1
        there = min(index + int(found[1] or 0), last) if found else index
        return there, self._beat(there, found[2] if found else "")

    def _beat(self, index: int, stamp: str) -> Fraction:
        """Quarters of a time stamp, which counts beats of the metre's unit from 1."""
        if not re.fullmatch(r"\d{1,4}(\.\d{1,9})?", stamp):
            return _START
        beat = (Fraction(stamp).limit_denominator(96) - 1) * self._units[index]
        return max(beat, _START)

    # What a layer asks for

    def whole_measure(self) -> Fraction:
        """Quarters of a full measure."""
        return self._metre or Fraction(4)

    def change(self, measure: DraftMeasure, change: Change) -> None:
        """Take a change met inside a layer."""
        measure.changes.append(change)
        self._take_metre(change)

    def event(self, tag: str, element: etree._Element, onset: Fraction, ratio: Ratio) -> Event:
        """A note, chord or rest."""
        return event_of(tag, element, onset, ratio, self._attached)

    def lose(self, tag: str) -> None:
        """Note what is left out."""
        if tag in _LEFT_OUT:
            self._losses[_LEFT_OUT[tag]] = None


class _Layer:
    """Reads one layer."""

    def __init__(self, walk: MusicWalk, measure: DraftMeasure, staff: int) -> None:
        self._walk, self._measure, self._staff = walk, measure, staff
        self._cursor = _START
        self.events: list[tuple[Event, list[str]]] = []

    def read(self, layer: etree._Element, before: list[Event] | None) -> None:
        """All of it; ``before`` is what the layer held in the measure before."""
        self._before = before
        self._take(layer, None)

    def _take(self, container: etree._Element, ratio: Ratio) -> None:
        for tag, child in contents(container):
            if tag in ("note", "chord", "rest"):
                self._event(tag, child, ratio)
            elif tag == "beam":
                first = len(self.events)
                self._take(child, ratio)
                self._beam(first)
            elif tag == "tuplet":
                self._take(child, _ratio(child, ratio))
            elif tag in ("space", "clef", "keySig", "meterSig", "mRest", "multiRest", "mSpace"):
                self._place(tag, child, ratio)
            elif tag == "mRpt":
                self.events += [(event, []) for event in self._before or ()]
            elif tag == "fTrem":
                self._tremolo(child, ratio)
            elif tag in ("graceGrp", "bTrem", "ligature"):
                self._take(child, ratio)
            else:
                self._walk.lose(tag)

    def _event(self, tag: str, element: etree._Element, ratio: Ratio) -> None:
        event = self._walk.event(tag, element, self._cursor, ratio)
        ids = [node.get(ID, "") for node in (element, *element.iter("{*}note"))]
        self.events.append((event, list(filter(None, ids))))
        self._cursor += event.quarters

    def _place(self, tag: str, element: etree._Element, ratio: Ratio) -> None:
        if tag == "space":
            self._cursor += duration_of(element, ratio)[0]
        elif tag in _CHANGES:
            for change in changes_in(element, self._staff):
                self._walk.change(self._measure, change._replace(onset=self._cursor))
        else:
            whole = self._walk.whole_measure()
            if tag != "mSpace":
                rest = Event(self._cursor, whole, is_whole_measure=True)
                self.events.append((rest, [element.get(ID)] if element.get(ID) else []))
            self._walk.lose(tag)

    def _beam(self, first: int) -> None:
        beamed = [i for i in range(first, len(self.events)) if not self.events[i][0].grace]
        beamed = [i for i in beamed if self.events[i][0].pitches] or beamed
        for index in range(beamed[0], beamed[-1] + 1) if len(beamed) > 1 else ():
            event, ids = self.events[index]
            is_edge = index in (beamed[0], beamed[-1])
            said = ("begin" if index == beamed[0] else "end") if is_edge else "continue"
            if not event.grace:
                self.events[index] = event._replace(beams=(said,)), ids

    def _tremolo(self, element: etree._Element, ratio: Ratio) -> None:
        """Two notes that share one duration, which both show."""
        first = len(self.events)
        self._take(element, ratio)
        cursor = self.events[first][0].onset if first < len(self.events) else self._cursor
        for index in range(first, len(self.events)):
            event, ids = self.events[index]
            half = event._replace(onset=cursor, quarters=event.quarters / 2, shape=None)
            self.events[index] = half, ids
            cursor += half.quarters
        self._cursor = cursor


def _ratio(tuplet: etree._Element, around: Ratio) -> Ratio:
    actual, normal = tuplet.get("num", "3"), tuplet.get("numbase", "2")
    if not (actual.isdecimal() and normal.isdecimal() and int(actual) and int(normal)):
        return around
    outer = around or (1, 1)
    return outer[0] * int(actual), outer[1] * int(normal)


def _copy(barline: Barline | None) -> Barline | None:
    return None if barline is None else Barline(style=barline.style, repeat=barline.repeat)


def _one_metre(changes: list[Change]) -> list[Change]:
    """Every staff says the metre; a part has it once."""
    kept: list[Change] = []
    for change in changes:
        twin = (c for c in kept if c.metre and change.metre and c.onset == change.onset)
        if next(twin, None) is None:
            kept.append(change)
    return kept
