"""Standard MIDI Files: keys struck and let go into a draft of written notes.

Conventions: a MIDI file says which keys, when, and in what metre; how that is written is
inferred here, step by step, and each step is told as a guess.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

import numpy as np

from core.errors import UnsupportedScoreError
from core.score.formats.beams import beat_of
from core.score.formats.drafts import Change, Clef, Draft, DraftMeasure, DraftPart, Sign
from core.score.formats.hands import boundaries_of
from core.score.formats.midi_file import PERCUSSION, MidiContents, RawNote, Stream, read_contents
from core.score.formats.pitch_spelling import (
    fifths_of_pitches,
    near_signature,
    signature_of,
    spelled,
)
from core.score.formats.quantising import Grid, next_later, reaching
from core.score.formats.voices import MeasureSpan, WrittenNote, voices_in_measures

T = TypeVar("T")

KIND = "MIDI"
MOST_MEASURES = 20_000
"""Twice the longest score that Postil is made for; more come of a time that can't be meant."""
MOST_PIECES = 600_000
"""Notes, tied ones counted each; an opera has a quarter of it."""

_KEYBOARDS = frozenset((*range(8), *range(16, 21)))
"""General MIDI programs that play from two staves: pianos, harpsichord, organs."""
_LOW, _HIGH = 53, 67
"""A keyboard part that goes beyond both is written on two staves."""
_CLEFS = {"treble": Clef("G", 2), "bass": Clef("F", 4), "percussion": Clef("percussion", None)}
_BASS_BELOW = 57
_MOST_TEMPOS = 48
"""Changes of tempo that somebody may have written; more were played."""

SPELLING_GUESSED = "The spelling of the notes is a guess: MIDI says which keys are struck."
VOICES_GUESSED = "Voices and rests are a guess, by which notes begin and end together."
RHYTHM_GUESSED = (
    "The rhythm is a guess: its notes do not fall on its beats, as in a performance that was "
    "recorded."
)
METRE_GUESSED = "It says no metre; 4/4 is assumed."
KEY_GUESSED = "It says no key; the signature that leaves the fewest accidentals is taken."
SPLIT_GUESSED = "Which hand plays what is a guess: one track holds both staves."
JOINED_GUESSED = "Its two tracks are taken as the two staves of one keyboard part."


@dataclass(slots=True)
class _Source:
    """The notes of one part; of two staves where ``lower`` is not None."""

    name: str
    upper: list[RawNote]
    lower: list[RawNote] | None = None
    is_percussion: bool = False


def read_midi(data: bytes, *, name: str) -> Draft:
    """Read a Standard MIDI File of format 0 or 1.

    Raises
    ------
    UnreadableFileError, UnsupportedScoreError
        As ``midi_file.read_contents``; also for a file without notes.
    """
    contents = read_contents(data, name=name)
    if not contents.notes:
        raise UnsupportedScoreError(
            name, "There is not one note in it. Export it again from a score with notes."
        )
    draft = Draft(title=contents.title, guesses=[SPELLING_GUESSED, VOICES_GUESSED])
    sources = _sources(contents, draft)
    everything = [note for notes in contents.notes.values() for note in notes]
    grid = Grid([note.onset for note in everything])
    if grid.is_rough:
        draft.guesses.append(RHYTHM_GUESSED)
    keys = _keys(contents, draft)
    written = _written(sources, grid, keys)
    end = max(note.end for staves in written for notes in staves for note in notes)
    metres = _metres(contents, draft)
    measures = _measures(metres, end, name)
    _refuse_drones(written, measures, name)
    for source, staves in zip(sources, written, strict=True):
        draft.parts.append(_part(source, staves, measures))
    _put_changes(draft, metres, keys, measures)
    _put_tempos(draft, contents, measures)
    if contents.has_absurd_tempo:
        draft.losses.append("A tempo faster than anything can be played is left out.")
    velocities = {note.velocity for note in everything}
    if len(velocities) > 1 or contents.has_pedal:
        draft.losses.append("How loudly keys are struck, and the pedal, are left out.")
    return draft


def _sources(contents: MidiContents, draft: Draft) -> list[_Source]:
    """The parts, in the order of the tracks."""
    streams = sorted(contents.notes)
    pitched = [stream for stream in streams if stream.channel != PERCUSSION]
    is_keyboard = {s: contents.programs.get(s, 0) in _KEYBOARDS for s in pitched}
    if len(pitched) == 2 and all(is_keyboard.values()):
        first, second = (contents.notes[stream] for stream in pitched)
        upper, lower = (first, second) if _mean(first) >= _mean(second) else (second, first)
        draft.guesses.append(JOINED_GUESSED)
        sources = [_Source("Piano", upper, lower)]
    else:
        sources = [_source(contents, stream, draft) for stream in pitched]
    drums = [n for s in streams if s.channel == PERCUSSION for n in contents.notes[s]]
    if drums:
        sources.append(_Source("Percussion", drums, is_percussion=True))
    return sources


