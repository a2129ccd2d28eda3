"""One part of a canonical score, measure by measure, into rows.

Source: MusicXML 4.0 (``note``, ``backup``, ``forward``, ``chord``, ``transpose``); MIDI 1.0
(middle C is 60).
"""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import NoReturn

from lxml import etree

from core.errors import UnreadableFileError
from core.score.clock import (
    LONGEST_QUARTERS,
    FinerTicksError,
    decimal,
    fractions_of,
    nominal_quarters,
)
from core.score.gathered import CUE, GRACE, DirectionRow, Gathered, Pitch, TimeInForce
from core.score.looks_like import EXPORT
from core.score.note_table import STEPS, TIE_START, TIE_STOP, UNPITCHED
from core.score.printed_directions import kind_and_text, sign_type, squeezed, words_of

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_TIE_BITS = {"start": TIE_START, "stop": TIE_STOP}
_MIDDLE_LINE = ("B", 4)
"""Where an unpitched note without a display position stands (MusicXML: the middle line)."""


class PartReader:
    """Reads one part; afterwards holds its signatures, measure by measure."""

    def __init__(self, gathered: Gathered, *, part: int, first_staff: int) -> None:
        self.gathered = gathered
        self.part, self.first_staff = part, first_staff
        self.staves = 1
        self.times: list[TimeInForce] = []
        self.fifths: list[int | None] = []
        self.has_time = self.has_key = False
        self._time = TimeInForce(None, None)
        self._key: int | None = None
        self._divisions = Fraction(1)
        self._transposition: dict[int, int] = {}
        self._measure_index, self._number = 0, ""
        # What was seen before, by its text in the file: most notes repeat one of a few.
        self._ticks: dict[str | None, int] = {}
        self._staves: dict[str | None, int] = {}
        self._pitches: dict[tuple[tuple[str | None, ...], int], int] = {}

    def read(self, part: etree._Element) -> None:
        """Take in the part's measures.

        Raises
        ------
        UnreadableFileError
            A number of the file can't be read; it names measure and line.
        FinerTicksError
            A duration is no whole number of ticks.
        """
        extents, before = self.gathered.extents, len(self.gathered.notes)
        for index, measure in enumerate(part.iterchildren("measure")):
            self._measure_index, self._number = index, measure.get("number", "?")
            self.times.append(self._time)
            self.fifths.append(self._key)
            extent = self._read_measure(measure)
            if index == len(extents):
                extents.append(extent)
            elif extent > extents[index]:
                extents[index] = extent
        self.gathered.notes_by_part.append(len(self.gathered.notes) - before)

    def _read_measure(self, measure: etree._Element) -> int:  # noqa: C901, PLR0912, PLR0915
        """Take in a measure.

        One long loop, flat and without calls where nothing is out of the ordinary: a person
        waits for it, and taken apart into functions it takes twice as long.

        Returns
        -------
        int
            Ticks from its start to the farthest point its content reaches.
        """
        ticks, staves, pitches = self._ticks, self._staves, self._pitches
        index, add_note = self._measure_index, self.gathered.notes.append
        cursor = extent = 0
        chord_onset, is_after_jump = -1, False
        voice, staff = "1", self.first_staff
        for element in measure:
            tag = element.tag
            if tag != "note":
                if tag == "backup" or tag == "forward":
                    cursor = self._jumped(element, cursor)
                    extent, is_after_jump = max(extent, cursor), True
                else:
                    self._read_between(tag, element, cursor)
                continue
            pitch = length = own_voice = own_staff = unpitched = rest = None
            is_chord, flags = False, 0
            for child in element:
                tag = child.tag
                if tag == "pitch":
                    # Step, alter, octave come in that order: their texts tell pitches apart.
                    pitch, pitch_texts = child, tuple([part.text for part in child])
                elif tag == "duration":
                    text = child.text
                    length = ticks[text] if text in ticks else self._ticks_of(text, child)
                elif tag == "voice":
                    own_voice = child.text
                elif tag == "staff":
                    text = child.text
                    own_staff = staves[text] if text in staves else self._staff_of(text)
                elif tag == "type" or tag == "beam" or tag == "notations" or tag == "stem":
                    pass  # the most frequent, met here so that they cost no more questions
                elif tag == "chord":
                    is_chord = chord_onset >= 0
                elif tag == "rest":
                    rest = child
                elif tag == "tie":
                    flags |= _TIE_BITS.get(child.get("type", ""), 0)
                elif tag == "grace":
                    flags |= GRACE
                elif tag == "cue":
                    flags |= CUE
                elif tag == "unpitched":
                    unpitched = child
            if length is None or flags & GRACE:
                length = self._length_without_duration(rest, flags)
            if is_chord:
                onset, staff, voice = chord_onset, own_staff or staff, own_voice or voice
                if is_after_jump:
                    self._odd("a chord note follows a jump in time; it joins the note before.")
            else:
                onset = chord_onset = cursor
                staff, voice = own_staff or self.first_staff, own_voice or "1"
                cursor += length
            is_after_jump = False
            if onset + length > extent:
                extent = onset + length
            if pitch is not None:
                known = pitches.get((pitch_texts, staff), -1)
                if known < 0:
                    known = pitches[pitch_texts, staff] = self._pitch_of(pitch, staff)
            elif unpitched is not None:
                known = self._display_pitch(unpitched)
            else:
                self._add_rest(element, rest, (staff, voice, onset, length))
                continue
            add_note((element.get("id", ""), staff, voice, index, onset, length, known, flags))
        return extent

    def _jumped(self, element: etree._Element, cursor: int) -> int:
        length = self._ticks_of(element.findtext("duration"), element)
        if element.tag == "forward":
            return cursor + length
        if length > cursor:
            self._odd("a backup reaches before the measure; it is read as to its start.")
            return 0
        return cursor - length

    # -- notes out of the ordinary, and what is met for the first time ----------------------

    def _length_without_duration(self, rest: etree._Element | None, flags: int) -> int:
        if flags & GRACE:
            return 0
        if rest is not None and rest.get("measure") == "yes" and self._time.nominal:
            return self._time.nominal
        self._odd("a note without a duration is read as lasting no time.")
        return 0

    def _add_rest(
        self, note: etree._Element, rest: etree._Element | None, where: tuple[int, str, int, int]
    ) -> None:
        staff, voice, onset, length = where
        is_whole = rest is not None and rest.get("measure") == "yes"
        if rest is None:
            self._odd("a note has neither pitch nor rest; it is read as a rest.")
        note_id, index = note.get("id", ""), self._measure_index
        self.gathered.rests.append(
            (note_id, self.part, staff, voice, index, onset, length, is_whole)
        )

    def _pitch_of(self, pitch: etree._Element, staff: int) -> int:
        step, semitones, octave = self._spelled(pitch)
        local_staff = staff - self.first_staff + 1
        moved = self._transposition.get(local_staff, self._transposition.get(0, 0))
        midi_pitch = 12 * (octave + 1) + _SEMITONES[step] + floor(semitones + Fraction(1, 2))
        return self._numbered(
            (STEPS.index(step), float(semitones), octave, self._in_midi_range(midi_pitch + moved))
        )

    def _spelled(self, pitch: etree._Element) -> tuple[str, Fraction, int]:
        step = squeezed(pitch.findtext("step"))
        alter, octave = pitch.findtext("alter"), pitch.findtext("octave")
        semitones = decimal(alter) if alter and alter.strip() else Fraction(0)
        height = decimal(octave)
        if step not in _SEMITONES or semitones is None or height is None:
            self._fail(f"a pitch ({step or 'no step'}, octave {octave}) can't be read", pitch)
        if height.denominator != 1 or not -1 <= height <= 10 or abs(semitones) > 12:
            self._fail(f"a pitch ({step}, octave {octave}, alter {alter}) can't be meant", pitch)
        return step, semitones, int(height)

    def _in_midi_range(self, midi_pitch: int) -> int:
        if 0 <= midi_pitch <= 127:
            return midi_pitch
        self._odd("a pitch lies outside MIDI's range; it is brought in by octaves.")
        highest = midi_pitch % 12 + 120
        return midi_pitch % 12 if midi_pitch < 0 else highest - 12 * (highest > 127)

    def _display_pitch(self, unpitched: etree._Element) -> int:
        step = squeezed(unpitched.findtext("display-step"))
        octave = decimal(unpitched.findtext("display-octave"))
        if step not in _SEMITONES or octave is None or not 0 <= octave <= 9:
            step, octave = _MIDDLE_LINE[0], Fraction(_MIDDLE_LINE[1])
        return self._numbered((STEPS.index(step), 0.0, int(octave), UNPITCHED))

    def _numbered(self, pitch: Pitch) -> int:
        return self.gathered.pitches.setdefault(pitch, len(self.gathered.pitches))

    # -- what stands between notes ----------------------------------------------------------

    def _read_between(self, tag: str, element: etree._Element, cursor: int) -> None:
        signs, index = self.gathered.signs, self._measure_index
        if tag == "direction":
            self._read_direction(element, cursor)
        elif tag == "attributes":
            self._read_attributes(element, cursor)
        elif tag == "barline":
            signs.read_barline(element, index, cursor)
        elif tag == "sound":
            signs.read_sound(element, index)

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
            self._fail(f"the quarter note has {element.text!r} divisions", element)
        if divisions != self._divisions:
            self._divisions = divisions
            self._ticks.clear()

    def _set_time(self, time: etree._Element, cursor: int) -> None:
        if time.get("number", "1").strip() != "1":
            return
        self.has_time = True
        quarters = nominal_quarters(time)
        pairs = [f"{'+'.join(beats)}/{beat_type}" for beats, beat_type in fractions_of(time)]
        if quarters:
            nominal = int(quarters * self.gathered.ticks_per_quarter)
            self._time = TimeInForce("+".join(pairs), nominal)
        else:
            self._time = TimeInForce(None, None)
        if cursor == 0:
            self.times[-1] = self._time

    def _set_key(self, key: etree._Element, cursor: int) -> None:
        if key.get("number", "1").strip() != "1":
            return
        fifths = decimal(key.findtext("fifths"))
        is_usual = fifths is not None and fifths.denominator == 1 and abs(fifths) < 15
        self._key = int(fifths) if fifths is not None and is_usual else None
        self.has_key |= self._key is not None
        if cursor == 0:
            self.fifths[-1] = self._key

    def _set_transposition(self, transpose: etree._Element) -> None:
        chromatic = decimal(transpose.findtext("chromatic")) or 0
        octaves = decimal(transpose.findtext("octave-change")) or 0
        staff = decimal(transpose.get("number")) or 0
        self._transposition[int(staff)] = int(chromatic + 12 * octaves)
        self._pitches.clear()

    def _read_direction(self, direction: etree._Element, cursor: int) -> None:
        index, signs = self._measure_index, self.gathered.signs
        kind, text = kind_and_text(direction)
        onset = cursor
        if (offset := direction.find("offset")) is not None:
            onset += self._ticks_of(offset.text, offset, is_signed=True)
        self.gathered.directions.append(
            DirectionRow(
                id=direction.get("id", ""),
                measure=index,
                onset=onset,
                part=self.part,
                staff=self._staff_of(direction.findtext("staff") or "1"),
                kind=kind,
                text=text,
                placement=direction.get("placement"),
                sign_type=sign_type(direction),
            )
        )
        if kind == "segno":
            signs.at(index).has_segno = True
        elif kind == "coda":
            signs.at(index).has_bare_coda_sign = True
        if kind == "words":
            signs.read_words(words_of(direction), index)
        if (sound := direction.find("sound")) is not None:
            signs.read_sound(sound, index)

    # -- numbers ----------------------------------------------------------------------------

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
        ticks = quarters * self.gathered.ticks_per_quarter
        if ticks.denominator != 1:
            raise FinerTicksError
        if ticks < 0 and is_signed:
            return int(ticks)
        if ticks < 0:
            self._odd("a negative duration is read as none.")
            return 0
        self._ticks[text] = int(ticks)
        return int(ticks)

    def _staff_of(self, text: str | None) -> int:
        """A staff's number in the whole score."""
        known = self._staves.get(text)
        if known is None:
            known = self._staves[text] = self.first_staff - 1 + self._local_staff(text)
        return known

    def _local_staff(self, text: str | None) -> int:
        staff = (text or "").strip()
        number = int(staff) if staff.isdecimal() and len(staff) < 4 else 0
        if number < 1:
            self._odd(f"a staff is {staff!r}; it is read as 1.")
            return 1
        self.staves = max(self.staves, number)
        return number

    def _odd(self, sentence: str) -> None:
        self.gathered.oddities.append(f"Measure {self._number}, part P{self.part + 1}: {sentence}")

    def _fail(self, what: str, element: etree._Element) -> NoReturn:
        place = f"measure {self._number} of part P{self.part + 1}"
        if element.sourceline:
            place += f", line {element.sourceline}"
        reason = f"{what[0].upper()}{what[1:]}. {EXPORT}"
        raise UnreadableFileError(self.gathered.name, reason, place)
