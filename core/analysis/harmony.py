"""Chords by beat or half measure, with their figures in the key of the passage.

Conventions: beats that carry the same chord are one finding. Where a beat alone makes no chord
(an arpeggio, a suspension), the whole measure may: its chord is taken where it holds most of the
sound. Where neither does, nothing is said.

Figures: Roman numerals against the tonic of the key, upper case for a major third and lower case
for a minor one; a sign before the numeral where the root isn't of the key; "o" diminished, "ø"
half-diminished, "+" augmented; then the position ("6", "64", "7", "65", "43", "42"). A dominant of
another degree is "V/..", its resolution unasked. In minor the degrees are those of the natural
minor, with the leading note for "viio" and "V". Source: Kostka, Payne & Almen; common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from core.analysis.chords import NO_CHORD, QUALITIES, Chords, chords_in, chords_of
from core.analysis.keys import Key, tonic_name
from core.analysis.slices import (
    FIFTHS,
    PITCH_CLASS_OF_COLUMN,
    Ints,
    Slices,
    passage_between,
    slices_of,
)
from core.score.findings import Finding
from core.score.score import Score

LEAST_OF_MEASURE = 0.75
"""Share of a measure's sound that its chord must hold to stand for a beat without one."""
SUREST = 0.9
_NUMERALS = ("I", "II", "III", "IV", "V", "VI", "VII")
_DEGREES = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "minor": (0, 2, 3, 5, 7, 8, 10),
}
_LOWER_CASE = frozenset({"minor", "diminished", "minor seventh", "diminished seventh",
                         "half-diminished seventh"})  # fmt: skip
_MARKS = {"diminished": "o", "diminished seventh": "o", "half-diminished seventh": "ø",
          "augmented": "+"}  # fmt: skip
_TRIAD_POSITIONS, _SEVENTH_POSITIONS = ("", "6", "64"), ("7", "65", "43", "42")


@dataclass(frozen=True, slots=True, kw_only=True)
class Harmony:
    """A chord.

    Parameters
    ----------
    root, bass : int
        On the line of fifths.
    quality : str
        A name of ``chords.QUALITIES``.
    figure : str
        In ``key``: "i6", "V7", "viio7/V"; empty where the bass is no note of the chord.
    key : Key
        Of the passage.
    """

    root: int
    bass: int
    quality: str
    figure: str
    key: Key

    @property
    def name(self) -> str:
        """For a reader: "G minor over Bb"."""
        over = "" if self.bass == self.root else f" over {tonic_name(self.bass)}"
        return f"{tonic_name(self.root)} {self.quality}{over}"


def harmony(
    score: Score, regions: tuple[Finding[Key], ...], slices: Slices | None = None
) -> tuple[Finding[Harmony], ...]:
    """The chords of a score by onset; nothing where no chord is clear.

    Parameters
    ----------
    score : Score
    regions : tuple of Finding of Key
        Its key regions; they give the figures.
    slices : Slices or None
        Those of the score, where they are made already.
    """
    slices = slices or slices_of(score)
    if not len(slices) or not regions:
        return ()
    chords = _with_measures(slices, chords_of(slices))
    keys = _key_of_slices(score, slices, regions)
    name = np.stack([chords.quality, chords.root, chords.bass, keys], axis=1)
    starts = np.flatnonzero(np.r_[True, np.any(name[1:] != name[:-1], axis=1)]).tolist()
    return tuple(
        _finding(score, slices, chords, regions[int(keys[first])].value, first, end)
        for first, end in pairwise([*starts, len(slices)])
        if chords.quality[first] != NO_CHORD
    )


def figure_of(root: int, bass: int, quality: str, key: Key) -> str:
    """The Roman figure of a chord.

    Parameters
    ----------
    root, bass : int
        Pitch classes.
    quality : str
        A name of ``chords.QUALITIES``.
    key : Key

    Examples
    --------
    >>> figure_of(7, 11, "dominant seventh", Key(tonic=0, mode="major"))
    'V65'
    >>> figure_of(2, 2, "dominant seventh", Key(tonic=0, mode="major"))
    'V7/V'
    >>> figure_of(8, 0, "major", Key(tonic=1, mode="minor"))
    'bII6'
    """
    steps = dict(QUALITIES)[quality]
    above_root = (bass - root) % 12
    if above_root not in steps:
        return ""
    position = steps.index(above_root)
    is_seventh = len(steps) == 4
    inversion = (_SEVENTH_POSITIONS if is_seventh else _TRIAD_POSITIONS)[position]
    above = (root - key.pitch_class) % 12
    applied = _applied(above, quality, key)
    if applied:
        return f"V{inversion}/{applied}"
    return f"{_numeral(above, quality, key)}{_MARKS.get(quality, '')}{inversion}"


