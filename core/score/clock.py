"""Exact time: the common division of a score, and numbers of the file turned into ticks.

Conventions: a duration in the file is a decimal number of *divisions*; so many divisions make
a quarter note, and that may change from part to part and on the way. Ticks are integers of one
common division for the whole score.

Source: MusicXML 4.0, ``divisions``, ``duration``, ``positive-divisions`` (decimals allowed).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import NamedTuple

from lxml import etree

TICKS_LIMIT = 2**31
"""Ticks a quarter note, exclusive: sums over a long score then stay within 63 bits."""
LONGEST_QUARTERS = 10_000
"""A longer single duration is a slip of the file; an hour at 120 has 7200."""
LARGEST_NUMBER = 10**9
"""Divisions; times ``TICKS_LIMIT`` that still fits 63 bits."""

_DECIMAL = re.compile(r"[+-]?(\d{1,18}(\.\d{0,9})?|\.\d{1,9})")


class Division(NamedTuple):
    """The common division.

    Parameters
    ----------
    ticks : int
        Ticks a quarter note.
    fineness : int
        What decimals in durations have to be multiplied by to be whole; 1 where none has any.
    """

    ticks: int
    fineness: int = 1


class FinerTicksError(Exception):
    """A duration is no whole number of ticks; the score is read again with finer ones."""


@lru_cache(maxsize=4096)
def decimal(text: str | None) -> Fraction | None:
    """A decimal number of the file, exactly; None when it is none.

    Examples
    --------
    >>> decimal(" 1.5 "), decimal("1e9"), decimal(None)
    (Fraction(3, 2), None, None)
    """
    stripped = (text or "").strip()
    return Fraction(stripped) if _DECIMAL.fullmatch(stripped) else None


def common_division(
    divisions: Iterable[Fraction], full_measures: Iterable[Fraction], *, fineness: int = 1
) -> Division:
    """Ticks a quarter note, so that divisions and full measures are whole.

    Parameters
    ----------
    divisions : all divisions of the quarter note in the score.
    full_measures : quarters in a full measure of every time signature.
    fineness : int
        As ``fineness_of``; asked for only when some duration turns out to be no whole number.

    Returns
    -------
    Division
        With ``TICKS_LIMIT`` ticks or more where the score can't be counted.
    """
    ticks = 1
    for number in {d.numerator for d in divisions} | {f.denominator for f in full_measures}:
        ticks = lcm(ticks, number)
        if ticks >= TICKS_LIMIT:
            break
    return Division(ticks * fineness, fineness)


def fineness_of(root: etree._Element) -> int:
    """The common denominator of the decimals in all durations and offsets."""
    finest = 1
    for element in root.iter("duration", "offset"):
        number = decimal(element.text)
        if number is not None:
            finest = lcm(finest, number.denominator)
    return finest


def nominal_quarters(time: etree._Element) -> Fraction:
    """Quarter notes in a full measure of a ``<time>``; 0 when it has no readable number."""
    return sum(
        (Fraction(4 * sum(map(int, beats)), beat_type) for beats, beat_type in fractions_of(time)),
        Fraction(0),
    )


def fractions_of(time: etree._Element) -> list[tuple[list[str], int]]:
    """The pairs of a ``<time>``: beats as printed ("3", "2"), and the beat type."""
    pairs = []
    beats: list[str] = []
    for child in time:
        if child.tag == "beats":
            beats = [beat for beat in re.findall(r"\d+", child.text or "") if len(beat) < 5]
        elif child.tag == "beat-type" and beats:
            found = re.fullmatch(r"\s*0*([1-9]\d{0,3})\s*", child.text or "")
            if found:
                pairs.append((beats, int(found[1])))
            beats = []
    return pairs
