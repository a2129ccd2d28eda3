"""Notes, chords and rests of music21 into events.

Conventions: music21's objects are asked for what they hold and never changed. What is asked of
every note is asked as cheaply as can be: this and the parsing are what reading a file costs.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any

from core.score.formats.drafts import Event, Pitch
from core.score.formats.note_shapes import TYPES, Shape

_MARKS = {
    "Staccatissimo": "articulations/staccatissimo",
    "Spiccato": "articulations/spiccato",
    "Staccato": "articulations/staccato",
    "DetachedLegato": "articulations/detached-legato",
    "Tenuto": "articulations/tenuto",
    "StrongAccent": "articulations/strong-accent",
    "Accent": "articulations/accent",
    "Stress": "articulations/stress",
    "Unstress": "articulations/unstress",
    "BreathMark": "articulations/breath-mark",
    "Caesura": "articulations/caesura",
    "Scoop": "articulations/scoop",
    "Doit": "articulations/doit",
    "Falloff": "articulations/falloff",
    "UpBow": "technical/up-bow",
    "DownBow": "technical/down-bow",
    "OpenString": "technical/open-string",
    "StringHarmonic": "technical/harmonic",
    "SnapPizzicato": "technical/snap-pizzicato",
    "Trill": "ornaments/trill-mark",
    "InvertedMordent": "ornaments/inverted-mordent",
    "Mordent": "ornaments/mordent",
    "InvertedTurn": "ornaments/inverted-turn",
    "Turn": "ornaments/turn",
    "Schleifer": "ornaments/schleifer",
    "Shake": "ornaments/shake",
    "Fermata": "fermata",
    "ArpeggioMark": "arpeggiate",
}
"""Path below ``notations`` of what music21 calls so; a class without its own has its parent's."""
_BEAMS = {"start": "begin", "continue": "continue", "stop": "end"}
_TIES = frozenset(("start", "stop", "continue"))


@lru_cache(maxsize=65536)
def exact(quarters: float | Fraction) -> Fraction:
    """music21's offsets and durations as exact fractions; what it rounded is put right.

    Examples
    --------
    >>> exact(0.75), exact(Fraction(1, 3)), exact(0.16666667)
    (Fraction(3, 4), Fraction(1, 3), Fraction(1, 6))
    """
    fraction = Fraction(quarters)
    if fraction.denominator < 65536:
        return fraction
    return fraction.limit_denominator(10_000)


def event_of(element: Any, onset: Fraction, slurs: tuple[tuple[int, str], ...] = ()) -> Event:
    """A note, chord or rest of music21 as an event."""
    duration = element.duration
    grace = ""
    if duration.isGrace:
        grace = "slashed" if getattr(duration, "slash", True) else "plain"
    quarters = Fraction(0) if grace else exact(duration.quarterLength)
    shape = _shape(duration)
    if element.isRest:
        return _rest(element, onset, quarters, shape)
    is_unpitched = False
    if element.isChord:
        pitches, is_unpitched = _chord(element)
    elif hasattr(element, "pitch"):
        pitches = (_pitch(element.pitch, element.tie),)
    else:
        pitches, is_unpitched = (_displayed(element),), True
    beams = element.beams.beamsList
    return Event(
        onset,
        quarters,
        pitches,
        shape,
        grace,
        _marks(element),
        slurs,
        (_BEAMS.get(beams[0].type, ""),) if beams else (),
        is_unpitched,
        False,
        False,
        _lyrics(element.lyrics) if element.lyrics else (),
    )


def _rest(element: Any, onset: Fraction, quarters: Fraction, shape: Shape | None) -> Event:
    return Event(
        onset,
        quarters,
        shape=shape,
        marks=_marks(element),
        is_hidden=bool(element.hasStyleInformation and element.style.hideObjectOnPrint),
        is_whole_measure=element.fullMeasure in (True, "always"),
    )


def _shape(duration: Any) -> Shape | None:
    kind = duration.type
    if kind not in TYPES:
        return None
    tuplets = duration.tuplets
    if not tuplets:
        return kind, duration.dots, None
    actual = normal = 1
    for tuplet in tuplets:
        actual *= tuplet.numberNotesActual
        normal *= tuplet.numberNotesNormal
    return kind, duration.dots, (actual, normal)


def _pitch(pitch: Any, tie: Any) -> Pitch:
    accidental = pitch.accidental
    kind = "" if tie is None else tie.type if tie.type in _TIES else ""
    octave = pitch.octave if pitch.octave is not None else pitch.implicitOctave
    if accidental is None:
        return Pitch(pitch.step, 0, octave, kind)
    return Pitch(pitch.step, accidental.alter, octave, kind, accidental.displayStatus is True)


def _chord(chord: Any) -> tuple[tuple[Pitch, ...], bool]:
    members = chord.notes
    if all(hasattr(member, "pitch") for member in members):
        return tuple([_pitch(member.pitch, member.tie) for member in members]), False
    return tuple([_displayed(m) for m in members if not hasattr(m, "pitch")]), True


def _displayed(unpitched: Any) -> Pitch:
    return Pitch(unpitched.displayStep, 0, unpitched.displayOctave)


def _marks(element: Any) -> tuple[str, ...]:
    found = element.expressions
    if not element.isRest and element.articulations:
        found = [*element.articulations, *found]
    if not found:
        return ()
    return tuple(dict.fromkeys(filter(None, map(_mark, found))))


def _mark(mark: Any) -> str:
    number = getattr(mark, "fingerNumber", None)
    if number is not None:
        return f"technical/fingering={number}"
    names = (kind.__name__ for kind in type(mark).__mro__)
    return next((_MARKS[name] for name in names if name in _MARKS), "")


def _lyrics(lyrics: Sequence[Any]) -> tuple[tuple[str, str], ...]:
    return tuple(
        (lyric.syllabic if lyric.syllabic in ("begin", "middle", "end") else "single",
         lyric.text or "")
        for lyric in lyrics
    )  # fmt: skip
