"""A draft written out as MusicXML.

Conventions: text is put together and parsed once, which is several times as fast as building a
tree. One number of divisions for the whole score. Each staff has numbers for four voices at
least, so that voice 5 begins staff 2, as is usual. The first voice of a measure carries the
measure's signs and changes.

Source: MusicXML 4.0 (W3C Community Group, 2021), order of elements by its schema.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from math import lcm

from core.score.formats.accidentals import alterations_of, printed_accidentals
from core.score.formats.drafts import Change, Draft, DraftMeasure, DraftPart, Event, Sign
from core.score.formats.note_shapes import Shape, pieces_of, shape_of
from core.score.formats.note_writer import note_text
from core.score.formats.sign_writer import attributes_text, barline_text, sign_text
from core.score.formats.told import GUESSED, LEFT_OUT
from core.score.formats.tuplets import brackets_of
from core.score.formats.xml_text import xml_text

_LEAST_VOICES = 4
_START = Fraction(0)
_Accidentals = Mapping[tuple[int, int], str]


def written_out(draft: Draft) -> bytes:
    """The draft as partwise MusicXML 4.0 in UTF-8, without ids."""
    divisions = _divisions(draft)
    text = ['<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">']
    if draft.title:
        text.append(f"<movement-title>{xml_text(draft.title)}</movement-title>")
    text.append(_identification(draft))
    text.append("\n<part-list>")
    for number, part in enumerate(draft.parts, 1):
        name = f"<part-name>{xml_text(part.name)}</part-name>"
        text.append(f'<score-part id="P{number}">{name}</score-part>')
    text.append("</part-list>\n")
    for number, part in enumerate(draft.parts, 1):
        text.append(f'<part id="P{number}">\n')
        text += _PartWriter(part, divisions).measures()
        text.append("</part>\n")
    text.append("</score-partwise>\n")
    return "".join(text).encode("utf-8")


def _identification(draft: Draft) -> str:
    told = [(GUESSED, text) for text in draft.guesses] + [(LEFT_OUT, t) for t in draft.losses]
    fields = "".join(
        f'<miscellaneous-field name="{name}">{xml_text(text)}</miscellaneous-field>'
        for name, text in told
    )
    composer = xml_text(draft.composer)
    inside = f'<creator type="composer">{composer}</creator>' if composer else ""
    inside += "<encoding><software>Postil</software></encoding>"
    inside += f"<miscellaneous>{fields}</miscellaneous>" if fields else ""
    return f"<identification>{inside}</identification>"


def _divisions(draft: Draft) -> int:
    denominators = {1}
    for part in draft.parts:
        for measure in part.measures:
            denominators.add(measure.quarters.denominator)
            denominators.update(change.onset.denominator for change in measure.changes)
            denominators.update(sign.onset.denominator for sign in measure.signs)
            for events in measure.voices.values():
                for event in events:
                    denominators.add(event.onset.denominator)
                    denominators.add(event.quarters.denominator)
    return lcm(*denominators)


class _PartWriter:
    """Writes one part, measure by measure."""

    def __init__(self, part: DraftPart, divisions: int) -> None:
        self._part, self._divisions = part, divisions
        most = max((voice for m in part.measures for _, voice in m.voices), default=1)
        self._voices_a_staff = max(most, _LEAST_VOICES)
        self._keys = {staff: alterations_of(0) for staff in range(1, part.staves + 1)}
        self._out: list[str] = []
        self._cursor = _START
        self._ticks: dict[Fraction, int] = {}

    def measures(self) -> Iterator[str]:
        """The text of all measures, in pieces."""
        for index, measure in enumerate(self._part.measures):
            implicit = ' implicit="yes"' if measure.is_implicit else ""
            yield f'<measure number="{xml_text(measure.number)}"{implicit}>'
            yield barline_text("left", measure.left)
            yield self._attributes(measure, is_first=index == 0)
            self._write(measure)
            yield from self._out
            self._out.clear()
            yield barline_text("right", measure.right)
            yield "</measure>\n"

    def _attributes(self, measure: DraftMeasure, *, is_first: bool) -> str:
        changes = [change for change in measure.changes if change.onset == 0]
        if not is_first:
            return attributes_text(changes)
        return attributes_text(
            changes,
            divisions=self._divisions,
            staves=self._part.staves,
            transposition=self._part.transposition,
        )

    def _write(self, measure: DraftMeasure) -> None:
        self._cursor = _START
        self._take_keys(change for change in measure.changes if change.onset == 0)
        accidentals: dict[tuple[int, int], str] = {}
        for staff, key in self._keys.items():
            of_staff = [events for place, events in measure.voices.items() if place[0] == staff]
            accidentals |= printed_accidentals(of_staff, key)
        changes = deque(change for change in measure.changes if change.onset > 0)
        self._take_keys(changes)
        signs = deque(sorted(measure.signs, key=lambda sign: sign.onset))
        places = sorted(place for place, events in measure.voices.items() if events)
        for place in places:
            self._move_to(_START)
            self._voice(measure.voices[place], place, accidentals, changes, signs)
        self._stand_before(None, changes, signs)
        if not places:
            self._move_to(measure.quarters)

    def _take_keys(self, changes: Iterable[Change]) -> None:
        for change in changes:
            if change.key is not None:
                for staff in [change.staff] if change.staff else list(self._keys):
                    self._keys[staff] = alterations_of(change.key[0])

    def _voice(
        self,
        events: list[Event],
        place: tuple[int, int],
        accidentals: _Accidentals,
        changes: deque[Change],
        signs: deque[Sign],
    ) -> None:
        staff, voice = place
        places = (
            f"<voice>{(staff - 1) * self._voices_a_staff + voice}</voice>",
            f"<staff>{staff}</staff>" if self._part.staves > 1 else "",
        )
        notes, printed = _single_notes(events, accidentals)
        brackets = brackets_of(notes) if any(s and s[2] for _, s in notes) else [0] * len(notes)
        for index, (event, shape) in enumerate(notes):
            if event.onset != self._cursor:
                self._move_to(event.onset)
            if changes or signs:
                self._stand_before(event.onset, changes, signs)
            self._out.append(
                note_text(
                    event,
                    shape,
                    ticks=self._in_ticks(event.quarters),
                    bracket=brackets[index],
                    accidentals=printed.get(index, {}),
                    places=places,
                )
            )
            self._cursor += event.quarters
        self._stand_before(None, changes, signs)

    def _stand_before(
        self, onset: Fraction | None, changes: deque[Change], signs: deque[Sign]
    ) -> None:
        """Write what stands before an onset, or all that is left."""
        while changes and (onset is None or changes[0].onset <= onset):
            here, change = self._cursor, changes.popleft()
            self._move_to(change.onset)
            self._out.append(attributes_text([change]))
            self._move_to(here)
        while signs and (onset is None or signs[0].onset <= onset):
            sign = signs.popleft()
            offset = (sign.onset - self._cursor) * self._divisions
            self._out.append(sign_text(sign, offset, staves=self._part.staves))

    def _move_to(self, onset: Fraction) -> None:
        ticks = (onset - self._cursor) * self._divisions
        if ticks:
            tag = "forward" if ticks > 0 else "backup"
            self._out.append(f"<{tag}><duration>{abs(ticks)}</duration></{tag}>")
            self._cursor = onset

    def _in_ticks(self, quarters: Fraction) -> int:
        ticks = self._ticks.get(quarters)
        if ticks is None:
            ticks = self._ticks[quarters] = int(quarters * self._divisions)
        return ticks


def _single_notes(
    events: list[Event], accidentals: _Accidentals
) -> tuple[list[tuple[Event, Shape | None]], dict[int, dict[int, str]]]:
    """Events that are one note each, with their shapes; and what accidentals each prints."""
    notes: list[tuple[Event, Shape | None]] = []
    printed: dict[int, dict[int, str]] = {}
    for event in events:
        if accidentals:
            of_event = (((id(event), i), i) for i in range(len(event.pitches)))
            printed[len(notes)] = {i: accidentals[key] for key, i in of_event if key in accidentals}
        shape = event.shape or shape_of(event.quarters)
        if shape is not None or event.quarters <= 0 or event.is_whole_measure:
            notes.append((event, shape))
        else:
            notes += [(piece, shape_of(piece.quarters)) for piece in _tied_pieces(event)]
    return notes, printed


def _tied_pieces(event: Event) -> Iterator[Event]:
    """A note whose duration takes several, as tied ones; what it bears stays with the first."""
    lengths = pieces_of(event.onset, event.quarters)
    onset = event.onset
    for index, length in enumerate(lengths):
        before, after = index > 0, index < len(lengths) - 1
        pitches = tuple(p._replace(tie=_tie_within(p.tie, before, after)) for p in event.pitches)
        piece = event._replace(onset=onset, quarters=length, pitches=pitches, beams=())
        yield piece if index == 0 else piece._replace(marks=(), slurs=(), lyrics=())
        onset += length


def _tie_within(tie: str, before: bool, after: bool) -> str:
    stops = before or tie in ("stop", "continue")
    starts = after or tie in ("start", "continue")
    if stops and starts:
        return "continue"
    return "start" if starts else "stop" if stops else ""
