"""Small whole files of every format, to be damaged; all invented."""

from __future__ import annotations

from typing import NamedTuple

from core.resources import sample_library
from tests.benchmarks.growing_scores import WRITERS, invented
from tests.core.score.formats.written_humdrum import PIECE as HUMDRUM
from tests.core.score.formats.written_mei import PIECE as MEI
from tests.core.score.formats.written_midi import key, metre, midi, track
from tests.core.score.written_scores import attributes, chord, move, mxl, note, rest, score, words

ABC = """\
%abc-2.1
X:1
T:Invented Air
C:Anna Nemo
M:6/8
L:1/8
Q:3/8=80
K:Em
B|e2f (gfe)|{g}B3 z2 B|[1 ^d2e f3-|f3 e2:|[2 (3Bcd e4||
|:[eB]2[gB] .a2 .b|"Em"e6:|
"""
VOICES = """\
X:1
M:4/4
L:1/4
%%score {1 2}
V:1 clef=treble
V:2 clef=bass
K:G
V:1
cdef|c4|[K:D][M:3/4]d3|
V:2
C,4|F,4|D,3|
"""


class Source(NamedTuple):
    """A file's name, which says its format, and its bytes."""

    name: str
    data: bytes


def sources() -> list[Source]:
    """All of them, each format several times."""
    made = [
        Source("small.musicxml", _small()),
        Source("small.mxl", mxl(_small())),
        Source("small.krn", HUMDRUM.encode()),
        Source("small.mei", MEI.encode()),
        Source("small.abc", ABC.encode()),
        Source("voices.abc", VOICES.encode()),
        Source("small.mid", _midi()),
    ]
    music = invented(12)
    suffixes = {"MusicXML": "musicxml", "MEI": "mei", "Humdrum": "krn", "ABC": "abc", "MIDI": "mid"}
    made += [Source(f"two_hands.{suffixes[name]}", w(music)) for name, w in WRITERS.items()]
    barcarolle = (sample_library() / "barcarolle.musicxml").read_bytes()
    made += [Source("barcarolle.musicxml", barcarolle), Source("barcarolle.mxl", mxl(barcarolle))]
    return made


def _small() -> bytes:
    """Two parts with what a score may have: chords, graces, tuplets, repeats, words, jumps."""
    third = (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
        "</time-modification>"
    )
    end = (
        '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/>'
        "</barline>"
    )
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    upper = [
        attributes(6, "3/4", "<key><fifths>-2</fifths></key><staves>2</staves>")
        + words("Andante")
        + note("Bb4", 6, "<tie type='start'/><voice>1</voice><staff>1</staff>", id="a")
        + chord("D5", 6)
        + note("C5", 4, third) * 3
        + move("backup", 18)
        + rest(18, "<voice>5</voice><staff>2</staff>", whole=True),
        first + note("F#4", None, "").replace("<note>", "<note><grace/>") + note("G4", 18) + end,
        words("D.C. al Fine") + note("G4", 18, "<staff>2</staff>", id="a"),
    ]
    lower = [attributes(4, "3/4") + note("G2", 12), rest(12, whole=True), note("D3", 12)]
    return score(upper, lower)


def _midi() -> bytes:
    hand = [(i, 0.9, pitch) for i, pitch in enumerate((57, 60, 64, 69, 68, 64, 60, 57))]
    drums = [(i, 0.5, 38) for i in range(8)]
    return midi(
        track(hand, before=[metre(3, 4), key("Am")], later=[(3, metre(4, 4))]),
        track(drums, channel=9),
    )
