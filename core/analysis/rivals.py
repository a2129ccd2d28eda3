"""Tonics that compete: two like chords a fifth apart, in balance, and nothing that decides.

Conventions: a *pair* is the lower root of the fifth and the kind of its chords: two minor chords
(tonic and minor dominant, or subdominant and tonic), or two major sevenths. Each measure is given
to the chord of the pair that holds more of its sound, or to neither. ``balance`` is the share of
the lower one among the measures given to either.

A pair competes over a stretch of measures when the two change places again and again, neither has
more than three fifths, few measures belong to neither, and no leading note of either tonic, no
dominant seventh and no cadence closes the stretch: any of these makes one the tonic, and then
nothing is claimed. Common practice; the limits are judgements.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.analysis.chords import QUALITY_INDEX, Chords, chords_in
from core.analysis.keys import tonic_name
from core.analysis.slices import (
    FIFTHS,
    NO_BASS,
    PITCH_CLASS_OF_COLUMN,
    Floats,
    Ints,
    Slices,
    passage_between,
    slices_of,
)
from core.score.findings import Finding
from core.score.score import Score

PAIR_TONES = {"minor": (0, 3, 7), "major seventh": (0, 4, 7, 11)}
NEITHER, LOWER, UPPER, DECIDED = 0, 1, 2, 3
CLEARLY_MORE, LEAST_COVERED = 0.06, 0.5
"""Of the sound of a measure: by how much one chord must hold more, and how much it must hold."""
LEAST_ON_AVERAGE, LEAST_TONE = 0.72, 0.04
"""Of the sound of all measures given to a chord: what it holds, and what each of its tones has."""
MOST_OVER_ONE_BASS = 0.8
"""Share of measures with one lowest note from which on it is a pedal, which decides."""
MOST_UNEVEN, MOST_OF_NEITHER = 0.62, 0.25
MOST_ON_THIRDS_BELOW = 0.3
LEAST_MEASURES, LEAST_CHANGES = 5, 3
LEADING_SHARE = 0.02
"""Share of a measure from which on a leading note is heard as one."""
_SUREST = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class TonicRivals:
    """Two tonics that compete.

    Parameters
    ----------
    tonics : (int, int)
        On the line of fifths; the second is a fifth above the first.
    balance : float
        Share of the first, 0 to 1; 0.5 is even.
    chords : str
        What both carry: "minor" or "major seventh".
    """

    tonics: tuple[int, int]
    balance: float
    chords: str

    @property
    def name(self) -> str:
        """For a reader: "D and A"."""
        return " and ".join(tonic_name(tonic) for tonic in self.tonics)


def tonic_rivals(score: Score, slices: Slices | None = None) -> tuple[Finding[TonicRivals], ...]:
    """Stretches in which two tonics compete, by onset; they do not overlap.

    Evidence: the lowest note of each measure that is given to either.
    """
    slices = slices or slices_of(score)
    if not len(slices):
        return ()
    sounding, bass = _measures(slices, len(score.measures))
    chords = chords_in(sounding, bass)
    found = [
        (held * (end - first), first, end, root, name, labels)
        for name in PAIR_TONES
        for root in range(12)
        for labels in [_labels(sounding, chords, root, name)]
        for first, end in _stretches(labels)
        for held in [_held(sounding[first:end], bass[first:end], labels[first:end], root, name)]
        if held >= LEAST_ON_AVERAGE
    ]
    chosen: list[tuple[float, int, int, int, str, Ints]] = []
    for candidate in sorted(found, key=lambda entry: -entry[0]):
        if all(candidate[2] <= other[1] or candidate[1] >= other[2] for other in chosen):
            chosen.append(candidate)
    return tuple(
        _finding(score, slices, *entry[1:]) for entry in sorted(chosen, key=lambda e: e[1])
    )


def _measures(slices: Slices, count: int) -> tuple[Floats, Ints]:
    """Shares of the pitch classes in each measure, shape (n, 12), and its lowest note."""
    sums = np.zeros((count, 12))
    np.add.at(sums, slices.measure, slices.pitch_classes)
    lowest = np.full(count, 999)
    np.minimum.at(lowest, slices.measure, slices.bass_pitch)
    shares = sums / np.maximum(sums.sum(axis=1, keepdims=True), 1e-9)
    return shares, np.where(lowest == 999, -1, lowest % 12)


def _labels(sounding: Floats, chords: Chords, root: int, name: str) -> Ints:
    """What each measure is to the pair."""
    tones = PAIR_TONES[name]
    lower, upper = (
        sounding[:, [(start + tone) % 12 for tone in tones]].sum(axis=1)
        for start in (root, root + 7)
    )
    labels = np.where(lower > upper + CLEARLY_MORE, LOWER, NEITHER)
    labels = np.where(upper > lower + CLEARLY_MORE, UPPER, labels)
    labels[np.maximum(lower, upper) < LEAST_COVERED] = NEITHER
    labels[_is_decided(sounding, chords, root, name)] = DECIDED
    return np.asarray(labels, dtype=np.int64)


def _is_decided(sounding: Floats, chords: Chords, root: int, name: str) -> NDArray[np.bool_]:
    sevenths = chords.quality == QUALITY_INDEX["dominant seventh"]
    dominant = sevenths & np.isin((chords.root - root) % 12, (7, 2))
    if name == "major seventh":
        # The dominant of the upper tonic as a plain chord on its root.
        plain = (chords.quality == QUALITY_INDEX["major"]) & ((chords.root - root) % 12 == 2)
        return np.asarray(dominant | plain, dtype=np.bool_)
    leading = sounding[:, [(root + 11) % 12, (root + 6) % 12]].max(axis=1) > LEADING_SHARE
    return np.asarray(dominant | leading, dtype=np.bool_)


def _stretches(labels: Ints) -> list[tuple[int, int]]:
    """Runs of measures in which the pair competes, ends exclusive."""
    walls = [-1, *np.flatnonzero(labels == DECIDED).tolist(), len(labels)]
    found = []
    for before, after in pairwise(walls):
        if after - before <= LEAST_MEASURES:
            continue
        given = np.flatnonzero(
            (labels[before + 1 : after] == LOWER) | (labels[before + 1 : after] == UPPER)
        )
        if not len(given):
            continue
        first, end = before + 1 + int(given[0]), before + 2 + int(given[-1])
        # What runs into a cadence is explained by it.
        is_closed = after < len(labels) and after - end <= 1
        if not is_closed and _competes(labels[first:end]):
            found.append((first, end))
    return found


def _competes(labels: Ints) -> bool:
    given = labels[labels != NEITHER]
    if len(labels) < LEAST_MEASURES or len(given) < (1 - MOST_OF_NEITHER) * len(labels):
        return False
    lower = float((given == LOWER).mean())
    changes = int(np.count_nonzero(np.diff(given)))
    return 1 - MOST_UNEVEN <= lower <= MOST_UNEVEN and changes >= LEAST_CHANGES


def _held(sounding: Floats, bass: Ints, labels: Ints, root: int, name: str) -> float:
    """How much of the sound the two chords hold; 0 where a tone is missing or a pedal decides."""
    common = np.bincount(bass[bass >= 0], minlength=12).max(initial=0)
    if common > MOST_OVER_ONE_BASS * len(bass):
        return 0.0
    if name == "minor" and _is_on_thirds_below(bass, labels, root):
        return 0.0
    held = []
    for label, start in ((LOWER, root), (UPPER, root + 7)):
        tones = sounding[labels == label][:, [(start + tone) % 12 for tone in PAIR_TONES[name]]]
        if tones.mean(axis=0).min() < LEAST_TONE:
            return 0.0
        held.append(float(tones.sum(axis=1).mean()))
    return min(held)


def _is_on_thirds_below(bass: Ints, labels: Ints, root: int) -> bool:
    """Whether the minor chords are the upper parts of major sevenths, by their bass."""
    below = np.where(labels == LOWER, root + 8, np.where(labels == UPPER, root + 15, -1)) % 12
    return bool(np.mean((bass == below) & (labels != NEITHER)) > MOST_ON_THIRDS_BELOW)


def _finding(
    score: Score, slices: Slices, first: int, end: int, root: int, name: str, labels: Ints
) -> Finding[TonicRivals]:
    inside = labels[first:end]
    given = inside[inside != NEITHER]
    balance = float((given == LOWER).mean())
    start = score.measures[first].onset
    stop = score.measures[end].onset if end < len(score.measures) else score.duration
    tonic = _spelled(slices, first, end, root)
    return Finding(
        kind="tonic rivals",
        passage=passage_between(score, start, stop),
        value=TonicRivals(tonics=(tonic, tonic + 1), balance=balance, chords=name),
        confidence=_SUREST * len(given) / len(inside) * (1 - abs(balance - 0.5)),
        evidence=_basses(score, first, end, labels),
    )


def _spelled(slices: Slices, first: int, end: int, root: int) -> int:
    """The commonest spelling of a pitch class in some measures, on the line of fifths."""
    inside = (slices.measure >= first) & (slices.measure < end) & (slices.bass != NO_BASS)
    sums = slices.fifths[inside].sum(axis=0)
    columns = np.flatnonzero(root == PITCH_CLASS_OF_COLUMN)
    return int(FIFTHS[columns[sums[columns].argmax()]])


def _basses(score: Score, first: int, end: int, labels: Ints) -> tuple[str, ...]:
    notes = score.notes
    found = []
    for measure in range(first, end):
        rows = np.flatnonzero((notes.measure == measure) & (notes.midi_pitch >= 0))
        if labels[measure] != NEITHER and len(rows):
            found.append(notes.ids[int(rows[notes.midi_pitch[rows].argmin()])])
    return tuple(found)