def _applied(above: int, quality: str, key: Key) -> str:
    """The degree that a dominant seventh on this one leads to; empty for that of the tonic."""
    if quality != "dominant seventh" or above == 7:
        return ""
    target = (above + 5) % 12
    if target not in _DEGREES[key.mode] or target == 0:
        return ""
    degree = _DEGREES[key.mode].index(target)
    minor_ones = {"major": (1, 2, 5), "minor": (0, 3, 4)}[key.mode]
    numeral = _NUMERALS[degree]
    return numeral.lower() if degree in minor_ones else numeral


def _numeral(above: int, quality: str, key: Key) -> str:
    degrees = _DEGREES[key.mode]
    sign = ""
    if above in degrees:
        degree = degrees.index(above)
    elif key.mode == "minor" and above == 11:
        degree = 6
    elif (above + 1) % 12 in degrees:
        degree, sign = degrees.index((above + 1) % 12), "b"
    else:
        degree, sign = degrees.index((above - 1) % 12), "#"
    numeral = _NUMERALS[degree]
    return sign + (numeral.lower() if quality in _LOWER_CASE else numeral)


def _with_measures(slices: Slices, chords: Chords) -> Chords:
    """Beats without a chord take that of their measure, where it holds most of the sound."""
    count = int(slices.measure.max()) + 1
    sums = np.zeros((count, 12))
    np.add.at(sums, slices.measure, slices.pitch_classes)
    lowest = np.full(count, 999)
    np.minimum.at(lowest, slices.measure, slices.bass_pitch)
    whole = chords_in(sums, np.where(lowest == 999, -1, lowest % 12))
    at = slices.measure
    sounds = slices.fifths.any(axis=1)
    # A beat that is silent, or that has more than two notes of its own, keeps its answer.
    takes = sounds & (chords.quality == NO_CHORD) & (whole.covered[at] >= LEAST_OF_MEASURE)
    return Chords(
        quality=np.where(takes, whole.quality[at], chords.quality),
        root=np.where(takes, whole.root[at], chords.root),
        bass=np.where(takes, whole.bass[at], chords.bass),
        covered=np.where(takes, whole.covered[at], chords.covered),
    )


def _key_of_slices(score: Score, slices: Slices, regions: tuple[Finding[Key], ...]) -> Ints:
    starts = [score.onset_of(region.passage.start) if region.passage else 0 for region in regions]
    found = np.searchsorted(starts, slices.edges[:-1], side="right") - 1
    return np.asarray(np.maximum(found, 0), dtype=np.int64)


def _finding(
    score: Score, slices: Slices, chords: Chords, key: Key, first: int, end: int
) -> Finding[Harmony]:
    quality = QUALITIES[int(chords.quality[first])][0]
    root, bass = int(chords.root[first]), int(chords.bass[first])
    sounding = slices.fifths[first:end].sum(axis=0)
    spelled = _spelled(sounding, root, key)
    value = Harmony(
        root=spelled,
        bass=spelled if bass in (root, -1) else _spelled(sounding, bass, key),
        quality=quality,
        figure=figure_of(root, root if bass < 0 else bass, quality, key),
        key=key,
    )
    start, stop = int(slices.edges[first]), int(slices.edges[end])
    covered = float(chords.covered[first:end].mean())
    return Finding(
        kind="harmony",
        passage=passage_between(score, start, stop),
        value=value,
        confidence=min(covered, SUREST),
    )


def _spelled(
    sounding: np.ndarray[tuple[int], np.dtype[np.float64]], pitch_class: int, key: Key
) -> int:
    """A pitch class as it is written there, else as near to the key as may be."""
    columns = np.flatnonzero(pitch_class == PITCH_CLASS_OF_COLUMN)
    nearness = -np.abs(FIFTHS[columns] - key.tonic - 1) * 1e-6
    return int(FIFTHS[columns[(sounding[columns] + nearness).argmax()]])
