"""What each beat says of each key.

Conventions: one row a slice, one column for each of ``KEYS``; a value is a logarithm, worth so
much a quarter. The evidence is a weighted sum of

* the spelled pitches of the beats around: how much commoner each is in the key than at large;
* the chords around, in the same way;
* dominants around that resolve into the tonic;
* how often the tonic's chord stands on its root, and the tonic in the bass;
* the printed signature, when it is two signs or more away;
* the key of the whole piece.

"Around" is near (two beats on each side) and wide (eight or sixteen). In a short piece keys last
a few beats, and what is near counts; in a long one they last pages. The weights go from the one
set to the other with the length of the piece, and where the harmony changes slowly nearly as
far: a chorale has as many chords in a line as a song has on a page.

Tables and weights are judgements in round numbers: shares in thousandths for pitches, plain
ratios for chords, from common practice. The weights were chosen by looking at analysed pieces,
first at one half of them and then at the other. The shares that follow from the evidence are
honest as they stand: of the passages given 0.8, about eight in ten are right.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from core.analysis.chords import NO_CHORD, QUALITIES, QUALITY_INDEX, Chords
from core.analysis.keys import KEYS, Key, Mode
from core.analysis.slices import FIFTHS, LOWEST_FIFTHS, Floats, Ints, Slices, window_sums
from core.score.score import Score

NEAR, MIDDLE, WIDE = 2, 8, 16
"""Slices on each side."""
SHORT_QUARTERS, LONG_QUARTERS = 80, 150
QUICK_PACE, SLOW_PACE = 0.65, 0.5
"""Changes of root a quarter."""
BY_PACE, COST_BY_PACE = 0.85, 0.2
"""How far a slow pace moves the weights, and the cost of another key, towards those of ``LONG``."""
RARE = 1
"""Thousandths of a pitch that a key has no use for."""
PITCH_SHARES: Mapping[Mode, Mapping[int, int]] = {
    "major": {
        0: 180, 1: 200, 4: 140, 2: 115, -1: 100, 3: 95, 5: 85, 6: 20, -2: 12, 7: 10,
        -4: 7, -3: 6, 8: 5, 9: 4, -5: 2, 10: 2,
    },
    "minor": {
        0: 190, 1: 195, -3: 130, 2: 105, -1: 105, -4: 75, 5: 70, -2: 50, 3: 22, 6: 15,
        4: 12, -5: 7, 7: 3, -6: 2, 8: 2,
    },
}  # fmt: skip
"""Of the pitches at so many fifths above the tonic."""
UNLIKELY_CHORD = 0.15
CHORD_RATIOS: Mapping[Mode, Mapping[str, Mapping[int, float]]] = {
    "major": {
        "major": {0: 8, 7: 6, 5: 3.5, 2: 0.8, 9: 0.3, 4: 0.3, 8: 0.3, 10: 0.2},
        "minor": {2: 3, 9: 2.5, 4: 1, 5: 0.5, 0: 0.4, 7: 0.2},
        "diminished": {11: 2},
        "dominant seventh": {7: 8, 2: 1, 0: 0.6, 9: 0.5, 4: 0.5},
        "diminished seventh": {11: 1.5, 6: 0.6, 1: 0.3, 8: 0.3},
        "half-diminished seventh": {11: 1.5, 6: 0.5, 2: 0.5},
        "minor seventh": {2: 3, 9: 1},
        "major seventh": {0: 1, 5: 1},
        "augmented": {7: 0.4},
    },
    "minor": {
        "major": {7: 6, 8: 2, 3: 1.5, 10: 1, 5: 0.6, 1: 0.6, 0: 0.6},
        "minor": {0: 8, 5: 3, 7: 0.7},
        "diminished": {11: 2, 2: 1.2},
        "dominant seventh": {7: 7, 10: 0.7, 8: 0.5, 0: 0.4, 2: 0.4},
        "diminished seventh": {11: 3, 6: 0.5},
        "half-diminished seventh": {2: 2.5},
        "minor seventh": {5: 1, 0: 0.5},
        "major seventh": {8: 1},
        "augmented": {3: 0.5},
    },
}
"""How much likelier than another one a chord is, by semitones of its root above the tonic."""


class KeyWeights(NamedTuple):
    """Weights of the evidence, in the order in which it is gathered; cost of another key."""

    pitches_near: float
    pitches_wide: float
    chords_near: float
    chords_around: float
    resolutions_near: float
    resolutions_around: float
    tonic_chord: float
    tonic_bass: float
    far_from_home: float
    home: float
    far_from_signature: float
    another_key: float


SHORT = KeyWeights(
    pitches_near=2.5, pitches_wide=0.0, chords_near=2.0, chords_around=1.0,
    resolutions_near=1.0, resolutions_around=1.0, tonic_chord=1.0, tonic_bass=0.5,
    far_from_home=0.0, home=0.5, far_from_signature=1.0, another_key=1.5,
)  # fmt: skip
LONG = KeyWeights(
    pitches_near=0.5, pitches_wide=1.0, chords_near=0.5, chords_around=1.25,
    resolutions_near=2.0, resolutions_around=1.5, tonic_chord=1.0, tonic_bass=1.0,
    far_from_home=0.25, home=1.0, far_from_signature=2.0, another_key=8.0,
)  # fmt: skip
MOST_SIGNS_AWAY = 4

_SIGNATURES = np.array([key.signature for key in KEYS])
_TONICS = np.array([key.pitch_class for key in KEYS])
_IS_MAJOR = np.array([key.mode == "major" for key in KEYS])


def weights_for(quarters: float, pace: float) -> tuple[Floats, float]:
    """Weights for a piece, shape (11,), and the cost of another key.

    Parameters
    ----------
    quarters : float
        Its length.
    pace : float
        Changes of root a quarter (``Chords.pace``).
    """
    long = np.log(max(quarters, 1.0) / SHORT_QUARTERS) / np.log(LONG_QUARTERS / SHORT_QUARTERS)
    by_length = min(max(float(long), 0.0), 1.0)
    by_pace = min(max((QUICK_PACE - pace) / (QUICK_PACE - SLOW_PACE), 0.0), 1.0)
    first, last = np.array(SHORT), np.array(LONG)
    share = np.full(len(first), max(by_length, BY_PACE * by_pace))
    share[-1] = max(by_length, COST_BY_PACE * by_pace)
    mixed = first + share * (last - first)
    return mixed[:-1], float(mixed[-1])


def key_evidence(score: Score, slices: Slices, chords: Chords, home: Key | None) -> Floats:
    """Weighted evidence of each slice for each key, a quarter; shape (n, 30)."""
    weights, _ = weights_for(float(slices.quarters.sum()), chords.pace(slices.quarters))
    pitches = np.minimum(slices.fifths, 1.0) @ PITCH_EVIDENCE
    named = chord_evidence(chords)
    resolved = resolutions(chords)
    is_bass = np.asarray(np.equal(chords.bass[:, np.newaxis], _TONICS), dtype=np.float64)
    kinds = (
        _mean(pitches, NEAR),
        _mean(pitches, WIDE),
        _mean(named, NEAR),
        _mean(named, MIDDLE),
        _mean(resolved, NEAR),
        _mean(resolved, MIDDLE),
        _mean(_tonic_chords(chords) * is_bass, MIDDLE),
        _mean(is_bass, MIDDLE),
        *_of_home(home, len(slices)),
        _signature_evidence(score, slices),
    )
    total = np.zeros((len(slices), len(KEYS)))
    for weight, kind in zip(weights, kinds, strict=True):
        total += weight * kind
    return total


def chord_evidence(chords: Chords) -> Floats:
    """What the chord of each slice says of each key; nothing where there is no chord."""
    row = np.where(
        chords.quality == NO_CHORD, 12 * len(QUALITIES), 12 * chords.quality + chords.root
    )
    return np.asarray(_CHORD_EVIDENCE[row], dtype=np.float64)


def resolutions(chords: Chords) -> Floats:
    """Where a dominant gives way to the tonic's chord, shape (n, 30); more with the bass."""
    found = np.zeros((len(chords), len(KEYS)))
    changes = chords.changes
    if len(changes) < 2:
        return found
    before, after = changes[:-1, np.newaxis], changes[1:, np.newaxis]
    above = (chords.root[before] - _TONICS) % 12
    quality = chords.quality[before]
    is_seventh = quality == QUALITY_INDEX["dominant seventh"]
    is_dominant = (above == 7) & (is_seventh | (quality == QUALITY_INDEX["major"]))
    leads = (above == 11) & np.isin(quality, _LEADING)
    is_tonic = _tonic_chords(chords)[changes[1:]] > 0
    on_tonic = chords.bass[after] == _TONICS
    from_fifth = (chords.bass[before] - _TONICS) % 12 == 7
    strength = np.where(
        is_dominant, np.where(is_seventh, 1.0, 0.6) + 0.5 * on_tonic * from_fifth, 0.0
    )
    strength = np.where(leads, 0.6, strength)
    has_chords = (chords.quality[before] != NO_CHORD) & (chords.quality[after] != NO_CHORD)
    found[changes[1:]] = strength * is_tonic * has_chords
    return found


