"""Small invented MIDI files for the tests."""

from __future__ import annotations

import io
from collections.abc import Iterable

import mido

TICKS = 480


def track(
    notes: Iterable[tuple[float, float, int]],
    *,
    channel: int = 0,
    before: Iterable[mido.MetaMessage | mido.Message] = (),
    later: Iterable[tuple[float, mido.MetaMessage]] = (),
) -> mido.MidiTrack:
    """A track of (onset, duration in quarters, pitch), with messages at its start and later."""
    timed: list[tuple[float, int, mido.Message | mido.MetaMessage]] = [(0, 0, m) for m in before]
    timed += [(at, 0, message) for at, message in later]
    for onset, quarters, pitch in notes:
        on = mido.Message("note_on", note=pitch, velocity=64, channel=channel)
        off = mido.Message("note_off", note=pitch, channel=channel)
        timed += [(onset, 2, on), (onset + quarters, 1, off)]
    made, now = mido.MidiTrack(), 0
    for at, _, message in sorted(timed, key=lambda entry: entry[:2]):
        tick = round(at * TICKS)
        made.append(message.copy(time=tick - now))
        now = tick
    return made


def midi(*tracks: mido.MidiTrack, kind: int | None = None) -> bytes:
    """The file of these tracks; format 0 for one, 1 for several, unless it is said."""
    file = mido.MidiFile(type=(len(tracks) > 1) if kind is None else kind, ticks_per_beat=TICKS)
    file.tracks.extend(tracks)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def metre(beats: int, beat_type: int) -> mido.MetaMessage:
    """A time signature."""
    return mido.MetaMessage("time_signature", numerator=beats, denominator=beat_type)


def key(name: str) -> mido.MetaMessage:
    """A key signature."""
    return mido.MetaMessage("key_signature", key=name)
