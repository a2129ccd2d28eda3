"""A score as a reader of some format found it, on its way to MusicXML.

Conventions: all times are exact quarter notes from the start of the measure. Staves and voices
of a part count from 1. Readers fill drafts, ``draft_writer`` writes them; nobody else sees them.
Notes are named tuples, since there are as many of them as notes in the score.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple


class Pitch(NamedTuple):
    """A written pitch; ``tie`` is "", "start", "stop" or "continue".

    ``is_marked``: its accidental is printed even where the key says it already.
    """

    step: str
    alter: float
    octave: int
    tie: str = ""
    is_marked: bool = False


class Event(NamedTuple):
    """A note, a chord, or (without pitches) a rest.

    Parameters
    ----------
    onset, quarters : quarter notes; a grace note lasts none.
    shape : type, dots, (actual, normal) of its tuplet; None where only the duration is known.
    grace : "", "slashed" or "plain".
    marks : paths below ``notations``, such as "articulations/staccato".
    slurs : (number, "start" or "stop") each.
    beams : "begin", "continue", "end", "forward hook" or "backward hook", by level.
    is_unpitched : its pitch is only where it stands.
    is_hidden : a rest that is not printed.
    lyrics : (syllabic, text) each, by verse.
    """

    onset: Fraction
    quarters: Fraction
    pitches: tuple[Pitch, ...] = ()
    shape: tuple[str, int, tuple[int, int] | None] | None = None
    grace: str = ""
    marks: tuple[str, ...] = ()
    slurs: tuple[tuple[int, str], ...] = ()
    beams: tuple[str, ...] = ()
    is_unpitched: bool = False
    is_hidden: bool = False
    is_whole_measure: bool = False
    lyrics: tuple[tuple[str, str], ...] = ()


class Clef(NamedTuple):
    """A clef, with the octaves that it transposes by."""

    sign: str
    line: int | None
    octaves: int = 0


class Change(NamedTuple):
    """A key (fifths, mode), metre (beats, beat type; empty for none) or clef from an onset on."""

    onset: Fraction
    staff: int
    key: tuple[int, str] | None = None
    metre: tuple[str, str] | None = None
    clef: Clef | None = None


class Sign(NamedTuple):
    """A direction.

    Its kind is "words", "dynamics", "rehearsal", "wedge", "pedal", "segno", "coda" or
    "metronome". The text of a metronome is "beat unit|dots|number", of a wedge or pedal its type.
    """

    onset: Fraction
    staff: int
    kind: str
    text: str
    number: int = 1


@dataclass(slots=True, kw_only=True)
class Barline:
    """One edge of a measure, in MusicXML's words; ``ending`` is (number, type)."""

    style: str = ""
    repeat: str = ""
    times: int = 2
    endings: list[tuple[str, str]] = field(default_factory=list)


@dataclass(slots=True, kw_only=True)
class DraftMeasure:
    """One measure of a part: its voices by (staff, voice), each in order of onset."""

    number: str
    quarters: Fraction
    is_implicit: bool = False
    voices: dict[tuple[int, int], list[Event]] = field(default_factory=dict)
    changes: list[Change] = field(default_factory=list)
    signs: list[Sign] = field(default_factory=list)
    left: Barline | None = None
    right: Barline | None = None


@dataclass(slots=True, kw_only=True)
class DraftPart:
    """One part; ``transposition`` is (diatonic, chromatic) from written to sounding."""

    name: str = ""
    staves: int = 1
    measures: list[DraftMeasure] = field(default_factory=list)
    transposition: tuple[int, int] | None = None


@dataclass(slots=True, kw_only=True)
class Draft:
    """A whole score.

    Parameters
    ----------
    guesses : list of str
        What the format can't say and was inferred, one sentence each.
    losses : list of str
        What the file says and was left out, one sentence each.
    """

    title: str = ""
    composer: str = ""
    parts: list[DraftPart] = field(default_factory=list)
    guesses: list[str] = field(default_factory=list)
    losses: list[str] = field(default_factory=list)