def _mean(values: Floats, reach: int) -> Floats:
    return np.asarray(window_sums(values, reach) / (2 * reach + 1), dtype=np.float64)


def _tonic_chords(chords: Chords) -> Floats:
    quality = np.where(_IS_MAJOR, QUALITY_INDEX["major"], QUALITY_INDEX["minor"])
    has_quality = np.equal(chords.quality[:, np.newaxis], quality)
    has_root = np.equal(chords.root[:, np.newaxis], _TONICS)
    return np.asarray(has_quality & has_root, dtype=np.float64)


def _of_home(home: Key | None, count: int) -> tuple[Floats, Floats]:
    """How far each key is from that of the piece, and whether it has its tonic."""
    if home is None:
        nothing = np.zeros((count, len(KEYS)))
        return nothing, nothing
    away = -np.minimum(np.abs(_SIGNATURES - home.signature), MOST_SIGNS_AWAY).astype(np.float64)
    same = np.asarray(np.equal(home.pitch_class, _TONICS), dtype=np.float64)
    return np.tile(away, (count, 1)), np.tile(same, (count, 1))


def _signature_evidence(score: Score, slices: Slices) -> Floats:
    fifths = np.array([np.nan if m.fifths is None else m.fifths for m in score.measures])
    away = np.abs(fifths[slices.measure][:, np.newaxis] - _SIGNATURES)
    return np.asarray(-np.nan_to_num(np.clip(away - 1, 0, 2)), dtype=np.float64)


