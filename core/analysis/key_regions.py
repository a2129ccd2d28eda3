"""The key of every passage: a path through the keys, beat by beat.

Conventions: keys are spelled (``keys``); regions follow one another without a gap and cover the
score. Times of findings are places of the written score.

Each beat speaks for each key as ``key_evidence`` weighs it. The path with the highest sum is
taken (Viterbi 1967): another key costs something, less at a barline. What the evidence alone
says of a region, averaged over its beats, is the region's confidence.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np

from core.analysis.chords import chords_of
from core.analysis.key_evidence import PITCH_EVIDENCE, key_evidence, weights_for
from core.analysis.keys import KEYS, Key
from core.analysis.slices import (
    FIFTHS,
    Floats,
    Ints,
    Slices,
    fifths_of,
    passage_between,
    rows_between,
    slices_of,
)
from core.score.findings import Finding
from core.score.score import Score

AT_BARLINE, AT_DIVISION = 0.8, 0.25
"""Shares of the cost of another key that are left where a measure begins, and where it begins
after a double bar, a repeat sign or with another signature."""
UNDIVIDED = ("regular", "none", "dotted", "dashed", "short", "tick")
"""Right barlines that divide nothing."""
_SUREST = 0.97
_LIKELY, _MOST_ALTERNATIVES, _MOST_EVIDENCE = 0.02, 3, 12
_CLEAR = 0.3


class _Heard(NamedTuple):
    """What the regions are told from: the evidence a quarter, and its shares beat by beat."""

    score: Score
    slices: Slices
    shares: Floats


def key_regions(
    score: Score, whole: Finding[Key] | None = None, slices: Slices | None = None
) -> tuple[Finding[Key], ...]:
    """The keys of a score, one after the other.

    Parameters
    ----------
    score : Score
    whole : Finding of Key, or None
        The key of the whole piece, where it is known.
    slices : Slices or None
        Those of the score, where they are made already.

    Returns
    -------
    tuple of Finding of Key
        By onset; empty when no note has a pitch. Alternatives are keys with a confidence of
        0.02 or more, three at most. Evidence: the notes that tell the key from its nearest
        rival most clearly, twelve at most, in order of onset.
    """
    slices = slices or slices_of(score)
    if not len(slices) or not slices.fifths.any():
        return ()
    home = whole.value if whole is not None else None
    chords = chords_of(slices)
    evidence = key_evidence(score, slices, chords, home)
    _, cost = weights_for(float(slices.quarters.sum()), chords.pace(slices.quarters))
    path = best_path(
        evidence * slices.quarters[:, np.newaxis], costs_of_change(score, slices, cost)
    )
    heard = _Heard(score=score, slices=slices, shares=_shares(evidence))
    starts = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), len(path)]
    return tuple(_region(heard, int(path[first]), first, end) for first, end in pairwise(starts))


def best_path(evidence: Floats, costs: Floats) -> Ints:
    """The path of the highest sum, where every change costs the same wherever it goes.

    Parameters
    ----------
    evidence : shape (n, states)
    costs : shape (n,)
        Of being in another state than in the slice before.

    Returns
    -------
    shape (n,)
        A state for each slice.
    """
    count, states = evidence.shape
    best = evidence[0].copy()
    came = np.zeros((count, states), dtype=np.int64)
    every = np.arange(states)
    for slice_index in range(1, count):
        # The best way to change comes from the best state; staying is free.
        leader = int(best.argmax())
        changed = best[leader] - costs[slice_index]
        stays = best >= changed
        came[slice_index] = np.where(stays, every, leader)
        best = np.where(stays, best, changed) + evidence[slice_index]
    path = np.zeros(count, dtype=np.int64)
    path[-1] = int(best.argmax())
    for slice_index in range(count - 1, 0, -1):
        path[slice_index - 1] = came[slice_index, path[slice_index]]
    return path


def costs_of_change(score: Score, slices: Slices, another: float) -> Floats:
    """Cost of a change at each slice: less at a barline, least at a printed division."""
    begins = np.r_[True, np.diff(slices.measure) != 0]
    divided = np.array([is_division(score, measure.index) for measure in score.measures])
    share = np.where(divided[slices.measure], AT_DIVISION, AT_BARLINE)
    return np.asarray(np.where(begins, share, 1.0) * another, dtype=np.float64)


def is_division(score: Score, measure_index: int) -> bool:
    """Whether a measure begins after a double bar, a repeat sign or with another signature."""
    if measure_index == 0:
        return False
    before, after = score.measures[measure_index - 1], score.measures[measure_index]
    return (
        before.repeat_end
        or after.repeat_start
        or before.barline not in UNDIVIDED
        or before.fifths != after.fifths
    )


def _shares(evidence: Floats) -> Floats:
    """What each beat and its surroundings say, as shares that add up to 1."""
    weights = np.exp(evidence - evidence.max(axis=1, keepdims=True))
    return np.asarray(weights / weights.sum(axis=1, keepdims=True), dtype=np.float64)


def _region(heard: _Heard, key: int, first: int, end: int) -> Finding[Key]:
    start, stop = int(heard.slices.edges[first]), int(heard.slices.edges[end])
    lengths = heard.slices.quarters[first:end]
    shares = lengths @ heard.shares[first:end] / lengths.sum()
    ranked = [i for i in np.argsort(-shares, kind="stable").tolist() if i != key]
    others = [i for i in ranked[:_MOST_ALTERNATIVES] if shares[i] >= _LIKELY]
    told = PITCH_EVIDENCE[:, key] - PITCH_EVIDENCE[:, ranked[0]]
    return Finding(
        kind="key region",
        passage=passage_between(heard.score, start, stop),
        value=KEYS[key],
        confidence=float(min(shares[key], _SUREST)),
        alternatives=tuple((KEYS[i], float(shares[i])) for i in others),
        evidence=_telling_notes(heard.score, start, stop, told),
    )


def _telling_notes(score: Score, start: int, stop: int, said: Floats) -> tuple[str, ...]:
    """Notes that speak most clearly, by what a quarter of each spelled pitch says."""
    notes = score.notes
    rows = rows_between(notes, start, stop)
    clear = said[fifths_of(notes, rows) - FIFTHS[0]]
    chosen = np.argsort(-clear, kind="stable")[:_MOST_EVIDENCE]
    kept = sorted(int(rows[index]) for index in chosen if clear[index] > _CLEAR)
    return tuple(notes.ids[row] for row in kept)
