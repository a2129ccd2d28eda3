"""How a duration is written: note type, dots, tuplet; and what needs several tied notes.

Source: common practice of Western notation; MusicXML 4.0, ``note-type-value``.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from core.score.clock import LONGEST_QUARTERS

TYPES = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}
"""Quarter notes of each type, the longest first."""
FLAGS = {
    name: quarters.denominator.bit_length() - 1 for name, quarters in TYPES.items() if quarters < 1
}
"""How many flags, or beams, a type has."""

Shape = tuple[str, int, tuple[int, int] | None]

_TUPLETS = ((3, 2), (5, 4), (7, 4), (9, 8), (11, 8), (13, 8), (15, 8), (7, 8))


@lru_cache(maxsize=4096)
def shape_of(quarters: Fraction) -> Shape | None:
    """Type, dots and tuplet of one note of that duration; None where it takes several.

    Examples
    --------
    >>> shape_of(Fraction(3, 2)), shape_of(Fraction(1, 3)), shape_of(Fraction(5, 4))
    (('quarter', 1, None), ('eighth', 0, (3, 2)), None)
    """
    if quarters <= 0:
        return None
    plain = _plain(quarters)
    if plain:
        return (*plain, None)
    for actual, normal in _TUPLETS:
        plain = _plain(quarters * actual / normal)
        if plain and plain[1] < 2:
            return (*plain, (actual, normal))
    return None


def _plain(quarters: Fraction) -> tuple[str, int] | None:
    for dots, factor in enumerate((Fraction(1), Fraction(3, 2), Fraction(7, 4), Fraction(15, 8))):
        for name, length in TYPES.items():
            if length * factor == quarters:
                return name, dots
    return None


@lru_cache(maxsize=4096)
def pieces_of(onset: Fraction, quarters: Fraction) -> tuple[Fraction, ...]:
    """Durations that can each be one note and together last ``quarters``; each as long as can be.

    A piece that begins off the beat ends at the next whole quarter at the latest, where one
    note can't have the whole.

    Examples
    --------
    >>> pieces_of(Fraction(0), Fraction(5, 2))
    (Fraction(2, 1), Fraction(1, 2))
    """
    pieces: list[Fraction] = []
    if quarters > LONGEST_QUARTERS:
        return (quarters,)  # whoever reads it sends it back
    while quarters > 0:
        if shape_of(quarters):
            return (*pieces, quarters)
        to_beat = -onset % 1
        piece = to_beat if 0 < to_beat < quarters and shape_of(to_beat) else _longest(quarters)
        if piece is None:
            return (*pieces, quarters)
        pieces.append(piece)
        onset, quarters = onset + piece, quarters - piece
    return tuple(pieces)


def _longest(quarters: Fraction) -> Fraction | None:
    return next((length for length in TYPES.values() if length <= quarters), None)