def _pitch_evidence() -> Floats:
    shares = np.full((len(FIFTHS), len(KEYS)), float(RARE))
    for column, key in enumerate(KEYS):
        for above, thousandths in PITCH_SHARES[key.mode].items():
            row = key.tonic + above - LOWEST_FIFTHS
            if 0 <= row < len(FIFTHS):
                shares[row, column] = thousandths
    return _against_the_rest(np.log(shares))


def _chord_table() -> Floats:
    ratios = np.full((12 * len(QUALITIES), len(KEYS)), UNLIKELY_CHORD)
    for column, key in enumerate(KEYS):
        for quality, roots in CHORD_RATIOS[key.mode].items():
            for above, ratio in roots.items():
                row = 12 * QUALITY_INDEX[quality] + (key.pitch_class + above) % 12
                ratios[row, column] = ratio
    return np.vstack([_against_the_rest(np.log(ratios)), np.zeros((1, len(KEYS)))])


def _against_the_rest(logarithms: Floats) -> Floats:
    return np.asarray(logarithms - logarithms.mean(axis=1, keepdims=True), dtype=np.float64)


_LEADING: Ints = np.array(
    [
        QUALITY_INDEX[name]
        for name in ("diminished", "diminished seventh", "half-diminished seventh")
    ]
)
PITCH_EVIDENCE = _pitch_evidence()
"""What a quarter of each spelled pitch says of each key, shape (35, 30)."""
_CHORD_EVIDENCE = _chord_table()