def _source(contents: MidiContents, stream: Stream, draft: Draft) -> _Source:
    notes, name = contents.notes[stream], contents.names.get(stream.track, "")
    pitches = [note.pitch for note in notes]
    is_keyboard = contents.programs.get(stream, 0) in _KEYBOARDS
    if not (is_keyboard and min(pitches) < _LOW and max(pitches) > _HIGH):
        return _Source(name, notes)
    if SPLIT_GUESSED not in draft.guesses:
        draft.guesses.append(SPLIT_GUESSED)
    return _Source(name, *_by_hands(notes))


def _by_hands(notes: list[RawNote]) -> tuple[list[RawNote], list[RawNote]]:
    together: dict[float, list[RawNote]] = defaultdict(list)
    for note in notes:
        together[round(note.onset * 16) / 16].append(note)
    onsets = sorted(together)
    boundaries = boundaries_of([[n.pitch for n in together[onset]] for onset in onsets])
    upper: list[RawNote] = []
    lower: list[RawNote] = []
    for onset, boundary in zip(onsets, boundaries, strict=True):
        for note in together[onset]:
            (upper if note.pitch >= boundary else lower).append(note)
    return upper, lower


def _mean(notes: list[RawNote]) -> float:
    return sum(note.pitch for note in notes) / len(notes)


def _keys(contents: MidiContents, draft: Draft) -> list[tuple[Fraction, tuple[int, str]]]:
    """Key signatures in force from an onset on; the first holds from the start."""
    if contents.keys:
        return [(_nearby(onset) if index else Fraction(0), key)
                for index, (onset, key) in enumerate(_one_each(contents.keys))]  # fmt: skip
    draft.guesses.append(KEY_GUESSED)
    notes = [n for s, found in contents.notes.items() if s.channel != PERCUSSION for n in found]
    pitches = np.array([note.pitch for note in notes], dtype=np.int64)
    lengths = np.array([note.end - note.onset for note in notes])
    return [(Fraction(0), (signature_of(pitches * 7 % 12, lengths), ""))]


def _metres(contents: MidiContents, draft: Draft) -> list[tuple[Fraction, tuple[int, int]]]:
    if not contents.metres or contents.metres[0][0] > 0:
        draft.guesses.append(METRE_GUESSED)
    changes = [(_nearby(onset), metre) for onset, metre in _one_each(contents.metres)]
    return changes if changes and changes[0][0] == 0 else [(Fraction(0), (4, 4)), *changes]


def _one_each(changes: list[tuple[float, T]]) -> list[tuple[float, T]]:
    """The last change at each time, and only where something changes."""
    last = dict(changes)
    kept: list[tuple[float, T]] = []
    for onset, value in last.items():
        if not kept or kept[-1][1] != value:
            kept.append((onset, value))
    return kept


def _nearby(onset: float) -> Fraction:
    return Fraction(round(onset * 8), 8)


def _written(
    sources: list[_Source], grid: Grid, keys: list[tuple[Fraction, tuple[int, str]]]
) -> list[list[list[WrittenNote]]]:
    """Notes with written times and spelling, by part and staff."""
    timed = [
        [_timed(notes, grid) for notes in (source.upper, source.lower) if notes is not None]
        for source in sources
    ]
    pitched = [
        (onset, pitch)
        for source, staves in zip(sources, timed, strict=True)
        if not source.is_percussion
        for staff in staves
        for onset, _, pitch in staff
    ]
    spelling = _spelling(sorted(set(pitched)), keys)
    return [
        [
            [
                WrittenNote(onset, end, *(("B", 0, 4) if source.is_percussion
                            else spelled(pitch, spelling[onset, pitch])), pitch)
                for onset, end, pitch in staff
            ]
            for staff in staves
        ]
        for source, staves in zip(sources, timed, strict=True)
    ]  # fmt: skip


def _spelling(
    notes: list[tuple[Fraction, int]], keys: list[tuple[Fraction, tuple[int, str]]]
) -> dict[tuple[Fraction, int], int]:
    if not notes:
        return {}
    starts = [onset for onset, _ in keys]
    signatures = [keys[max(bisect_right(starts, onset) - 1, 0)][1][0] for onset, _ in notes]
    fifths = fifths_of_pitches(np.array([pitch for _, pitch in notes], dtype=np.int64))
    near = near_signature(fifths, np.array(signatures, dtype=np.int64))
    return dict(zip(notes, near.tolist(), strict=True))


