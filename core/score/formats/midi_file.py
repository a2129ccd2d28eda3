"""What a Standard MIDI File holds, as far as a score has a use for it.

Conventions: mido reads the messages; the chunks are looked at first, since it is there that a
file shows whether it is whole. Times are quarter notes as floats; channel 10, index 9, is
percussion.

Source: MIDI Manufacturers Association, Standard MIDI Files 1.0 (RP-001); General MIDI 1 for
programs and the percussion channel.
"""

from __future__ import annotations

import io
from bisect import bisect_right
from collections import defaultdict, deque
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.formats.foreign_text import not_understood

PERCUSSION = 9
FARTHEST_QUARTERS = 100_000.0
"""A later note can't be meant: at 120 quarters a minute that is fourteen hours."""

FASTEST_QPM = 2000.0
"""Quarters a minute; a faster tempo can't be meant."""
MOST_VOICES_A_KEY = 16
"""That hold one key at a time; nobody writes as many."""

_HEADER_BYTES = 14
_DAMPER = 64
_MIDDLE_OF_ACCIDENTALS = "FCGDAEB"
_BROKEN_OFF = "The file breaks off before its end. Get a whole copy, or export it again."


class RawNote(NamedTuple):
    """A key struck and let go."""

    onset: float
    end: float
    pitch: int
    velocity: int


class Stream(NamedTuple):
    """Where notes come from: track and channel, from 0."""

    track: int
    channel: int


@dataclass(slots=True)
class MidiContents:
    """Notes by stream, and what the file says of time and key; changes are (quarters, value)."""

    notes: dict[Stream, list[RawNote]] = field(default_factory=dict)
    names: dict[int, str] = field(default_factory=dict)
    programs: dict[Stream, int] = field(default_factory=dict)
    metres: list[tuple[float, tuple[int, int]]] = field(default_factory=list)
    keys: list[tuple[float, tuple[int, str]]] = field(default_factory=list)
    tempos: list[tuple[float, float]] = field(default_factory=list)
    title: str = ""
    has_pedal: bool = False
    has_absurd_tempo: bool = False


def read_contents(data: bytes, *, name: str) -> MidiContents:
    """Read the file.

    Raises
    ------
    UnreadableFileError
        Broken off, or not what it says it is.
    UnsupportedScoreError
        Format 2, or time that is not counted in beats.
    """
    kind, ticks, tracks = _looked_at(data, name)
    import mido

    try:
        file = mido.MidiFile(file=io.BytesIO(tracks), clip=True)
    except EOFError as error:
        raise UnreadableFileError(name, _BROKEN_OFF) from error
    except Exception as error:
        # mido meets a broken file with whatever it stumbles over.
        raise not_understood(error, name=name, kind="MIDI") from error
    contents = MidiContents()
    for index, track in enumerate(file.tracks):
        _Track(contents, index, ticks, name).take(track)
    if kind == 1 and contents.names.get(0) and all(s.track != 0 for s in contents.notes):
        contents.title = contents.names[0]
    for changes in (contents.metres, contents.keys, contents.tempos):
        changes.sort(key=lambda change: change[0])
    return contents


def _looked_at(data: bytes, name: str) -> tuple[int, int, bytes]:
    """Format, ticks a quarter, and the file without chunks of other kinds, which may be there."""
    if len(data) < _HEADER_BYTES:
        raise UnreadableFileError(name, _BROKEN_OFF)
    length = int.from_bytes(data[4:8], "big")
    kind, tracks = int.from_bytes(data[8:10], "big"), int.from_bytes(data[10:12], "big")
    division = int.from_bytes(data[12:14], "big")
    if kind == 2:
        raise UnsupportedScoreError(
            name,
            "It is MIDI of format 2, a bundle of patterns without an order. Export the piece as "
            "format 0 or 1, or as MusicXML.",
        )
    if kind > 2:
        raise UnreadableFileError(
            name, f"It is MIDI of a format {kind}, which there is none of. Export it again."
        )
    if division == 0:
        raise UnreadableFileError(
            name, "It counts no ticks in a quarter note, so no time. Export it again."
        )
    if division & 0x8000:
        raise UnsupportedScoreError(
            name,
            "Its time is counted in film frames, which say nothing of beats. Export it with "
            "ticks in a quarter note, or as MusicXML.",
        )
    at, found = 8 + length, [data[:4] + b"\0\0\0\6" + data[8:_HEADER_BYTES]]
    while at + 8 <= len(data) and len(found) <= tracks:
        end = at + 8 + int.from_bytes(data[at + 4 : at + 8], "big")
        if data[at : at + 4] == b"MTrk":
            found.append(data[at:end])
        if end > len(data):
            place = f"track {max(len(found) - 1, 1)} of {tracks}"
            raise UnreadableFileError(name, _BROKEN_OFF, place)
        at = end
    if len(found) <= tracks:
        raise UnreadableFileError(name, _BROKEN_OFF, f"track {len(found)} of {tracks}")
    return kind, division, b"".join(found)


