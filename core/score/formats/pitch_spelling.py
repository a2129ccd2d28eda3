"""How keys of a keyboard are spelled as notes.

Conventions: a spelling is a place on the line of fifths, where C is 0, G is 1, F is -1. It is
found with the algorithm ps13s1, which hears each note among those around it; then the whole is
moved by twelve fifths at a time until it is nearest to the key signature.

Source: D. Meredith, "The ps13 Pitch Spelling Algorithm", Journal of New Music Research 35(2),
2006, 121-159 (window of 10 notes before and 42 from the note on).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]

_BEFORE, _FROM = 10, 42
_STEP_OF_INTERVAL = np.array([0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6])
"""Steps of the harmonic chromatic scale, by semitones above its tonic."""
_STEP_OF_FIRST = np.array([0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6])
"""The same above A, for the first note of all."""
_FIFTHS_OF_STEP = np.array([3, 5, 0, 2, 4, -1, 1])
"""Place on the line of fifths of A B C D E F G."""
_SEMITONES_OF_STEP = np.array([0, 2, 3, 5, 7, 8, 10])
_A = 9
_FARTHEST = 14
"""Fifths from the signature's middle; beyond lie triple accidentals."""


def fifths_of_pitches(pitches: Integers) -> Integers:
    """Places on the line of fifths, shape (notes,).

    Parameters
    ----------
    pitches : shape (notes,)
        MIDI pitches in order of onset, then pitch.
    """
    if not len(pitches):
        return np.zeros(0, dtype=np.int64)
    chroma = (pitches - _A) % 12
    counts = _counts_around(chroma)
    first = _STEP_OF_FIRST[chroma[0]]
    tonics = np.arange(12)
    tonic_steps = (first - _STEP_OF_INTERVAL[(chroma[0] - tonics) % 12]) % 7
    steps = (_STEP_OF_INTERVAL[(chroma[:, None] - tonics) % 12] + tonic_steps) % 7
    strength = np.zeros((len(chroma), 7), dtype=np.int64)
    rows = np.arange(len(chroma))
    for tonic in tonics:
        np.add.at(strength, (rows, steps[:, tonic]), counts[:, tonic])
    chosen = strength.argmax(axis=1)
    alter = (chroma - _SEMITONES_OF_STEP[chosen] + 6) % 12 - 6
    fifths: Integers = _FIFTHS_OF_STEP[chosen] + 7 * alter
    return fifths


def _counts_around(chroma: Integers) -> Integers:
    """How often each chroma occurs around each note, shape (notes, 12)."""
    one_hot = (chroma[:, None] == np.arange(12)).astype(np.int64)
    sums = np.vstack([np.zeros((1, 12), dtype=np.int64), one_hot.cumsum(axis=0)])
    here = np.arange(len(chroma))
    starts = np.maximum(here - _BEFORE, 0)
    ends = np.minimum(here + _FROM, len(chroma))
    counts: Integers = sums[ends] - sums[starts]
    return counts


def signature_of(fifths: Integers, weights: NDArray[np.float64]) -> int:
    """The key signature, -6 to 6, that leaves the least weight of notes to accidentals."""
    best, fewest = 0, np.inf
    for signature in sorted(range(-6, 7), key=abs):
        # An octave of the line away is the same key of the keyboard.
        from_lowest = (fifths - (signature - 1)) % 12
        outside = float(weights[from_lowest > 6].sum())
        if outside < fewest - 1e-9:
            best, fewest = signature, outside
    return best


def near_signature(fifths: Integers, signature: Integers) -> Integers:
    """The spellings moved by twelve fifths until most lie near their key signature.

    Parameters
    ----------
    signature : shape (notes,), the one in force at each note.
    """
    if not len(fifths):
        return fifths
    # The middle of what a signature and its raised and lowered degrees use.
    distance = fifths - (signature + 2)
    moved = fifths - 12 * round(float(np.median(distance)) / 12)
    far = moved - (signature + 2)
    moved = np.where(far > _FARTHEST, moved - 12, moved)
    nearest: Integers = np.where(far < -_FARTHEST, moved + 12, moved)
    return nearest


def spelled(pitch: int, fifths: int) -> tuple[str, int, int]:
    """Step, alteration and octave.

    Examples
    --------
    >>> spelled(60, 0), spelled(60, 12), spelled(61, -5), spelled(71, -7)
    (('C', 0, 4), ('B', 1, 3), ('D', -1, 4), ('C', -1, 5))
    """
    step, alter = "FCGDAEB"[(fifths + 1) % 7], (fifths + 1) // 7
    return step, alter, (pitch - alter) // 12 - 1
