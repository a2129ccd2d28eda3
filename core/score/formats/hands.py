"""Which hand takes a key, where one track holds a keyboard piece.

Conventions: at each onset a boundary parts the keys; what lies at or above it is the right
hand's. The cheapest path of boundaries is taken: hands that reach no wider than a ninth or so,
a wide gap between them, near middle C, moving little.

Source: common practice of keyboard notation; the weights are our own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_BOUNDARIES = np.arange(40, 84)
_MIDDLE = 60
_REACH = 14
"""Semitones that one hand takes without rolling."""
_COST_OF_REACH, _COST_OF_DISTANCE, _WORTH_OF_GAP = 1.0, 0.04, 0.12
_COST_OF_MOVING = 0.15
_WIDEST_GAP = 12


def boundaries_of(chords: Sequence[Sequence[int]]) -> list[int]:
    """The lowest key of the right hand at each onset.

    Parameters
    ----------
    chords : of MIDI pitches, one at each onset.
    """
    moving = _COST_OF_MOVING * np.abs(_BOUNDARIES[:, None] - _BOUNDARIES)
    total = np.zeros(len(_BOUNDARIES))
    came_from = []
    for chord in chords:
        ways = total + moving
        best = ways.argmin(axis=1)
        came_from.append(best)
        total = ways[np.arange(len(best)), best] + _costs(np.array(sorted(chord)))
    path = [int(total.argmin())]
    for best in reversed(came_from[1:]):
        path.append(int(best[path[-1]]))
    return [int(_BOUNDARIES[index]) for index in reversed(path)]


def _costs(chord: NDArray[np.int64]) -> Floats:
    """What each boundary costs for one chord, in order of pitch."""
    count = np.searchsorted(chord, _BOUNDARIES)
    lowest, highest, last = chord[0], chord[-1], len(chord)
    below = chord[np.maximum(count - 1, 0)]
    above = chord[np.minimum(count, last - 1)]
    left = np.where(count > 0, below - lowest, 0)
    right = np.where(count < last, highest - above, 0)
    over = np.maximum(left - _REACH, 0) + np.maximum(right - _REACH, 0)
    to_below = np.where(count > 0, _BOUNDARIES - below, _WIDEST_GAP)
    to_above = np.where(count < last, above - _BOUNDARIES, _WIDEST_GAP)
    gap = np.minimum(np.minimum(to_below, to_above), _WIDEST_GAP)
    far = np.abs(_BOUNDARIES - _MIDDLE)
    costs: Floats = _COST_OF_REACH * over + _COST_OF_DISTANCE * far - _WORTH_OF_GAP * gap
    return costs
