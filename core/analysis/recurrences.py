"""Returns: passages that come again, exactly, moved, or varied.

Conventions
-----------
Passages are spans of units (``likeness``). A return pairs two spans of equal length, unit by
unit, under one transposition. Out of the many pairs that fit, those are kept that explain
most of the piece with few words: the strongest first, and each later one only for what no
earlier one explains.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.analysis.likeness import Floats

LIKE = 0.62
"""Two units more alike than this speak for a return, two less alike against it."""
LEAST_AGAINST = -0.35
"""One unit without likeness says no more than this against a return (a varied measure)."""
MOST_LOST = 0.75
"""A return ends where the evidence has fallen so far below its height."""
LEAST_SCORE = 0.75
"""Weight of evidence that a return needs: two to three like units."""
MOST_CANDIDATES = 4000
SHORTEST = 2
"""Units."""


class Return(NamedTuple):
    """A passage that comes again.

    Parameters
    ----------
    first, second : int
        Units at which the two spans begin; ``first < second``.
    length : int
        Units, the same for both.
    shift : int
        Semitones modulo 12 from the first up to the second.
    score : float
        Weight of evidence: sum over the units of likeness above ``LIKE``, common units less.
    similarity : float
        Mean likeness, 0 to 1.
    """

    first: int
    second: int
    length: int
    shift: int
    score: float
    similarity: float

    @property
    def first_end(self) -> int:
        """Unit after the first span."""
        return self.first + self.length

    @property
    def second_end(self) -> int:
        """Unit after the second span."""
        return self.second + self.length


def find_returns(like: Floats) -> tuple[Return, ...]:
    """Few, maximal returns, the strongest first.

    Parameters
    ----------
    like : float32, shape (12, n, n)
        As ``likeness`` gives it.
    """
    if like.shape[1] <= SHORTEST:
        return ()
    evidence = _evidence(like)
    candidates = _maximal_runs(evidence)
    return _chosen(candidates, evidence, like)


def _evidence(like: Floats) -> Floats:
    """What each pair says for a return: common units (a vamp, a held chord) say less."""
    count = like.shape[1]
    alike = (like.max(axis=0) > 0.85).sum(axis=1)
    rarity = np.log(np.maximum(alike, 4) / 4) / np.log(max(count, 8) / 4)
    weight = 1.0 - 0.6 * np.minimum(rarity, 1.0)
    evidence = np.maximum(like - LIKE, LEAST_AGAINST)
    pair_weight = np.sqrt(weight[:, None] * weight[None, :]).astype(np.float32)
    weighed = np.where(evidence > 0, evidence * pair_weight, evidence)
    return np.asarray(weighed, dtype=np.float32)


def _maximal_runs(evidence: Floats) -> list[tuple[float, int, int, int, int]]:
    """Stretches of diagonals with the greatest sum: (score, shift, first, lag, length)."""
    count = evidence.shape[1]
    shape = (12, count)
    total = np.zeros(shape, dtype=np.float32)
    peak = np.zeros(shape, dtype=np.float32)
    begin = np.zeros(shape, dtype=np.int32)
    peak_at = np.zeros(shape, dtype=np.int32)
    found: list[tuple[float, int, int, int, int]] = []

    def emit(mask: NDArray[np.bool_]) -> None:
        for shift, lag in np.argwhere(mask):
            length = int(peak_at[shift, lag] - begin[shift, lag] + 1)
            found.append(
                (float(peak[shift, lag]), int(shift), int(begin[shift, lag]), int(lag), length)
            )

    for row in range(count - SHORTEST):
        lags = slice(0, count - row)
        here = np.zeros(shape, dtype=np.float32)
        here[:, lags] = evidence[:, row, row:]
        here[:, count - row :] = -9.0
        here[:, :SHORTEST] = -9.0
        fresh = total <= 0
        begin[fresh] = row
        total += here
        higher = total > peak
        peak[higher] = total[higher]
        peak_at[higher] = row
        over = (total <= 0) | (total < peak - MOST_LOST)
        emit(over & (peak >= LEAST_SCORE))
        total[over] = 0
        peak[over] = 0
    emit(peak >= LEAST_SCORE)
    found.sort(reverse=True)
    return found[:MOST_CANDIDATES]


def _chosen(
    candidates: list[tuple[float, int, int, int, int]], evidence: Floats, like: Floats
) -> tuple[Return, ...]:
    count = evidence.shape[1]
    explained = np.zeros(count)
    used = np.zeros(count)
    chosen: list[Return] = []
    for _, shift, first, lag, run_length in candidates:
        length = min(run_length, lag)
        if length < SHORTEST:
            continue
        units = np.arange(first, first + length)
        cells = evidence[shift, units, units + lag]
        news = np.where(explained[units + lag] > 0, 0.1, 1.0)
        news = np.maximum(news, np.where(used[units] > 0, 0.1, 0.5))
        if (cells * news).sum() < LEAST_SCORE:
            continue
        explained[units + lag] += 1
        used[units] += 1
        chosen.append(
            Return(
                first=first,
                second=first + lag,
                length=length,
                shift=shift,
                score=float(cells.sum()),
                similarity=float(np.clip(like[shift, units, units + lag], 0, 1).mean()),
            )
        )
    return tuple(chosen)
