"""Exact time: the common division of a score, and numbers of the file turned into ticks.

Conventions: a duration in the file is a decimal number of *divisions*; so many divisions make
a quarter note, and that may change from part to part and on the way. Ticks are integers of one
common division for the whole score.

Source: MusicXML 4.0, ``divisions``, ``duration``, ``positive-divisions`` (decimals allowed).
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import gcd, lcm

from lxml import etree

TICKS_LIMIT = 2**31
"""Ticks a quarter note, exclusive: sums of a long score then stay within 63 bits."""
LONGEST_QUARTERS = 100_000
"""A longer single duration is a slip of the file; an hour at 120 has 7200."""

_DECIMAL = re.compile(r"[+-]?(\d{1,18}(\.\d{0,18})?|\.\d{1,18})")


class FinerTicksError(Exception):
    """A duration is no whole number of ticks; the score is read again with finer ones."""


def decimal(text: str | None) -> Fraction | None:
    """A decimal number of the file, exactly; None when it is none.

    Examples
    --------
    >>> decimal(" 1.5 "), decimal("1e9"), decimal(None)
    (Fraction(3, 2), None, None)
    """
    stripped = (text or "").strip()
    return Fraction(stripped) if _DECIMAL.fullmatch(stripped) else None


def common_division(root: etree._Element, *, with_durations: bool = False) -> int:
    """Ticks a quarter note, so that divisions and full measures are whole.

    Parameters
    ----------
    root : lxml element
    with_durations : bool
        Whether to heed decimals in every duration and offset too; slow, and seldom needed.
    """
    ticks = 1
    for element in root.iter("divisions", "time"):
        if element.tag == "divisions":
            divisions = decimal(element.text)
            if divisions and divisions > 0:
                ticks = lcm(ticks, divisions.numerator)
        else:
            ticks = lcm(ticks, nominal_quarters(element).denominator)
        if ticks >= TICKS_LIMIT:
            return ticks
    if with_durations:
        ticks *= _fineness(root)
    return ticks


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
            beats = re.findall(r"\d{1,4}", child.text or "")
        elif child.tag == "beat-type" and beats:
            found = re.fullmatch(r"\s*0*([1-9]\d{0,3})\s*", child.text or "")
            if found:
                pairs.append((beats, int(found[1])))
            beats = []
    return pairs


def _fineness(root: etree._Element) -> int:
    finest = 1
    for element in root.iter("duration", "offset"):
        number = decimal(element.text)
        if number is not None and finest % number.denominator:
            finest *= number.denominator // gcd(finest, number.denominator)
    return finest
