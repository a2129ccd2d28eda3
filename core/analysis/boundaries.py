"""Where a section may begin, and what speaks for it.

Conventions
-----------
A boundary is the unit before which it lies, 1 to n - 1. Evidence is a weight for each
boundary and each *cause*, about 1 for something that a reader would call clear. What is
written counts first; then the ends of returns; then a change of what the music is made of.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.analysis.likeness import Floats, UnitTexture
from core.analysis.ordered import median
from core.analysis.recurrences import Return
from core.analysis.units import Units
from core.score.repeats import written_repeats
from core.score.score import Measure, RawDirection, Score

WRITTEN_WEIGHTS: Mapping[str, float] = {
    "repeat": 3.0,
    "double bar": 2.0,
    "key signature": 1.6,
    "time signature": 1.0,
    "tempo": 1.3,
    "words": 0.5,
    "rehearsal": 2.0,
    "pause": 1.0,
}
WRITTEN_CAUSES = tuple(WRITTEN_WEIGHTS)
CAUSES = (*WRITTEN_CAUSES, "return begins", "return ends", "repose", "texture")
"""All causes, in the columns of the evidence."""
_DOUBLE_BARS = ("light-light", "light-heavy", "heavy-light", "heavy-heavy")
_TEMPO = re.compile(
    r"\b(allegr\w+|andant\w+|adagi\w+|prest\w+|larg(o|hetto)|lent\w*|grave|moderat\w+|viva\w+|"
    r"tempo|mosso|mouvement|mouv|animé|vif|vite|modéré|langsam\w*|schnell\w*|lebhaft\w*|"
    r"mäßig\w*|mässig\w*|ruhig\w*|bewegt\w*|sostenuto|maestoso|trio|coda|minore|maggiore|"
    r"menuett?o?|scherzo|cantabile|agitato|faster|slower)\b",
    re.IGNORECASE,
)
_SHADING = r"\b(cresc\w*|dim\w*|rit\w*|rall\w*|poco|ped|stacc\w*|leg\w*|dolce|s?fz?|p+|f+|m[pf])\b"
WINDOW = 4
"""Units before and after a boundary whose make-up is compared."""

REGISTER, APART, HELD = 0.25, 0.3, 0.2
"""What a jump of register, what two sides that are each like themselves, count in standard
deviations; what a note held over the boundary takes away."""
USUAL_CHANGE, MOST_CHANGE = 0.9, 1.5
"""Change at a boundary that says nothing; the most that a change may say."""

Ints = NDArray[np.int64]
Weights = NDArray[np.float64]


class BoundaryEvidence(NamedTuple):
    """What speaks for a section's beginning before each unit.

    Parameters
    ----------
    weights : float64, shape (n + 1, len(CAUSES))
        Rows 0 and n are the ends of the piece.
    inside_repeat : float64, shape (n + 1,)
        1 strictly inside a stretch that is repeated as a whole, else 0.
    """

    weights: Weights
    inside_repeat: Weights

    def of(self, cause: str) -> Weights:
        """The column of one cause."""
        return self.weights[:, CAUSES.index(cause)]

    def causes_at(self, boundary: int) -> tuple[str, ...]:
        """The causes that are clear at a boundary, the strongest first."""
        row = self.weights[boundary]
        order = [int(i) for i in np.argsort(-row, kind="stable")]
        return tuple(CAUSES[i] for i in order if row[i] >= 0.3)


def boundary_evidence(
    score: Score,
    texture: UnitTexture,
    returns: Sequence[Return],
    *,
    like: Floats,
    units: Units,
) -> BoundaryEvidence:
    """Gather what speaks for a beginning before each unit.

    Where units are inferred, nothing that is written counts.
    """
    count = len(texture)
    weights = np.zeros((count + 1, len(CAUSES)))
    if units.is_written:
        _add_written(weights, score, units)
    begins, ends = _edges_of_returns(returns, count)
    weights[:, CAUSES.index("return begins")] = begins
    weights[:, CAUSES.index("return ends")] = ends
    weights[:, CAUSES.index("repose")] = _repose(texture)
    weights[:, CAUSES.index("texture")] = _change_of_texture(texture, like)
    weights[[0, count]] = 0
    return BoundaryEvidence(weights=weights, inside_repeat=_inside_repeats(score, units))


def _inside_repeats(score: Score, units: Units) -> Weights:
    inside = np.zeros(len(units) + 1)
    if units.is_written:
        for repeat in written_repeats(score.measures)[0]:
            first, last = (units.unit_of_measure(m) for m in (repeat.start, repeat.section_last))
            inside[first + 1 : last + 1] = 1.0
    return inside


def _add_written(weights: Weights, score: Score, units: Units) -> None:
    measures = score.measures

    def add(measure_index: int, cause: str) -> None:
        unit = units.unit_of_measure(measure_index)
        weights[unit, CAUSES.index(cause)] = WRITTEN_WEIGHTS[cause]

    repeats, _ = written_repeats(measures)
    for repeat in repeats:
        add(repeat.start, "repeat")
        add(repeat.section_last + 1, "repeat")
    for before, here in itertools.pairwise(measures):
        for cause in _changes(before, here):
            add(here.index, cause)
    for direction in score.directions:
        words = _cause_of_words(direction, measures)
        if words:
            add(direction.measure_index, words)


def _changes(before: Measure, here: Measure) -> list[str]:
    causes = []
    inside_endings = before.endings or here.ending_starts
    if here.repeat_start:
        causes.append("repeat")
    if before.barline in _DOUBLE_BARS and not before.repeat_end and not inside_endings:
        causes.append("double bar")
    if here.fifths != before.fifths:
        causes.append("key signature")
    if here.signature != before.signature:
        causes.append("time signature")
    return causes


def _cause_of_words(direction: RawDirection, measures: Sequence[Measure]) -> str | None:
    measure = measures[direction.measure_index]
    if 4 * (direction.onset - measure.onset) > measure.duration or not measure.index:
        return None
    if direction.kind == "rehearsal":
        return "rehearsal"
    if direction.kind == "metronome" or (
        direction.kind == "words" and _TEMPO.search(direction.text)
    ):
        return "tempo"
    is_words = direction.kind == "words" and len(direction.text) > 3
    if is_words and direction.staff == 1 and not re.search(_SHADING, direction.text, re.IGNORECASE):
        return "words" if direction.placement == "above" else None
    return None


def _edges_of_returns(returns: Sequence[Return], count: int) -> tuple[Weights, Weights]:
    """How strongly returns begin, and end, at each boundary."""
    begins, ends = np.zeros(count + 1), np.zeros(count + 1)
    enough = 2.0 + 0.06 * count
    for found in returns:
        strength = min(1.0, found.length / enough) * min(1.0, found.score / 1.5)
        for edge in (found.first, found.second):
            begins[edge] += strength
        for edge in (found.first_end, found.second_end):
            ends[edge] += strength
    return np.minimum(begins, 2.0), np.minimum(ends, 2.0)


def _repose(texture: UnitTexture) -> Weights:
    """How much the end of the unit before rests: nothing begins there."""
    count = len(texture)
    active = texture.onsets.sum(axis=2) > 0
    half = active.shape[1] // 2
    late = active[:, half:].mean(axis=1)
    usual = median(late) if count else 0.0
    rest = np.clip((usual - late) / max(usual, 0.1), -1, 1)
    weights = np.zeros(count + 1)
    weights[1:] = rest
    return np.maximum(weights, 0.0)


def _change_of_texture(texture: UnitTexture, like: Floats) -> Weights:
    """How different the music after a boundary is from that before it, 0 to ``MOST_CHANGE``.

    What it is made of, its register at the boundary, and how much more the units on one side are
    like one another than like those on the other side; less where notes are held over.
    """
    count = len(texture)
    change = np.zeros(count + 1)
    if count < 2:
        return change
    change[1:count] = _change_of_make_up(texture)
    jump = np.abs(np.diff(texture.register, axis=0)).sum(axis=1)
    change[1:count] += REGISTER * _in_spreads(jump)
    change[1:count] += APART * _in_spreads(_apart(like[0]))
    change[1:count] -= HELD * np.minimum(texture.held_over[1:], 3.0)
    return np.asarray(np.clip(change - USUAL_CHANGE, 0, MOST_CHANGE))


def _in_spreads(values: Weights) -> Weights:
    return np.asarray(values / max(float(values.std()), 1e-6))


def _change_of_make_up(texture: UnitTexture) -> Weights:
    """Distance between the mean make-up of ``WINDOW`` units before and after; peaks stand out."""
    count = len(texture)
    made_of = _make_up(texture)
    spread = made_of.std(axis=0)
    made_of = made_of / np.where(spread > 1e-6, spread, 1.0)
    sums = np.vstack([np.zeros(made_of.shape[1]), np.cumsum(made_of, axis=0)])
    at = np.arange(1, count)
    left, right = np.maximum(0, at - WINDOW), np.minimum(count, at + WINDOW)
    before = (sums[at] - sums[left]) / (at - left)[:, None]
    after = (sums[right] - sums[at]) / (right - at)[:, None]
    short = np.minimum(at - left, right - at) / WINDOW
    weights = np.sqrt(((before - after) ** 2).mean(axis=1)) * np.sqrt(short)
    local = np.maximum(np.r_[0, weights[:-1]], np.r_[weights[1:], 0])
    peaks = np.where(weights >= local, weights, 0.5 * weights)
    return np.asarray(np.clip(peaks - 0.5, 0, 1.5))


def _apart(alike: Floats) -> Weights:
    """Likeness within either side less likeness across, for each boundary 1 to n - 1."""
    count = len(alike)
    sums = np.zeros((count + 1, count + 1))
    sums[1:, 1:] = alike.cumsum(axis=0).cumsum(axis=1)
    at = np.arange(1, count)
    left, right = np.maximum(0, at - WINDOW), np.minimum(count, at + WINDOW)

    def mean(top: Ints, bottom: Ints, first: Ints, last: Ints) -> Weights:
        block = sums[bottom, last] - sums[top, last] - sums[bottom, first] + sums[top, first]
        return np.asarray(block / ((bottom - top) * (last - first)))

    within = (mean(left, at, left, at) + mean(at, right, at, right)) / 2
    return within - mean(left, at, at, right)


def _make_up(texture: UnitTexture) -> Weights:
    onsets = texture.onsets.sum(axis=2)
    pitches = texture.sounding.sum(axis=1)
    total = np.maximum(pitches.sum(axis=1, keepdims=True), 1e-6)
    density = np.sqrt(onsets.sum(axis=1, keepdims=True))
    return np.hstack([onsets > 0, pitches / total, 3 * density]).astype(np.float64)
