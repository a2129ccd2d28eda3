"""What is written at each note: staff, voice, pitch, tie.

Conventions: all columns have the shape (events,); only those of notes mean something. A chord
note without staff or voice has those of the note it joins. ``step``, ``alter``, ``octave``
spell what is written; the MIDI pitch sounds, with the part's transposition.

Source: MusicXML 4.0 (``note``, ``pitch``, ``unpitched``, ``transpose``); MIDI 1.0 (middle C is
60).
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.score.attribute_changes import AttributeChanges
from core.score.clock import decimal
from core.score.events import Events, Indices, Mask, UnreadableTextError
from core.score.note_table import STEPS, TIE_START, TIE_STOP, UNPITCHED
from core.score.quoting import shown

_SEMITONES = np.array([0, 2, 4, 5, 7, 9, 11])
_TIE_BITS = {"start": TIE_START, "stop": TIE_STOP, "continue": TIE_START | TIE_STOP}
_MIDDLE_LINE = (STEPS.index("B"), 4)
"""Where an unpitched note without a display position stands (MusicXML: the middle line)."""
_MIDI_END = 128


class Pitches(NamedTuple):
    """Spelling and sound of the events, shape (events,) each."""

    is_pitched: Mask
    is_unpitched: Mask
    step: Indices
    alter: NDArray[np.float64]
    octave: Indices
    midi_pitch: Indices


def read_staves(events: Events, leads: Indices, oddities: list[str]) -> Indices:
    """Staff within the part, from 1, shape (events,)."""
    staves = np.zeros(len(events), dtype=np.int64)
    owners, numbers = events.details("staff", _staff)
    staves[owners] = numbers
    odd = owners[np.array(numbers, dtype=np.int64) == 0]
    oddities += events.told(odd, "a staff that is no number is read as 1.")
    staves = np.where(staves == 0, staves[leads], staves)
    return np.maximum(staves, 1)


def read_voices(events: Events, leads: Indices) -> tuple[Indices, list[str]]:
    """Index of each event's voice, shape (events,), and the names of all voices."""
    owners, found = events.details("voice", lambda text: (text or "").strip() or "1")
    names = ["1", *dict.fromkeys(found)]
    numbers = {name: index for index, name in enumerate(names)}
    voices = np.full(len(events), -1, dtype=np.int64)
    voices[owners] = [numbers[name] for name in found]
    voices = np.where(voices < 0, voices[leads], voices)
    return np.maximum(voices, 0), names


def read_pitches(
    events: Events, changes: AttributeChanges, staves: Indices, oddities: list[str]
) -> Pitches:
    """Pitches of all notes.

    Raises
    ------
    UnreadableFileError
        A step, an octave or an alteration can't be read or meant.
    """
    step, is_pitched = _column(events, "step", _step)
    octave, has_octave = _column(events, "octave", _octave)
    alter = np.zeros(len(events))
    owners, alterations = events.details("alter", _alter)
    alter[owners] = alterations
    for event in np.flatnonzero(is_pitched != has_octave)[:1].tolist():
        events.fail(event, "A pitch lacks its step or its octave")
    midi = 12 * (octave + 1) + _SEMITONES[step] + np.floor(alter + 0.5).astype(np.int64)
    _transpose(events, changes, staves, midi)
    _bring_into_range(events, midi, is_pitched, oddities)
    is_unpitched = events.with_detail("unpitched") & ~is_pitched
    midi[is_unpitched] = UNPITCHED
    for event, unpitched in events.detail_elements("unpitched") if is_unpitched.any() else ():
        shown = unpitched.findtext("display-step"), unpitched.findtext("display-octave")
        step[event], octave[event] = _displayed(*shown)
    return Pitches(
        is_pitched=is_pitched,
        is_unpitched=is_unpitched,
        step=step,
        alter=alter,
        octave=octave,
        midi_pitch=midi,
    )


def read_ties(events: Events) -> Indices:
    """Tie bits, shape (events,).

    A file that prints ties (``tied``) and nowhere says that they sound (``tie``) means them.
    """
    ties = np.zeros(len(events), dtype=np.int64)
    marks = events.detail_elements("tie")
    if events.fetched["tied"] and not marks:
        notes = zip(events.of("note").tolist(), events.root.iter("note"), strict=True)
        marks = [(event, mark) for event, note in notes for mark in note.iter("tied")]
    for event, mark in marks:
        ties[event] |= _TIE_BITS.get(mark.get("type", ""), 0)
    return ties


def _column(events: Events, tag: str, meaning: Callable[[str | None], int]) -> tuple[Indices, Mask]:
    column, has = np.zeros(len(events), dtype=np.int64), np.zeros(len(events), dtype=np.bool_)
    owners, values = events.details(tag, meaning)
    column[owners] = values
    has[owners] = True
    return column, has


def _staff(text: str | None) -> int:
    stripped = (text or "").strip()
    return int(stripped) if stripped.isdecimal() and len(stripped) < 4 else 0


def _step(text: str | None) -> int:
    step = (text or "").strip()
    if len(step) != 1 or step not in STEPS:
        raise UnreadableTextError(f"The step of a pitch is {shown(step)!r}, not one of A to G")
    return STEPS.index(step)


def _octave(text: str | None) -> int:
    octave = decimal(text)
    if octave is None or octave.denominator != 1 or not -1 <= octave <= 10:
        raise UnreadableTextError(f"The octave of a pitch is {shown(text)!r}, not one of 0 to 9")
    return int(octave)


def _alter(text: str | None) -> float:
    alter = decimal(text) if text and text.strip() else Fraction(0)
    if alter is None or abs(alter) > 12:
        raise UnreadableTextError(f"A pitch is altered by {shown(text)!r}, which can't be meant")
    return float(alter)


def _displayed(step: str | None, octave: str | None) -> tuple[int, int]:
    try:
        return _step(step), _octave(octave)
    except UnreadableTextError:
        return _MIDDLE_LINE


def _transpose(events: Events, changes: AttributeChanges, staves: Indices, midi: Indices) -> None:
    """Add transpositions; one holds to the end of its part, or to the next for its staff."""
    ends = np.append(events.of("part"), len(events))[1:]
    in_force: dict[tuple[int, int], int] = {}
    for event, staff, semitones in changes.transpositions:
        part = int(events.parts[event])
        change = semitones - in_force.get((part, staff), 0)
        if change == 0:
            continue
        in_force[part, staff] = semitones
        here = slice(event, int(ends[part]))
        midi[here] += change if staff == 0 else np.where(staves[here] == staff, change, 0)


def _bring_into_range(events: Events, midi: Indices, is_pitched: Mask, oddities: list[str]) -> None:
    is_out = is_pitched & ((midi < 0) | (midi >= _MIDI_END))
    events_out = np.flatnonzero(is_out)
    oddities += events.told(
        events_out, "a pitch lies outside MIDI's range; it is brought in by octaves."
    )
    within = midi[events_out] % 12
    high = within + 120 - np.where(within + 120 >= _MIDI_END, 12, 0)
    midi[events_out] = np.where(midi[events_out] < 0, within, high)
