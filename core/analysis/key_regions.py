"""The key of every passage: a path through the keys, beat by beat.

Conventions: keys are spelled (``keys``); regions follow one another without a gap and cover the
score. Times of findings are places of the written score.

Each beat speaks for each key by the logarithm of how much commoner its notes are there than at
large (profile of Albrecht & Shanahan 2013), by notes that the key's spelling can't account for,
and by a dominant that resolves into the tonic's chord. The path with the highest sum is taken
(Viterbi 1967), where leaving a key costs as much as several quarters of clear evidence, more for
a distant one. The weights are round numbers, set by judgement and looked at on analysed pieces.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from core.analysis.key_profiles import ALBRECHT_SHANAHAN
from core.analysis.keys import KEYS, Key
from core.analysis.slices import (
    FIFTHS,
    NO_BASS,
    Floats,
    Ints,
    Slices,
    fifths_of,
    passage_between,
    slices_of,
    sounding_rows,
    window_sums,
)
from core.score.findings import Finding
from core.score.score import Score

LEAVING_SHORT, LEAVING_LONG = 2.0, 7.0
SHORT_QUARTERS, LONG_QUARTERS = 60.0, 400.0
"""Cost of another key at all: in a short piece (a chorale's every line may be in one of its own)
and in a long one; between the two by the logarithm of the length."""
PER_STEP, CHANGE_OF_MODE = 1.0, 1.0
"""Further cost for each fifth between the signatures, and for another mode."""
FOREIGN = -1.0
"""Evidence of a quarter of a note that the key's spelling can't account for."""
RESOLUTION = 1.5
"""Evidence of a dominant that resolves, in quarters of clear notes."""
HOME = 2.0
"""Advantage of the key of the whole piece, once at the beginning and once at the end."""
CONTEXT = 4
"""Beats before and after that speak for a beat, half as loudly as it does itself."""
_SHARPNESS, _SUREST = 5.0, 0.97
_LIKELY, _MOST_ALTERNATIVES, _MOST_EVIDENCE = 0.02, 3, 12
_SPELLED_BELOW, _SPELLED_ABOVE = -5, 6
"""A key's chromatic scale on the line of fifths, from its flat second to its sharp fourth."""


def key_regions(score: Score, whole: Finding[Key] | None = None) -> tuple[Finding[Key], ...]:
    """The keys of a score, one after the other.

    Parameters
    ----------
    score : Score
    whole : Finding of Key, or None
        The key of the whole piece, where it is known.

    Returns
    -------
    tuple of Finding of Key
        By onset; empty when no note has a pitch. Alternatives are keys with a confidence of
        0.02 or more, three at most. Evidence: the notes that tell the key from its nearest
        rival most clearly, twelve at most, in order of onset.
    """
    slices = slices_of(score)
    if not len(slices) or not slices.fifths.any():
        return ()
    weights = _weights()
    evidence = _evidence(slices, weights)
    home = KEYS.index(whole.value) if whole is not None else None
    path = _best_path(evidence, home, float(score.quarters(score.duration)))
    starts = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), len(path)]
    return tuple(
        _region(score, slices, evidence[first:end], weights, int(path[first]), (first, end))
        for first, end in pairwise(starts)
    )


def _weights() -> Floats:
    """What a quarter of each spelled pitch says of each key, shape (30, 35)."""
    rows = []
    for key in KEYS:
        profile = np.array(ALBRECHT_SHANAHAN[key.mode], dtype=np.float64)
        said = np.log(profile / profile.sum() * 12)
        distance = FIFTHS - key.tonic
        is_spelled = (distance >= _SPELLED_BELOW) & (distance <= _SPELLED_ABOVE)
        rows.append(
            np.where(is_spelled, said[7 * distance % 12], said[7 * distance % 12] + FOREIGN)
        )
    return np.clip(np.array(rows), -2.5, 2.0)


def _evidence(slices: Slices, weights: Floats) -> Floats:
    """Of each beat for each key, shape (n, 30)."""
    # What sounds twice as thickly says no more: a beat counts by its length.
    sounding = slices.fifths.sum(axis=1, keepdims=True)
    shares = (
        slices.fifths
        / np.maximum(sounding, 1e-9)
        * np.sqrt(np.minimum(sounding / np.maximum(slices.quarters[:, None], 1e-9), 4.0))
    )
    local = shares * slices.quarters[:, None]
    around = (window_sums(local, CONTEXT) - local) / (2 * CONTEXT)
    said = (local + 0.5 * around) @ weights.T
    return np.asarray(said + RESOLUTION * _resolutions(slices), dtype=np.float64)


