"""MIDI files that are broken, hostile or absurd: chunks, events, times.

Source of what is right: MIDI Manufacturers Association, Standard MIDI Files 1.0 (RP-001).
"""

from __future__ import annotations

import struct

import pytest

from tests.core.score.formats.sent_back import read, refuse

END = b"\0\xff\x2f\0"


def event(*data: int, wait: bytes = b"\0") -> bytes:
    return wait + bytes(data)


STRIKE, LET_GO = event(0x90, 60, 64), event(0x80, 60, 0, wait=b"\x83\x60")
NOTE = STRIKE + LET_GO


def chunk(*events: bytes, name: bytes = b"MTrk", length: int | None = None) -> bytes:
    data = b"".join(events)
    return name + struct.pack(">I", len(data) if length is None else length) + data


def header(kind: int = 0, tracks: int = 1, division: int = 480, length: int = 6) -> bytes:
    return b"MThd" + struct.pack(">IHHH", length, kind, tracks, division)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (header(2) + chunk(NOTE, END), "It is MIDI of format 2, a bundle of patterns"),
        (header(9) + chunk(NOTE, END), "It is MIDI of a format 9, which there is none of"),
        (header(division=0) + chunk(NOTE, END), "It counts no ticks in a quarter note"),
        (header(division=0xE728) + chunk(NOTE, END), "Its time is counted in film frames"),
        (header(1, 3) + chunk(NOTE, END), "track 2 of 3: The file breaks off before its end"),
        (header(1, 0), "There is not one note in it"),
        (header(length=2**32 - 1) + chunk(NOTE, END), "track 1 of 1: The file breaks off"),
        (header(length=0) + chunk(NOTE, END), "track 1 of 1: The file breaks off"),
        (header() + chunk(NOTE, END, length=2**32 - 1), "track 1 of 1: The file breaks off"),
        (header() + chunk(NOTE, END, length=0), "There is not one note in it"),
        (header() + chunk(event(60, 64), END), "as MIDI .running status without"),
        (header() + chunk(event(0xF4), NOTE, END), "as MIDI .undefined status byte"),
        (header() + chunk(event(0xFF, 0x51, 0), NOTE, END), r"as MIDI\. Check the file"),
        (header() + chunk(event(0xFF, 0x58, 1, 4), NOTE, END), r"as MIDI\. Check the file"),
        (header() + chunk(event(0xFF, 0x59, 2, 127, 1), NOTE, END), "as MIDI .Could not decode"),
        (
            header() + chunk(event(0xF0, 0xFF, 0xFF, 0xFF, 0x7F), NOTE, END),
            "as MIDI .Message length",
        ),
        (
            header() + chunk(event(0x90, 60, 64, wait=b"\xff\xff\xff\x7f"), LET_GO, END),
            r"track 1: A note \d+ quarters after the start can't be meant",
        ),
        (
            header() + chunk(STRIKE, event(0x80, 60, 0, wait=b"\xff\xff\xff\x7f"), END),
            "It has more than 20000 measures. Split it into pieces",
        ),
        (header() + chunk(LET_GO, END), "There is not one note in it"),
    ],
)
def test_midi_that_is_sent_back(data: bytes, message: str) -> None:
    refuse(data, message)


@pytest.mark.parametrize(
    "data",
    [
        header() + chunk(NOTE),
        header() + chunk(STRIKE, END),
        header() + chunk(STRIKE, event(0x80, 60, 0), END),
        header() + b"XYZW\0\0\0\3abc" + chunk(NOTE, END),
        header(1, 1) + chunk(NOTE, END) * 3,
        header(1, 3) + chunk(END) * 2 + chunk(NOTE, END),
        header() + chunk(event(0xFF, 0x51, 3, 0, 0, 0), NOTE, END),
        header() + chunk(event(0xFF, 0x58, 4, 0, 2, 24, 8), NOTE, END),
        header() + chunk(event(0xFF, 0x58, 4, 255, 255, 24, 8), NOTE, END),
        header() + chunk(event(0xFF, 3, 4, 0xFF, 0xFE, 0, 10), NOTE, END),
        header() + chunk(event(0x99, 38, 64), event(0x89, 38, 0, wait=b"\x83\x60"), END),
    ],
)
def test_odd_midi_is_read(data: bytes) -> None:
    assert len(read(data).notes) == 1


def test_a_key_struck_thousands_of_times_at_once_ends() -> None:
    made = read(header() + chunk(STRIKE * 20_000, LET_GO * 20_000, END))
    assert {int(pitch) for pitch in made.notes.midi_pitch} == {60}
    assert len(made.notes) < 100


def test_an_absurd_tempo_is_left_out_and_told() -> None:
    made = read(header() + chunk(event(0xFF, 0x51, 3, 0, 0, 1), NOTE, END))
    assert made.oddities == ("A tempo faster than anything can be played is left out.",)
    assert made.directions == ()


def test_drones_that_would_fill_the_memory_are_sent_back() -> None:
    beat = event(0xFF, 0x58, 4, 1, 2, 24, 8)
    strikes = b"".join(event(0x90, pitch, 64) for pitch in range(100))
    let_go = event(0x80, 0, 0, wait=b"\x8b\xcc\x30")  # 190,000 ticks, a tenth of a quarter each
    more = b"".join(event(0x80, pitch, 0) for pitch in range(1, 100))
    refuse(
        header(division=10) + chunk(beat, strikes, let_go, more, END),
        r"Its notes sound on over so many barlines that they would be 1900000 tied notes",
    )
