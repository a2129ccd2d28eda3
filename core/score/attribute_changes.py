"""What ``<attributes>`` change on the way: divisions, signatures, staves, transposition.

Conventions: changes are listed in the order of the file, each with its event.

Source: MusicXML 4.0, ``attributes``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from lxml import etree

from core.score.clock import decimal, fractions_of, nominal_quarters
from core.score.events import Events
from core.score.quoting import shown

MOST_STAVES = 99
"""Of one part; an organ has three."""


class Signature(NamedTuple):
    """A time signature as printed, and quarters of a full measure; None without one."""

    printed: str | None = None
    quarters: Fraction | None = None


@dataclass(slots=True)
class AttributeChanges:
    """All changes of a score.

    Parameters
    ----------
    divisions : list of (event, divisions of the quarter note)
    signatures : list of (event, Signature)
    fifths : list of (event, fifths or None for a key without)
    staves : list of (event, how many)
    transpositions : list of (event, staff or 0 for all, semitones)
    """

    divisions: list[tuple[int, Fraction]] = field(default_factory=list)
    signatures: list[tuple[int, Signature]] = field(default_factory=list)
    fifths: list[tuple[int, int | None]] = field(default_factory=list)
    staves: list[tuple[int, int]] = field(default_factory=list)
    transpositions: list[tuple[int, int, int]] = field(default_factory=list)


def read_changes(events: Events) -> AttributeChanges:
    """Take in all attributes.

    Raises
    ------
    UnreadableFileError
        Divisions that are no positive number, or more staves than can be meant.
    """
    changes = AttributeChanges()
    for event, attributes in events.elements("attributes"):
        for child in attributes:
            tag = child.tag
            if tag == "divisions":
                changes.divisions.append((event, _divisions(events, event, child.text)))
            elif tag == "time" and _is_for_first_staff(child):
                changes.signatures.append((event, _signature(child)))
            elif tag == "key" and _is_for_first_staff(child):
                changes.fifths.append((event, _fifths(child)))
            elif tag == "staves":
                changes.staves.append((event, _staves(events, event, child.text)))
            elif tag == "transpose":
                changes.transpositions.append((event, *_transposition(child)))
    return changes


def _is_for_first_staff(element: etree._Element) -> bool:
    return bool(element.get("number", "1").strip() == "1")


def _divisions(events: Events, event: int, text: str | None) -> Fraction:
    divisions = decimal(text)
    if divisions is None or divisions <= 0:
        events.fail(event, f"The quarter note has {shown(text)!r} divisions")
    return divisions


def _staves(events: Events, event: int, text: str | None) -> int:
    staves = int(decimal(text) or 1)
    if staves > MOST_STAVES:
        events.fail(event, f"A part of {shown(text)} staves can't be meant")
    return staves


def _signature(time: etree._Element) -> Signature:
    quarters = nominal_quarters(time)
    if not quarters:
        return Signature()
    pairs = [f"{'+'.join(beats)}/{beat_type}" for beats, beat_type in fractions_of(time)]
    return Signature("+".join(pairs), quarters)


def _fifths(key: etree._Element) -> int | None:
    fifths = decimal(key.findtext("fifths"))
    if fifths is None or fifths.denominator != 1 or abs(fifths) > 14:
        return None
    return int(fifths)


def _transposition(transpose: etree._Element) -> tuple[int, int]:
    chromatic = decimal(transpose.findtext("chromatic")) or 0
    octaves = decimal(transpose.findtext("octave-change")) or 0
    return int(decimal(transpose.get("number")) or 0), int(chromatic + 12 * octaves)