class _Track:
    """Takes one track in."""

    def __init__(self, contents: MidiContents, index: int, ticks: int, name: str) -> None:
        self._contents, self._index, self._ticks, self._name = contents, index, ticks, name
        self._held: dict[tuple[int, int], deque[tuple[float, int]]] = defaultdict(deque)

    def take(self, track: Any) -> None:
        """All messages."""
        now = 0
        for message in track:
            now += message.time
            quarters = now / self._ticks
            kind = message.type
            if kind == "note_on" and message.velocity:
                if quarters > FARTHEST_QUARTERS:
                    self._refuse(quarters)
                held = self._held[message.channel, message.note]
                if len(held) < MOST_VOICES_A_KEY:
                    held.append((quarters, message.velocity))
            elif kind in ("note_off", "note_on"):
                self._release(message.channel, message.note, quarters)
            elif kind == "program_change":
                stream = Stream(self._index, message.channel)
                self._contents.programs.setdefault(stream, message.program)
            elif kind == "control_change":
                self._contents.has_pedal |= message.control == _DAMPER
            elif message.is_meta:
                self._take_meta(message, quarters)
        self._end(now / self._ticks)

    def _end(self, quarters: float) -> None:
        """Let go what is still held: where the next note of its stream begins, or the track ends.

        Of a key struck twice at once, once is enough.
        """
        notes = {s.channel: n for s, n in self._contents.notes.items() if s.track == self._index}
        begun: dict[int, set[float]] = defaultdict(set)
        for (channel, _), held in self._held.items():
            begun[channel].update(onset for onset, _ in held)
        for channel, found in notes.items():
            begun[channel].update(note.onset for note in found)
        onsets = {channel: sorted(found) for channel, found in begun.items()}
        struck = {(channel, n.pitch, n.onset) for channel, found in notes.items() for n in found}
        for (channel, pitch), held in self._held.items():
            while held:
                onset = held[0][0]
                if (channel, pitch, onset) in struck:
                    held.popleft()
                    continue
                later = bisect_right(onsets[channel], onset)
                end = onsets[channel][later] if later < len(onsets[channel]) else quarters
                self._release(channel, pitch, end)

    def _take_meta(self, message: Any, quarters: float) -> None:
        contents, kind = self._contents, message.type
        if kind == "track_name":
            contents.names.setdefault(self._index, " ".join(message.name.split()))
        elif kind == "set_tempo" and message.tempo:
            tempo = 60e6 / message.tempo
            contents.has_absurd_tempo |= tempo > FASTEST_QPM
            if tempo <= FASTEST_QPM:
                contents.tempos.append((quarters, tempo))
        elif kind == "time_signature" and message.numerator and message.denominator <= 64:
            contents.metres.append((quarters, (message.numerator, message.denominator)))
        elif kind == "key_signature":
            contents.keys.append((quarters, _key(message.key)))

    def _release(self, channel: int, pitch: int, quarters: float) -> None:
        held = self._held[channel, pitch]
        if held:
            onset, velocity = held.popleft()
            stream = Stream(self._index, channel)
            note = RawNote(onset, min(quarters, FARTHEST_QUARTERS + 1), pitch, velocity)
            self._contents.notes.setdefault(stream, []).append(note)

    def _refuse(self, quarters: float) -> None:
        raise UnreadableFileError(
            self._name,
            f"A note {quarters:.0f} quarters after the start can't be meant. Get a whole copy, or "
            "export it again.",
            f"track {self._index + 1}",
        )


def _key(name: str) -> tuple[int, str]:
    """Fifths and mode.

    Examples
    --------
    >>> _key("Bb"), _key("F#m"), _key("C")
    ((-2, 'major'), (3, 'minor'), (0, 'major'))
    """
    is_minor = name.endswith("m")
    tonic = name.removesuffix("m")
    fifths = _MIDDLE_OF_ACCIDENTALS.index(tonic[0]) - 1
    fifths += 7 * (tonic.count("#") - tonic.count("b")) - 3 * is_minor
    return fifths, "minor" if is_minor else "major"