def _timed(notes: list[RawNote], grid: Grid) -> list[tuple[Fraction, Fraction, int]]:
    onsets = sorted({note.onset for note in notes})
    timed = []
    for note in notes:
        onset = grid.onset(note.onset)
        following = None if grid.is_exact(note.end) else next_later(onsets, note.onset)
        if following is not None and reaching(note.end, note.onset, following):
            end = grid.onset(following)
        else:
            end = grid.end(note.end, onset)
        timed.append((onset, end if end > onset else onset + grid.step(onset), note.pitch))
    return timed


def _measures(
    metres: Sequence[tuple[Fraction, tuple[int, int]]], end: Fraction, name: str
) -> list[MeasureSpan]:
    """Measures up to the end; a change of metre inside one cuts it short."""
    spans: list[MeasureSpan] = []
    stops = [*(onset for onset, _ in metres[1:]), end]
    for (onset, (beats, beat_type)), stop in zip(metres, stops, strict=True):
        length, here = Fraction(4 * beats, beat_type), onset
        beat = beat_of(str(beats), str(beat_type))
        is_last = stop is stops[-1]
        while here < stop:
            if len(spans) >= MOST_MEASURES:
                raise UnsupportedScoreError(
                    name, f"It has more than {MOST_MEASURES} measures. Split it into pieces."
                )
            spans.append(MeasureSpan(here, length if is_last else min(length, stop - here), beat))
            here += length
    return spans


def _refuse_drones(
    written: list[list[list[WrittenNote]]], measures: list[MeasureSpan], name: str
) -> None:
    """A note is written once in each measure that it sounds in; a few can fill the memory."""
    starts = [measure.onset for measure in measures]
    pieces = 0
    for note in (note for staves in written for notes in staves for note in notes):
        pieces += bisect_left(starts, note.end) - bisect_right(starts, note.onset) + 1
    if pieces > MOST_PIECES:
        raise UnsupportedScoreError(
            name,
            f"Its notes sound on over so many barlines that they would be {pieces} tied notes. "
            "Let the keys go in it, and export it again.",
        )


def _part(
    source: _Source, staves: list[list[WrittenNote]], measures: list[MeasureSpan]
) -> DraftPart:
    part = DraftPart(name=source.name, staves=len(staves))
    by_staff = [
        voices_in_measures(notes, measures, is_unpitched=source.is_percussion) for notes in staves
    ]
    for index, measure in enumerate(measures):
        voices = {
            (staff, voice): events
            for staff, of_measure in enumerate(by_staff, 1)
            for voice, events in of_measure[index].items()
        }
        part.measures.append(
            DraftMeasure(number=str(index + 1), quarters=measure.quarters, voices=voices)
        )
    for staff, notes in enumerate(staves, 1):
        clef = Change(Fraction(0), staff, clef=_clef(source, staff, notes))
        part.measures[0].changes.append(clef)
    return part


def _clef(source: _Source, staff: int, notes: list[WrittenNote]) -> Clef:
    if source.is_percussion:
        return _CLEFS["percussion"]
    if source.lower is not None:
        return _CLEFS["treble" if staff == 1 else "bass"]
    mean = sum(note.midi_pitch for note in notes) / len(notes)
    return _CLEFS["bass" if mean < _BASS_BELOW else "treble"]


def _put_changes(
    draft: Draft,
    metres: Sequence[tuple[Fraction, tuple[int, int]]],
    keys: Sequence[tuple[Fraction, tuple[int, str]]],
    measures: list[MeasureSpan],
) -> None:
    starts = [measure.onset for measure in measures]
    for part in draft.parts:
        for onset, (beats, beat_type) in metres:
            index = bisect_right(starts, onset) - 1
            if onset <= starts[-1]:
                change = Change(Fraction(0), 0, metre=(str(beats), str(beat_type)))
                part.measures[index].changes.append(change)
        for onset, key in keys:
            index = bisect_right(starts, onset) - 1
            local = onset - starts[index]
            if local < measures[index].quarters:
                part.measures[index].changes.append(Change(local, 0, key=key))


def _put_tempos(draft: Draft, contents: MidiContents, measures: list[MeasureSpan]) -> None:
    tempos = _one_each(contents.tempos)
    if len(tempos) > _MOST_TEMPOS:
        draft.losses.append(f"Its {len(tempos)} changes of tempo are left out, but the first.")
        tempos = tempos[:1]
    starts = [measure.onset for measure in measures]
    for onset, tempo in tempos:
        at = _nearby(onset)
        index = bisect_right(starts, at) - 1
        local = at - starts[index]
        if local < measures[index].quarters:
            sign = Sign(local, 1, "metronome", f"quarter|0|{round(tempo, 1):g}")
            draft.parts[0].measures[index].signs.append(sign)
