"""Degrees of a scale as heads on a treble staff: spelling only, from the tonic and their names.

A degree is named against the major scale on the tonic, as the command line does: "b3", "#4".
"""

from __future__ import annotations

from collections.abc import Iterable

from app.tonality.shown_finding import PaletteDegree
from app.tonality.signs import with_signs

_MAJOR_FIFTHS = (0, 2, 4, -1, 1, 3, 5)
"""Degrees of a major scale on the line of fifths from its tonic."""
_LETTERS = "FCGDAEB"
_STEPS = "CDEFGAB"
_LOWEST_TONIC = -2
"""The A below middle C: from here up an octave of tonics lies well on the treble staff."""


def palette_of(
    tonic: int, degrees: Iterable[tuple[str, int]], bent: Iterable[str] = ()
) -> tuple[PaletteDegree, ...]:
    """Degrees on a staff, in the order given.

    Parameters
    ----------
    tonic : int
        Place on the line of fifths: C is 0, G 1, F -1.
    degrees : iterable of (str, int)
        Name, and how often it sounds.
    bent : iterable of str
        Names of those that depart from the scale.

    Examples
    --------
    >>> [(d.label, d.position, d.alter) for d in palette_of(1, [("1", 8), ("b3", 5), ("7", 0)])]
    [('1', 4, 0), ('♭3', 6, -1), ('7', 10, 1)]
    """
    marked = frozenset(bent)
    return tuple(
        PaletteDegree(
            label=with_signs(name),
            position=_tonic_position(tonic) + _number(name) - 1,
            alter=_fifths(tonic, name) // len(_LETTERS),
            count=count,
            is_bent=name in marked,
        )
        for name, count in degrees
    )


def _number(name: str) -> int:
    return int(name.lstrip("#b"))


def _fifths(tonic: int, name: str) -> int:
    """Place of a degree on the line of fifths, counted from F, so that naturals are 0 to 6."""
    steps = _MAJOR_FIFTHS[(_number(name) - 1) % len(_MAJOR_FIFTHS)]
    return tonic + steps + 7 * (name.count("#") - name.count("b")) + 1


def _tonic_position(tonic: int) -> int:
    step = _STEPS.index(_LETTERS[(tonic + 1) % len(_LETTERS)])
    return step if step < _LOWEST_TONIC + len(_STEPS) else step - len(_STEPS)
