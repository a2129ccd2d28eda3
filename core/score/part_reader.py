"""One part of a canonical score, measure by measure, into rows.

Conventions: onsets in rows are local to their measure, in ticks; they become onsets in the
score when all parts are read and the real lengths of the measures are known. Rows are tuples
in the order of the ``NoteRow`` and its like, since a score has tens of thousands of them and
this loop is what a person waits for when a score is brought in.

Source: MusicXML 4.0 (``note``, ``backup``, ``forward``, ``chord``, ``transpose``); MIDI 1.0
(middle C is 60).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from math import floor
from typing import NamedTuple

from lxml import etree

from core.errors import UnreadableFileError
from core.score.clock import (
    LONGEST_QUARTERS,
    FinerTicksNeeded,
    decimal,
    fractions_of,
    nominal_quarters,
)
from core.score.looks_like import EXPORT
from core.score.measure_signs import Signs
from core.score.note_table import STEPS, TIE_START, TIE_STOP, UNPITCHED
from core.score.printed_directions import kind_and_text, sign_type, words_of

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_TIE_BITS = {"start": TIE_START, "stop": TIE_STOP}
_MIDDLE_LINE = ("B", 4)
"""Where an unpitched note without a display position stands (MusicXML: the middle line)."""

Pitch = tuple[int, float, int, int]
"""Step, alter, octave, MIDI pitch as written."""
NoteRow = tuple[str, int, int, str, int, int, int, int, float, int, int, int, bool, bool]
"""Id, part, staff, voice, measure, onset, duration, then ``Pitch``, tie, is_grace, is_cue."""
RestRow = tuple[str, int, int, str, int, int, int, bool]
"""Id, part, staff, voice, measure, onset, duration, is_whole_measure."""


class DirectionRow(NamedTuple):
    """A direction with an onset local to its measure."""

    id: str
    measure: int
    onset: int
    part: int
    staff: int
    kind: str
    text: str
    placement: str | None
    sign_type: str


class TimeInForce(NamedTuple):
    """The time signature as printed, and ticks of a full measure; None for either without one."""

    signature: str | None
    nominal: int | None


@dataclass(slots=True)
class Gathered:
    """What all parts of a score give, growing while they are read."""

    name: str
    ticks_per_quarter: int
    notes: list[NoteRow] = field(default_factory=list)
    rests: list[RestRow] = field(default_factory=list)
    directions: list[DirectionRow] = field(default_factory=list)
    extents: list[int] = field(default_factory=list)
    signs: Signs = field(default_factory=Signs)
    oddities: list[str] = field(default_factory=list)


class PartReader:
    """Reads one part; afterwards holds its signatures, measure by measure."""

    def __init__(self, gathered: Gathered, *, part: int, first_staff: int) -> None:
        self.gathered = gathered
        self.part, self.first_staff = part, first_staff
        self.staves = 1
        self.times: list[TimeInForce] = []
        self.fifths: list[int | None] = []
        self.has_time = self.has_key = False
        self._time, self._key = TimeInForce(None, None), None
        self._pending: tuple[TimeInForce, int | None] | None = None
        self._divisions = Fraction(1)
        self._ticks: dict[str | None, int] = {}
        self._pitches: dict[tuple[str | None, str | None, str | None], Pitch] = {}
        self._transposition: dict[int, int] = {}
        self._measure_index, self._number = 0, ""

    def read(self, part: etree._Element) -> None:
        """Take in the part's measures."""
        extents = self.gathered.extents
        for index, measure in enumerate(part.iterchildren("measure")):
            self._measure_index, self._number = index, measure.get("number", "?")
            self.times.append(self._time)
            self.fifths.append(self._key)
            extent = self._read_measure(measure)
            if index == len(extents):
                extents.append(extent)
            elif extent > extents[index]:
                extents[index] = extent

    def _read_measure(self, measure: etree._Element) -> int:
        """Take in a measure.

        Returns
        -------
        int
            Ticks from its start to the farthest point its content reaches.
        """
        cursor = extent = 0
        chord_onset: int | None = None
        after_move = False
        for element in measure:
            tag = element.tag
            if tag == "note":
                onset, length, is_chord = self._read_note(element, cursor, chord_onset)
                if is_chord and after_move:
                    self._odd("a chord note follows a jump in time; it joins the note before.")
                if not is_chord:
                    chord_onset, cursor = onset, onset + length
                after_move = False
                extent = max(extent, onset + length)
            elif tag == "backup" or tag == "forward":
                cursor = self._moved(element, cursor)
                extent = max(extent, cursor)
                after_move = True
            else:
                self._read_rest_of_measure(tag, element, cursor)
        return extent

    def _moved(self, element: etree._Element, cursor: int) -> int:
        length = self._ticks_of(element.findtext("duration"), element)
        if element.tag == "forward":
            return cursor + length
        if length > cursor:
            self._odd("a backup reaches before the measure; it is read as to its start.")
            return 0
        return cursor - length

    def _read_rest_of_measure(self, tag: str, element: etree._Element, cursor: int) -> None:
        signs, index = self.gathered.signs, self._measure_index
        if tag == "direction":
            self._read_direction(element, cursor)
        elif tag == "attributes":
            self._read_attributes(element, cursor)
        elif tag == "barline":
            signs.read_barline(element, index, cursor)
        elif tag == "sound":
            signs.read_sound(element, index)

    # -- notes ------------------------------------------------------------------------------

    def _read_note(
        self, note: etree._Element, cursor: int, chord_onset: int | None
    ) -> tuple[int, int, bool]:
        """Add the row of a note or rest.

        One flat loop over its children: asking for each child by name takes four times as long.

        Returns
        -------
        onset, duration : int
        is_chord : bool
        """
        pitch = rest = unpitched = length = None
        voice, staff, tie = "1", 1, 0
        is_chord = is_grace = is_cue = False
        for child in note:
            tag = child.tag
            if tag == "pitch":
                pitch = child
            elif tag == "duration":
                length = self._ticks.get(child.text)
                if length is None:
                    length = self._ticks_of(child.text, child)
            elif tag == "voice":
                voice = child.text or voice
            elif tag == "staff":
                staff = self._staff_of(child.text)
            elif tag == "chord":
                is_chord = chord_onset is not None
            elif tag == "rest":
                rest = child
            elif tag == "tie":
                tie |= _TIE_BITS.get(child.get("type", ""), 0)
            elif tag == "grace":
                is_grace = True
            elif tag == "cue":
                is_cue = True
            elif tag == "unpitched":
                unpitched = child
        if length is None or is_grace:
            length = self._length_without_duration(rest, is_grace)
        onset = chord_onset if is_chord and chord_onset is not None else cursor
        note_id, part, index = note.get("id", ""), self.part, self._measure_index
        whole_staff = self.first_staff + staff - 1
        if pitch is not None:
            spelled = self._pitch_of(pitch, staff)
        elif unpitched is not None:
            spelled = self._display_pitch(unpitched)
        else:
            if rest is None:
                self._odd("a note has neither pitch nor rest; it is read as a rest.")
            is_whole = rest is not None and rest.get("measure") == "yes"
            self.gathered.rests.append(
                (note_id, part, whole_staff, voice, index, onset, length, is_whole)
            )
            return onset, length, is_chord
        self.gathered.notes.append(
            (note_id, part, whole_staff, voice, index, onset, length, *spelled, tie, is_grace, is_cue)
        )  # fmt: skip
        return onset, length, is_chord

    def _length_without_duration(self, rest: etree._Element | None, is_grace: bool) -> int:
        if is_grace:
            return 0
        if rest is not None and rest.get("measure") == "yes" and self._time.nominal:
            return self._time.nominal
        self._odd("a note without a duration is read as lasting no time.")
        return 0

    def _pitch_of(self, pitch: etree._Element, staff: int) -> Pitch:
        step = alter = octave = None
        for child in pitch:
            tag = child.tag
            if tag == "step":
                step = child.text
            elif tag == "octave":
                octave = child.text
            elif tag == "alter":
                alter = child.text
        spelled = self._pitches.get((step, alter, octave))
        if spelled is None:
            spelled = self._spelled(step, alter, octave, pitch)
            self._pitches[step, alter, octave] = spelled
        if self._transposition:
            moved = self._transposition.get(staff, self._transposition.get(0, 0))
            return (*spelled[:3], self._in_midi_range(spelled[3] + moved))
        return spelled

    def _spelled(
        self, step: str | None, alter: str | None, octave: str | None, pitch: etree._Element
    ) -> Pitch:
        letter = (step or "").strip()
        semitones = decimal(alter) if alter and alter.strip() else Fraction(0)
        height = decimal(octave)
        if letter not in _SEMITONES or semitones is None or height is None:
            self._fail(f"a pitch ({letter or 'no step'}, octave {octave}) can't be read", pitch)
        if height.denominator != 1 or not -1 <= height <= 10 or abs(semitones) > 12:
            self._fail(f"a pitch ({letter}, octave {octave}, alter {alter}) is out of reach", pitch)
        written = 12 * (int(height) + 1) + _SEMITONES[letter] + floor(semitones + Fraction(1, 2))
        midi_pitch = written if self._transposition else self._in_midi_range(written)
        return STEPS.index(letter), float(semitones), int(height), midi_pitch

    def _in_midi_range(self, midi_pitch: int) -> int:
        if 0 <= midi_pitch <= 127:
            return midi_pitch
        self._odd("a pitch lies outside MIDI's range; it is brought in by octaves.")
        return midi_pitch % 12 + (0 if midi_pitch < 0 else 108)

    def _display_pitch(self, unpitched: etree._Element) -> Pitch:
        step = (unpitched.findtext("display-step") or "").strip()
        octave = decimal(unpitched.findtext("display-octave"))
        if step not in _SEMITONES or octave is None or octave.denominator != 1:
            step, octave = _MIDDLE_LINE[0], Fraction(_MIDDLE_LINE[1])
        return STEPS.index(step), 0.0, int(octave), UNPITCHED

    # -- what stands between notes ----------------------------------------------------------

    def _read_attributes(self, attributes: etree._Element, cursor: int) -> None:
        for child in attributes:
            tag = child.tag
            if tag == "divisions":
                self._set_divisions(child)
            elif tag == "time":
                self._set_time(child, cursor)
            elif tag == "key":
                self._set_key(child, cursor)
            elif tag == "staves":
                self._staff_of(child.text)
            elif tag == "transpose":
                self._set_transposition(child)

    def _set_divisions(self, element: etree._Element) -> None:
        divisions = decimal(element.text)
        if divisions is None or divisions <= 0:
            self._fail(f"the divisions of the quarter note are {element.text!r}", element)
        if divisions != self._divisions:
            self._divisions = divisions
            self._ticks = {}

    def _set_time(self, time: etree._Element, cursor: int) -> None:
        if int(time.get("number") or 1) != 1:
            return
        self.has_time = True
        quarters = nominal_quarters(time)
        pairs = [f"{'+'.join(beats)}/{beat_type}" for beats, beat_type in fractions_of(time)]
        if quarters:
            self._time = TimeInForce("+".join(pairs), int(quarters * self._tpq))
        else:
            self._time = TimeInForce(None, None)
        if cursor == 0:
            self.times[-1] = self._time

    def _set_key(self, key: etree._Element, cursor: int) -> None:
        if (key.get("number") or "1") != "1":
            return
        fifths = decimal(key.findtext("fifths"))
        is_whole = fifths is not None and fifths.denominator == 1 and abs(fifths) < 15
        self._key = int(fifths) if fifths is not None and is_whole else None
        self.has_key |= self._key is not None
        if cursor == 0:
            self.fifths[-1] = self._key

    def _set_transposition(self, transpose: etree._Element) -> None:
        chromatic = decimal(transpose.findtext("chromatic")) or 0
        octaves = decimal(transpose.findtext("octave-change")) or 0
        staff = decimal(transpose.get("number")) or 0
        self._transposition[int(staff)] = int(chromatic + 12 * octaves)

    def _read_direction(self, direction: etree._Element, cursor: int) -> None:
        index, signs = self._measure_index, self.gathered.signs
        kind, text = kind_and_text(direction)
        staff = self._staff_of(direction.findtext("staff") or "1")
        onset = cursor
        if (offset := direction.find("offset")) is not None:
            onset += self._ticks_of(offset.text, offset, is_signed=True)
        self.gathered.directions.append(
            DirectionRow(
                direction.get("id", ""),
                index,
                onset,
                self.part,
                self.first_staff + staff - 1,
                kind,
                text,
                direction.get("placement"),
                sign_type(direction),
            )
        )
        if kind == "segno":
            signs.at(index).has_segno = True
        elif kind == "coda":
            signs.at(index).has_bare_coda_sign = True
        if words := words_of(direction):
            signs.read_words(words, index)
        if (sound := direction.find("sound")) is not None:
            signs.read_sound(sound, index)

    # -- numbers ----------------------------------------------------------------------------

    @property
    def _tpq(self) -> int:
        return self.gathered.ticks_per_quarter

    def _ticks_of(
        self, text: str | None, element: etree._Element, *, is_signed: bool = False
    ) -> int:
        known = self._ticks.get(text)
        if known is not None:
            return known
        length = decimal(text)
        if length is None:
            self._fail(f"a duration is {text!r}, not a number", element)
        quarters = length / self._divisions
        if abs(quarters) > LONGEST_QUARTERS:
            self._fail(f"a duration of {text} can't be meant", element)
        ticks = quarters * self._tpq
        if ticks.denominator != 1:
            raise FinerTicksNeeded
        if is_signed:
            return int(ticks)
        if ticks < 0:
            self._odd("a negative duration is read as none.")
            return 0
        self._ticks[text] = int(ticks)
        return int(ticks)

    def _staff_of(self, text: str | None) -> int:
        staff = (text or "").strip()
        number = int(staff) if staff.isdecimal() and len(staff) < 4 else 0
        if number < 1:
            self._odd(f"a staff is {staff!r}; it is read as 1.")
            return 1
        self.staves = max(self.staves, number)
        return number

    def _odd(self, sentence: str) -> None:
        self.gathered.oddities.append(f"Measure {self._number}, part P{self.part + 1}: {sentence}")

    def _fail(self, what: str, element: etree._Element) -> None:
        place = f"measure {self._number} of part P{self.part + 1}"
        if element.sourceline:
            place += f", line {element.sourceline}"
        reason = f"{what[0].upper()}{what[1:]}. {EXPORT}"
        raise UnreadableFileError(self.gathered.name, reason, place)