def _resolutions(slices: Slices) -> Floats:
    """Where a dominant goes to a chord over the tonic, shape (n, 30); 0 or 1."""
    found = np.zeros((len(slices), len(KEYS)))
    has = slices.pitch_classes > 0
    bass = np.where(slices.bass == NO_BASS, -1, 7 * slices.bass % 12)
    for number, key in enumerate(KEYS):
        tonic = key.pitch_class
        third = tonic + (4 if key.mode == "major" else 3)
        leads = has[:, (tonic + 11) % 12] & (has[:, (tonic + 7) % 12] | has[:, (tonic + 5) % 12])
        rests = (bass == tonic) & has[:, third % 12] & ~has[:, (tonic + 11) % 12]
        found[1:, number] = leads[:-1] & rests[1:]
    return found


def _leaving(quarters: float) -> float:
    """What leaving a key costs in a piece of that length."""
    longer = np.log(max(quarters, 1.0) / SHORT_QUARTERS) / np.log(LONG_QUARTERS / SHORT_QUARTERS)
    return float(LEAVING_SHORT + (LEAVING_LONG - LEAVING_SHORT) * np.clip(longer, 0.0, 1.0))


def _best_path(evidence: Floats, home: int | None, quarters: float) -> Ints:
    """Index into ``KEYS`` of each beat."""
    signatures = np.array([key.signature for key in KEYS])
    is_minor = np.array([key.mode == "minor" for key in KEYS])
    cost = (
        _leaving(quarters)
        + PER_STEP * np.abs(signatures[:, None] - signatures[None, :])
        + CHANGE_OF_MODE * (is_minor[:, None] != is_minor[None, :])
    )
    np.fill_diagonal(cost, 0.0)
    start = np.zeros(len(KEYS))
    if home is not None:
        start[home] = HOME
    best = start + evidence[0]
    came = np.zeros(evidence.shape, dtype=np.int64)
    for beat in range(1, len(evidence)):
        routes = best[:, None] - cost
        came[beat] = routes.argmax(axis=0)
        best = routes.max(axis=0) + evidence[beat]
    path = np.zeros(len(evidence), dtype=np.int64)
    path[-1] = int((best + start).argmax())
    for beat in range(len(evidence) - 1, 0, -1):
        path[beat - 1] = came[beat, path[beat]]
    return path


def _region(
    score: Score,
    slices: Slices,
    evidence: Floats,
    weights: Floats,
    key: int,
    beats: tuple[int, int],
) -> Finding[Key]:
    start, stop = (int(slices.edges[beat]) for beat in beats)
    sums = evidence.sum(axis=0)
    shares = np.exp((sums - sums.max()) / _SHARPNESS)
    shares /= shares.sum()
    ranked = [i for i in np.argsort(-shares, kind="stable").tolist() if i != key]
    others = [i for i in ranked[:_MOST_ALTERNATIVES] if shares[i] >= _LIKELY]
    return Finding(
        kind="key region",
        passage=passage_between(score, start, stop),
        value=KEYS[key],
        confidence=float(min(shares[key], _SUREST)),
        alternatives=tuple((KEYS[i], float(shares[i])) for i in others),
        evidence=_telling_notes(score, start, stop, weights[key] - weights[ranked[0]]),
    )


def _telling_notes(score: Score, start: int, stop: int, said: Floats) -> tuple[str, ...]:
    """Notes that speak most clearly, by what a quarter of each spelled pitch says."""
    notes = score.notes
    rows = sounding_rows(notes)
    rows = rows[(notes.onset[rows] >= start) & (notes.onset[rows] < stop)]
    clear = said[fifths_of(notes)[rows] - FIFTHS[0]]
    chosen = rows[np.argsort(-clear, kind="stable")][:_MOST_EVIDENCE]
    kept = sorted(int(row) for row in chosen if said[fifths_of(notes)[row] - FIFTHS[0]] > 0.3)
    return tuple(notes.ids[row] for row in kept)
