"""Notes, chords and rests of MEI into events.

Source: Music Encoding Initiative, MEI Guidelines 5.0, 2023: ``note``, ``chord``, ``rest``,
``data.DURATION``, ``data.ACCIDENTAL.WRITTEN`` and ``.GESTURAL``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from core.score.formats.drafts import Event, Pitch
from core.score.formats.note_shapes import TYPES

ID = "{http://www.w3.org/XML/1998/namespace}id"

TYPE_OF_DURATION = {
    "long": "long", "breve": "breve", "1": "whole", "2": "half", "4": "quarter", "8": "eighth",
    "16": "16th", "32": "32nd", "64": "64th", "128": "128th", "256": "256th", "512": "512th",
    "1024": "1024th",
}  # fmt: skip
ALTERATIONS = {
    "n": 0, "s": 1, "f": -1, "x": 2, "ss": 2, "ff": -2, "xs": 3, "sx": 3, "ts": 3, "tf": -3,
    "ns": 1, "nf": -1, "1qs": 0.5, "1qf": -0.5, "3qs": 1.5, "3qf": -1.5, "su": 1.5, "sd": 0.5,
    "fu": -0.5, "fd": -1.5, "nu": 0.5, "nd": -0.5,
}  # fmt: skip
_ARTICULATIONS = {
    "acc": "accent", "stacc": "staccato", "ten": "tenuto", "stacciss": "staccatissimo",
    "marc": "strong-accent", "spicc": "spiccato", "ten-stacc": "detached-legato",
}  # fmt: skip
_TECHNIQUES = {"dnbow": "down-bow", "upbow": "up-bow", "harm": "harmonic", "open": "open-string"}
_TIES = {"i": "start", "m": "continue", "t": "stop"}
_SYLLABIC = {"i": "begin", "m": "middle", "t": "end"}
_OCTAVE = re.compile(r"\d{1,2}")
_TRANSPARENT = {"app", "lem", "choice", "corr", "reg", "expan", "supplied", "unclear", "add",
                "orig", "damage", "subst", "handShift"}  # fmt: skip
"""Editorial elements whose contents are read as if they were not there."""
_ALTERNATIVES = {"app": ("lem", "rdg"), "choice": ("corr", "reg", "expan", "orig", "sic", "abbr")}


@dataclass(slots=True)
class Attached:
    """What the file ties to its notes from elsewhere, by their ids.

    And how many notes are without a pitch, or a duration, that can be read.
    """

    marks: dict[str, list[str]] = field(default_factory=dict)
    slurs: dict[str, list[tuple[int, str]]] = field(default_factory=dict)
    ties: dict[str, set[str]] = field(default_factory=dict)
    without_pitch: int = 0
    without_duration: int = 0


def tag_of(element: etree._Element) -> str:
    """The name without its namespace; empty for what is no element."""
    tag = element.tag
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def contents(element: etree._Element) -> Iterator[tuple[str, etree._Element]]:
    """Children with their names; through editorial elements, of alternatives the first choice."""
    for child in element:
        tag = tag_of(child)
        if tag in _ALTERNATIVES:
            readings = {tag_of(reading): reading for reading in reversed(child)}
            chosen = next((readings[k] for k in _ALTERNATIVES[tag] if k in readings), None)
            if chosen is not None:
                yield from contents(chosen)
        elif tag in _TRANSPARENT:
            yield from contents(child)
        elif tag:
            yield tag, child


def duration_of(
    element: etree._Element, ratio: tuple[int, int] | None
) -> tuple[Fraction, tuple[str, int, tuple[int, int] | None] | None]:
    """Quarter notes and shape; a duration that isn't known is a quarter's."""
    kind = TYPE_OF_DURATION.get(element.get("dur", "4"), "quarter")
    dots = element.get("dots", "")
    count = int(dots) if dots.isdecimal() and len(dots) == 1 else 0
    count = count or sum(tag == "dot" for tag, _ in contents(element))
    quarters = TYPES[kind] * (2 - Fraction(1, 2**count))
    if ratio is not None:
        quarters = quarters * ratio[1] / ratio[0]
    return quarters, (kind, count, ratio)


def event_of(
    tag: str,
    element: etree._Element,
    onset: Fraction,
    ratio: tuple[int, int] | None,
    attached: Attached,
) -> Event:
    """A ``note``, ``chord`` or ``rest``."""
    quarters, shape = duration_of(element, ratio)
    members = [element] if tag == "note" else []
    if tag == "chord":
        members = [child for kind, child in contents(element) if kind == "note"]
        if "dur" not in element.attrib and members:
            quarters, shape = duration_of(members[0], ratio)
    named = [element, *members] if tag == "chord" else [element]
    attached.without_duration += any(node.get("dur", "4") not in TYPE_OF_DURATION for node in named)
    ids = [node.get(ID, "") for node in named]
    chord_tie = _TIES.get(element.get("tie", "")) if tag == "chord" else None
    pitches = tuple(
        [p for member in members if (p := _pitch(member, attached, chord_tie)) is not None]
    )
    attached.without_pitch += len(members) - len(pitches)
    grace = next((node.get("grace") for node in named if node.get("grace")), None)
    return Event(
        onset,
        Fraction(0) if grace else quarters,
        pitches,
        shape,
        "" if not grace else "plain" if grace == "acc" else "slashed",
        tuple(dict.fromkeys(_marks(named, ids, attached))),
        tuple(dict.fromkeys(s for own in ids for s in attached.slurs.get(own, ()))),
        is_hidden=element.get("visible") == "false",
        lyrics=tuple(_lyrics(named)),
    )


def _pitch(note: etree._Element, attached: Attached, chord_tie: str | None) -> Pitch | None:
    step = note.get("pname", "").upper()
    octave = note.get("oct.ges", note.get("oct", ""))
    if step not in ("A", "B", "C", "D", "E", "F", "G") or not _OCTAVE.fullmatch(octave):
        return None
    written, sounding = note.get("accid"), note.get("accid.ges")
    for tag, child in contents(note):
        if tag == "accid":
            written = written or child.get("accid")
            sounding = sounding or child.get("accid.ges")
    alter = ALTERATIONS.get(sounding or written or "n", 0)
    tie = _TIES.get(note.get("tie", ""), chord_tie or "")
    ends = attached.ties.get(note.get(ID, ""))
    if ends:
        ends = ends | ({"start", "stop"} if tie == "continue" else {tie} if tie else set())
        tie = "continue" if len(ends) > 1 else next(iter(ends))
    return Pitch(step, alter, int(octave), tie, written is not None)


def _marks(
    nodes: Iterable[etree._Element], ids: Iterable[str], attached: Attached
) -> Iterator[str]:
    for node in nodes:
        said = [node.get("artic", "")]
        said += [child.get("artic", "") for tag, child in contents(node) if tag == "artic"]
        for artic in " ".join(said).split():
            if artic in _ARTICULATIONS:
                yield f"articulations/{_ARTICULATIONS[artic]}"
            elif artic in _TECHNIQUES:
                yield f"technical/{_TECHNIQUES[artic]}"
        if node.get("fermata"):
            yield "fermata"
    for own in ids:
        yield from attached.marks.get(own, ())


def _lyrics(nodes: Iterable[etree._Element]) -> Iterator[tuple[str, str]]:
    for node in nodes:
        for tag, verse in contents(node):
            syllables = [verse] if tag == "syl" else []
            if tag == "verse":
                syllables = [child for kind, child in contents(verse) if kind == "syl"]
            for syllable in syllables[:1]:
                position = _SYLLABIC.get(syllable.get("wordpos", ""), "single")
                yield position, text_in(syllable)


def text_in(element: etree._Element) -> str:
    """All text in an element, white space normalised."""
    return " ".join("".join(element.itertext()).split())
