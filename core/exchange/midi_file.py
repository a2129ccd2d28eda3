"""A performance as a Standard MIDI File.

Conventions: format 1; the first track holds name, tempos and time signatures, then comes one
track a staff, named after the part and the hand, each on its channel. Onsets and lengths are
those of the performance: a written note lasts its written ticks, repeats are written out, the
tempos are those that were asked for (half speed is half the tempo). The division is a multiple
of the score's, so that every written onset is exact.

Source: Standard MIDI Files 1.0 (RP-001), MIDI Manufacturers Association 1996.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import pairwise

import numpy as np

from core.score.score import Measure, Part, Score
from core.takes.playing import Performance

LEAST_DIVISION, MOST_DIVISION = 480, 32_767
"""Ticks a quarter note: fine enough for grace notes; what 15 bits hold."""
PERCUSSION_CHANNEL = 9
PIANO = 0
"""Acoustic grand piano of General MIDI 1, counted from 0."""
_END, _NAME, _TEMPO, _SIGNATURE = 0x2F, 0x03, 0x51, 0x58
_LONGEST_TEMPO = 2**24 - 1

Event = tuple[int, int, bytes]
"""Tick, rank among events of one tick, and the bytes without delta time."""


def midi_file(performance: Performance, *, title: str = "") -> bytes:
    """The bytes of a Standard MIDI File.

    Parameters
    ----------
    performance : Performance
    title : str
        Name of the first track; the score's title by default.
    """
    score = performance.time.score
    division, scale = _division(score.ticks_per_quarter)
    lead = _lead_ticks(performance)
    end = round((float(performance.time.played[-1]) + lead) * scale)
    tracks = [_track([*_heading(performance, title or score.title, scale, lead)], end)]
    for number, (part, staff) in enumerate(_staves(score)):
        notes = _notes(performance, staff, _channel(number), scale, lead)
        tracks.append(_track([_named(_staff_name(part, staff)), _piano(number), *notes], end))
    header = b"MThd" + (6).to_bytes(4) + (1).to_bytes(2) + len(tracks).to_bytes(2)
    return header + division.to_bytes(2) + b"".join(tracks)


def _division(ticks_per_quarter: int) -> tuple[int, float]:
    """Ticks a quarter note of the file, and how many of them a tick of the score is."""
    times = -(-LEAST_DIVISION // ticks_per_quarter)
    if ticks_per_quarter * times <= MOST_DIVISION:
        return ticks_per_quarter * times, float(times)
    return MOST_DIVISION, MOST_DIVISION / ticks_per_quarter


def _lead_ticks(performance: Performance) -> float:
    time = performance.time
    if not performance.lead_seconds:
        return 0.0
    qpm = time.tempos[0].qpm * time.speed
    return performance.lead_seconds * qpm / 60 * time.score.ticks_per_quarter


def _heading(performance: Performance, title: str, scale: float, lead: float) -> Iterable[Event]:
    yield _named(title)
    time = performance.time
    before: float | None = None
    for position, tempo in enumerate(time.tempos):
        qpm = tempo.qpm * time.speed
        if qpm != before:
            at = round((float(time.played[position]) + lead) * scale) if position else 0
            yield at, 0, _meta(_TEMPO, min(round(60e6 / qpm), _LONGEST_TEMPO).to_bytes(3))
        before = qpm
    signed: bytes | None = None
    for played, measure in _measures(performance):
        signature = _signature(measure)
        if signature and signature != signed:
            yield (round((played + lead) * scale) if played else 0), 0, signature
            signed = signature


def _measures(performance: Performance) -> Iterable[tuple[int, Measure]]:
    """Measures that begin, or lie around the beginning, in played ticks."""
    played = 0
    for start, end in performance.time.stretches:
        for measure in performance.time.score.measures:
            if measure.onset < end and measure.onset + measure.duration > start:
                yield played + max(measure.onset - start, 0), measure
        played += end - start


def _signature(measure: Measure) -> bytes | None:
    """The meta event of "6/8"; groups are added up ("3+2/8" as 5/8)."""
    upper, _, lower = (measure.signature or "").partition("/")
    figures = upper.split("+")
    if not lower.isdecimal() or not all(figure.isdecimal() for figure in figures):
        return None
    beats, unit = sum(map(int, figures)), int(lower)
    if not 0 < beats < 256 or unit & (unit - 1) or not unit:
        return None
    is_compound = unit >= 8 and beats > 3 and beats % 3 == 0
    clocks = Fraction(96, unit) * (3 if is_compound else 1)
    return _meta(_SIGNATURE, bytes([beats, unit.bit_length() - 1, max(int(clocks), 1), 8]))


def _staves(score: Score) -> list[tuple[Part, int]]:
    return [
        (part, staff)
        for part in score.parts
        for staff in range(part.first_staff, part.first_staff + part.staves)
    ]


def _staff_name(part: Part, staff: int) -> str:
    name = part.name or part.id
    if part.staves != 2:
        return name if part.staves == 1 else f"{name}, staff {staff - part.first_staff + 1}"
    return f"{name}, {'right' if staff == part.first_staff else 'left'} hand"


def _channel(number: int) -> int:
    """Channels 0 to 15 in turn, without that of percussion."""
    channels = [channel for channel in range(16) if channel != PERCUSSION_CHANNEL]
    return channels[number % len(channels)]


def _piano(number: int) -> Event:
    return 0, 1, bytes([0xC0 | _channel(number), PIANO])


def _notes(
    performance: Performance, staff: int, channel: int, scale: float, lead: float
) -> Iterable[Event]:
    rows = np.flatnonzero(performance.staff == staff)
    onsets = performance.onset_seconds[rows]
    ends = onsets + performance.duration_seconds[rows]
    first = np.rint(_ticks(performance, onsets, lead) * scale).astype(np.int64)
    last = np.rint(_ticks(performance, ends, lead) * scale).astype(np.int64)
    last = np.maximum(last, first + 1)
    pitches, velocities = performance.midi_pitch[rows], performance.velocity[rows]
    for onset, end, pitch, velocity in zip(
        first.tolist(), last.tolist(), pitches.tolist(), velocities.tolist(), strict=True
    ):
        # What ends goes before what begins on the same tick, and may be the same key.
        yield onset, 3, bytes([0x90 | channel, pitch, velocity])
        yield end, 2, bytes([0x80 | channel, pitch, 64])


def _ticks(
    performance: Performance, seconds: np.typing.NDArray[np.float64], lead: float
) -> np.typing.NDArray[np.float64]:
    """Played ticks, those before the first beat included."""
    since_beat = seconds - performance.lead_seconds
    ticks = performance.time.played_at(since_beat) + lead
    if not performance.lead_seconds:
        return ticks
    early = since_beat < 0
    return np.where(early, lead * (1 + since_beat / performance.lead_seconds), ticks)


def _named(name: str) -> Event:
    return 0, 0, _meta(_NAME, name.encode("utf-8"))


def _meta(kind: int, content: bytes) -> bytes:
    return bytes([0xFF, kind]) + _variable(len(content)) + content


def _track(events: list[Event], end: int) -> bytes:
    ordered = sorted(events, key=lambda event: event[:2])
    end = max(end, ordered[-1][0] if ordered else 0)
    ticks = [0, *(tick for tick, _, _ in ordered), end]
    gaps = [after - before for before, after in pairwise(ticks)]
    contents = [content for _, _, content in ordered] + [_meta(_END, b"")]
    body = b"".join(_variable(gap) + content for gap, content in zip(gaps, contents, strict=True))
    return b"MTrk" + len(body).to_bytes(4) + body


def _variable(number: int) -> bytes:
    """A number in groups of seven bits, the highest first."""
    groups = [number & 0x7F]
    while number := number >> 7:
        groups.append(number & 0x7F | 0x80)
    return bytes(reversed(groups))
