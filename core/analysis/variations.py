"""Variations: a theme that comes again and again with only its bones left.

Conventions
-----------
Spans are of units (``likeness``). What survives in a variation is compared: the harmony and the
bass of each half measure, and the steps of the melody on them. The theme is the beginning of
the piece; its length is the lag after which the whole piece is most like itself, twice and
three times that lag too. From then on each variation lies about one theme further on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.analysis.likeness import SLOTS, Floats, UnitTexture, inner_products, unit_rows
from core.analysis.ordered import median

SHORTEST_THEME, LONGEST_THEME = 12, 64
"""Units; shorter periods are those of phrases."""
LEAST_VARIATIONS = 4
"""The theme and three more: three alike spans are a form with returns."""
LEAST_COVERED = 0.5
"""Share of the piece that is theme and variations."""
LEAST_PERIOD = 0.08
"""Mean likeness at the lag of the theme, above chance (which is 0)."""
LEAST_LIKE = 0.1
"""Mean likeness of one variation to the theme and to the one before."""
SLACK = 2
"""Units by which a variation may be longer or shorter (upbeats, divided measures)."""
SLACK_PRICE = 0.15
MELODY_WEIGHT = 0.7
END_SHARE = 0.7
"""What the end of a variation says for a boundary, against the beginning of the next."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Variations:
    """A theme and its variations.

    Parameters
    ----------
    starts : tuple of int
        Units at which the theme and each variation begin.
    ends : tuple of int
        Units after them; what lies between an end and the next start is something else.
    likeness : tuple of float
        Of each to the theme, above chance; 1 for the theme itself.
    """

    starts: tuple[int, ...] = ()
    ends: tuple[int, ...] = ()
    likeness: tuple[float, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.starts)

    @property
    def usual_length(self) -> float:
        """Median length in units."""
        lengths = np.array(self.ends) - np.array(self.starts)
        return median(lengths)

    def at(self, first: int) -> float | None:
        """Likeness to the theme of the variation that begins within a unit of ``first``."""
        for start, like in zip(self.starts[1:], self.likeness[1:], strict=True):
            if abs(start - first) <= 1:
                return like
        return None


NO_VARIATIONS = Variations()


def find_variations(texture: UnitTexture) -> Variations:
    """The theme and variations that a piece consists of; empty for any other piece."""
    count = len(texture)
    if count < LEAST_VARIATIONS * SHORTEST_THEME:
        return NO_VARIATIONS
    alike = reduced_likeness(texture)
    length = _theme_length(alike)
    if length is None:
        return NO_VARIATIONS
    found = _walk(alike, length)
    covered = sum(end - start for start, end in zip(found.starts, found.ends, strict=True))
    is_set = len(found.starts) >= LEAST_VARIATIONS and covered >= LEAST_COVERED * count
    return found if is_set else NO_VARIATIONS


def reduced_likeness(texture: UnitTexture) -> Floats:
    """How like two units are in their bones, shape (n, n); 0 is chance, 1 the same."""
    count, half = len(texture), SLOTS // 2

    def halves(channel: Floats) -> Floats:
        return unit_rows(np.sqrt(channel.reshape(count, 2, half, -1).sum(axis=2)))

    parts = [
        halves(texture.sounding),
        halves(texture.bass),
        MELODY_WEIGHT * halves(texture.melody_steps),
    ]
    bones = np.concatenate([part.reshape(count, -1) for part in parts], axis=1)
    bones = bones - bones.mean(axis=0)
    norms = np.maximum(np.linalg.norm(bones, axis=1, keepdims=True), 1e-6)
    return inner_products(*(np.asarray(bones / norms, dtype=np.float32),) * 2)


def _theme_length(alike: Floats) -> int | None:
    count = len(alike)
    by_lag = np.array([np.diagonal(alike, lag).mean() for lag in range(count)])

    def near(lag: int) -> float:
        return float(by_lag[max(0, lag - 1) : lag + 2].max())

    lags = range(SHORTEST_THEME, min(LONGEST_THEME, count // LEAST_VARIATIONS) + 1)
    support = {lag: by_lag[lag] + 0.5 * near(2 * lag) + 0.5 * near(3 * lag) for lag in lags}
    if not support:
        return None
    best = max(support, key=lambda lag: support[lag])
    is_period = by_lag[best] >= LEAST_PERIOD and near(2 * best) > 0 and near(3 * best) > 0
    return best if is_period else None


def _walk(alike: Floats, length: int) -> Variations:
    """The best row of variations, by dynamic programming over where each one begins."""
    count = len(alike)
    match = np.array([_likeness_at(alike, start, length) for start in range(count + 1)])
    best = np.zeros(count + 1)
    back: list[tuple[int, bool]] = [(max(0, at - 1), False) for at in range(count + 1)]
    best[: length - SLACK] = 0.0
    for end in range(1, count + 1):
        best[end] = best[end - 1]
        for size in range(length - SLACK, length + SLACK + 1):
            start = end - size
            if start < 0 or match[start] < LEAST_LIKE:
                continue
            gain = match[start] - SLACK_PRICE * abs(size - length) * LEAST_LIKE
            if best[start] + gain > best[end]:
                best[end], back[end] = best[start] + gain, (start, True)
    spans: list[tuple[int, int]] = []
    at = count
    while at > 0:
        start, is_variation = back[at]
        if is_variation:
            spans.append((start, at))
        at = start
    spans.reverse()
    return Variations(
        starts=tuple(start for start, _ in spans),
        ends=tuple(end for _, end in spans),
        likeness=tuple(float(match[start]) for start, _ in spans),
    )


def _likeness_at(alike: Floats, start: int, length: int) -> float:
    """Of a theme's length from a unit on, to the theme and to what lies one theme before."""
    size = min(length, len(alike) - start)
    if size < length - SLACK:
        return 0.0
    if start == 0:
        return 1.0
    units = np.arange(size)
    to_theme = float(alike[units, start + units].mean())
    before = start - length
    if before <= 0:
        return to_theme
    to_last = float(alike[before + units, start + units].mean())
    return 0.6 * to_theme + 0.4 * to_last


Weights = NDArray[np.float64]


def variation_evidence(found: Variations, count: int) -> Weights:
    """1 where a variation begins or ends, -1 inside one, 0 elsewhere; shape (n + 1,)."""
    evidence = np.zeros(count + 1)
    for start, end in zip(found.starts, found.ends, strict=True):
        evidence[start + 1 : end] = -1.0
    for place in found.ends:
        evidence[place] = END_SHARE
    for place in found.starts:
        evidence[place] = 1.0
    return evidence
