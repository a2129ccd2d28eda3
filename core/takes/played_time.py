"""Written time laid out as it is played: stretches of the score, one after the other, in seconds.

Conventions: *ticks* are those of the written score; *played ticks* count from the beginning of
what is played and go on through repeats; *seconds* are played ticks under the tempos in force,
divided by the speed. A stretch that follows on in the written score is one with the one before.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.score.places import Passage, Place
from core.score.score import Score
from core.takes.tempo import Tempo, tempo_at

Stretches = list[tuple[int, int]]
"""Onset and end in ticks, ends exclusive."""


def stretches_of(score: Score, passage: Passage, order: Sequence[int] | None = None) -> Stretches:
    """What sounds of a passage, in the order in which it sounds.

    Parameters
    ----------
    passage : Passage
        A point stands for all that follows it.
    order : sequence of int or None
        Measure indices as they are played; measures outside the passage are left out. None for
        the written order, once.

    Returns
    -------
    list of (int, int)
        Empty where nothing of the passage lies in the score.
    """
    start, end = score.onset_of(passage.start), score.onset_of(passage.end)
    indices = range(len(score.measures)) if order is None else order
    if passage.is_point:
        end = score.duration
        indices = _from_the_first(indices, passage.start.measure_index)
        if order is not None:
            return _played_from(score, indices, start)
    return _clipped(score, indices, start, end)


class PlayedTime:
    """The map between seconds, played ticks and places of the score.

    Parameters
    ----------
    score : Score
    stretches : list of (int, int), at least one
    tempos : sequence of Tempo
    speed : float, 1 for the tempo itself

    Attributes
    ----------
    played, seconds : float64, shape (m + 1,)
        Played ticks and seconds at the beginning of every piece of constant tempo, and at the
        end of the last.
    written : int64, shape (m,), onset of every piece in ticks of the score.
    tempos : tuple of Tempo, shape (m,)
    """

    def __init__(
        self, score: Score, stretches: Stretches, tempos: Sequence[Tempo], *, speed: float
    ) -> None:
        self.score, self.stretches, self.speed = score, stretches, speed
        pieces = _pieces(stretches, tempos)
        self.tempos = tuple(tempo_at(tempos, onset) for onset, _ in pieces)
        self.written = np.array([onset for onset, _ in pieces], dtype=np.int64)
        lengths = np.array([end - onset for onset, end in pieces], dtype=np.float64)
        qpm = np.array([tempo.qpm for tempo in self.tempos]) * speed
        self.played = np.concatenate([[0.0], np.cumsum(lengths)])
        self.seconds = np.concatenate(
            [[0.0], np.cumsum(lengths / score.ticks_per_quarter * 60 / qpm)]
        )

    @property
    def duration_seconds(self) -> float:
        """From the first onset to the end of the last stretch."""
        return float(self.seconds[-1])

    def seconds_at(self, played_ticks: ArrayLike) -> NDArray[np.float64]:
        """Seconds of played ticks."""
        return np.asarray(
            np.interp(np.asarray(played_ticks, dtype=np.float64), self.played, self.seconds)
        )

    def played_at(self, seconds: ArrayLike) -> NDArray[np.float64]:
        """Played ticks of seconds."""
        return np.asarray(
            np.interp(np.asarray(seconds, dtype=np.float64), self.seconds, self.played)
        )

    def ticks_at(self, seconds: float) -> int:
        """The moment of the written score, in ticks."""
        played = float(self.played_at(seconds))
        piece = int(np.searchsorted(self.played[:-1], played + 1e-9, side="right")) - 1
        piece = min(max(piece, 0), len(self.written) - 1)
        return int(self.written[piece] + (played - self.played[piece] + 1e-6))

    def place_at(self, seconds: float) -> Place:
        """The place that sounds."""
        return place_of(self.score, self.ticks_at(seconds))


def place_of(score: Score, ticks: int) -> Place:
    """The place of a moment of the written score."""
    onsets = [measure.onset for measure in score.measures]
    index = max(int(np.searchsorted(onsets, ticks, side="right")) - 1, 0)
    offset = Fraction(max(ticks - onsets[index], 0), score.ticks_per_quarter)
    return Place(measure_index=index, offset_quarters=offset)


def _from_the_first(indices: Sequence[int], measure_index: int) -> Sequence[int]:
    """An order from the first time that a measure comes, or from the next one that does."""
    for position, index in enumerate(indices):
        if index == measure_index:
            return indices[position:]
    return [index for index in indices if index >= measure_index]


def _played_from(score: Score, indices: Sequence[int], start: int) -> Stretches:
    """Whole measures of an order; the first one from ``start`` on, when it lies in it."""
    stretches = _clipped(score, indices, 0, score.duration)
    if stretches and stretches[0][0] <= start < stretches[0][1]:
        stretches[0] = start, stretches[0][1]
    return stretches


def _clipped(score: Score, indices: Sequence[int], start: int, end: int) -> Stretches:
    found: Stretches = []
    for index in indices:
        if not 0 <= index < len(score.measures):
            continue
        measure = score.measures[index]
        first, last = max(measure.onset, start), min(measure.onset + measure.duration, end)
        if first >= last:
            continue
        if found and found[-1][1] == first:
            found[-1] = found[-1][0], last
        else:
            found.append((first, last))
    return found


def _pieces(stretches: Stretches, tempos: Sequence[Tempo]) -> Stretches:
    """Stretches cut where the tempo changes."""
    changes = [tempo.onset for tempo in tempos]
    pieces: Stretches = []
    for onset, end in stretches:
        cuts = [onset, *(change for change in changes if onset < change < end), end]
        pieces.extend(pairwise(cuts))
    return pieces
