"""Notes of one staff into voices and measures, where a file says neither.

Conventions: notes that begin and end together are a chord. Of what begins together, the highest
goes to the lowest voice number that is free. The first voice is filled with rests; others only
where they play.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from heapq import heappop, heappush
from itertools import groupby
from typing import NamedTuple

from core.score.formats.beams import beamed_by_beats
from core.score.formats.drafts import Event, Pitch
from core.score.formats.note_shapes import pieces_of

Voices = dict[int, list[Event]]


class WrittenNote(NamedTuple):
    """A note with its time as written, in quarters from the start of the score."""

    onset: Fraction
    end: Fraction
    step: str
    alter: int
    octave: int
    midi_pitch: int


class MeasureSpan(NamedTuple):
    """A measure's onset and duration in quarters, and the beat that its beams show."""

    onset: Fraction
    quarters: Fraction
    beat: Fraction


def voices_in_measures(
    notes: Sequence[WrittenNote], measures: Sequence[MeasureSpan], *, is_unpitched: bool = False
) -> list[Voices]:
    """The events of one staff, by measure and voice; ``notes`` in any order."""
    pieces: list[dict[int, list[Event]]] = [defaultdict(list) for _ in measures]
    starts = [measure.onset for measure in measures]
    for voice, chord in _dealt_out(notes):
        for index, event in _in_measures(chord, measures, starts):
            pieces[index][voice].append(event._replace(is_unpitched=is_unpitched))
    return [_finished(voices, measure) for voices, measure in zip(pieces, measures, strict=True)]


def _dealt_out(notes: Sequence[WrittenNote]) -> list[tuple[int, list[WrittenNote]]]:
    """Chords with their voices, in order of onset."""
    free: list[int] = []
    busy: list[tuple[Fraction, int]] = []
    dealt, most = [], 0
    ordered = sorted(notes, key=lambda note: (note.onset, -note.midi_pitch))
    for onset, together in groupby(ordered, key=lambda note: note.onset):
        chords: dict[Fraction, list[WrittenNote]] = {}
        for note in together:
            chords.setdefault(note.end, []).append(note)
        while busy and busy[0][0] <= onset:
            heappush(free, heappop(busy)[1])
        for end, chord in chords.items():
            if not free:
                most += 1
                heappush(free, most)
            voice = heappop(free)
            heappush(busy, (end, voice))
            dealt.append((voice, _without_twins(chord)))
    return dealt


def _without_twins(chord: list[WrittenNote]) -> list[WrittenNote]:
    """One key can be written once in a chord."""
    return list({note.midi_pitch: note for note in chord}.values())


def _in_measures(
    chord: list[WrittenNote], measures: Sequence[MeasureSpan], starts: list[Fraction]
) -> list[tuple[int, Event]]:
    """A chord cut at the barlines into tied ones, local to their measures."""
    onset, end = chord[0].onset, chord[0].end
    found = []
    is_first, here = True, onset
    while here < end:
        index = bisect_right(starts, here) - 1
        measure = measures[index]
        stop = min(end, measure.onset + measure.quarters)
        tie = _tie(comes=not is_first, goes=stop < end)
        pitches = tuple(Pitch(n.step, n.alter, n.octave, tie) for n in reversed(chord))
        found.append((index, Event(here - measure.onset, stop - here, pitches)))
        is_first, here = False, stop
    return found


def _tie(*, comes: bool, goes: bool) -> str:
    if comes and goes:
        return "continue"
    return "stop" if comes else "start" if goes else ""


def _finished(voices: dict[int, list[Event]], measure: MeasureSpan) -> Voices:
    """With rests in the first voice, and beams; voices are numbered from 1 without gaps."""
    if not voices:
        return {1: [Event(Fraction(0), measure.quarters, is_whole_measure=True)]}
    made: Voices = {}
    for number, voice in enumerate(sorted(voices), 1):
        events = voices[voice]
        if number == 1:
            events = _with_rests(events, measure.quarters)
        made[number] = beamed_by_beats(events, measure.beat)
    return made


def _with_rests(events: list[Event], quarters: Fraction) -> list[Event]:
    filled, cursor = [], Fraction(0)
    for event in events:
        filled += _rests(cursor, event.onset)
        filled.append(event)
        cursor = event.onset + event.quarters
    return filled + _rests(cursor, quarters)


def _rests(start: Fraction, end: Fraction) -> list[Event]:
    rests, onset = [], start
    for length in pieces_of(start, end - start) if end > start else ():
        rests.append(Event(onset, length))
        onset += length
    return rests
