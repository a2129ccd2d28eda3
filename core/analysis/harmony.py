"""Chords by beat or half measure, with their figures in the key of the passage.

Conventions: beats that carry the same chord are one finding. Where a beat alone makes no chord
(an arpeggio, a suspension), the whole measure may: its chord is taken where it holds most of the
sound. Where neither does, nothing is said.

Figures: Roman numerals against the tonic of the key, upper case for a major third and lower case
for a minor one; a sign before the numeral where the root isn't of the key ("#vi" on the raised
sixth of the minor); "o" diminished, "ø" half-diminished, "+" augmented; then the position ("6",
"64", "7", "65", "43", "42"). A dominant or diminished seventh that leads to another degree is
"V7/..", "viio7/..", its resolution unasked. In minor the degrees are those of the natural minor,
with the leading note for "viio" and "V". Source: Kostka, Payne & Almen; common practice.

Confidence: the share of the sound that belongs to the chord, ``SUREST`` at most. The alternative
is the chord that fits next best, with a share of what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice
from typing import NamedTuple

import numpy as np

from core.analysis.chords import (
    NO_CHORD,
    QUALITIES,
    QUALITY_INDEX,
    Chords,
    chords_in,
    chords_of,
    fits_in,
)
from core.analysis.keys import Key, tonic_name
from core.analysis.slices import (
    FIFTHS,
    PITCH_CLASS_OF_COLUMN,
    Floats,
    Ints,
    Slices,
    place_at,
    slices_of,
    sounding_rows,
)
from core.score.findings import Finding
from core.score.places import Passage, Place
from core.score.score import Score

LEAST_OF_MEASURE = 0.75
"""Share of a measure's sound that its chord must hold to stand for a beat without one."""
SUREST = 0.9
LEAST_ALTERNATIVE, BEHIND = 0.02, 0.25
"""An alternative that fits worse by ``BEHIND`` has none of what the chord leaves."""
MOST_EVIDENCE = 8
_NUMERALS = ("I", "II", "III", "IV", "V", "VI", "VII")
_DEGREES = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "minor": (0, 2, 3, 5, 7, 8, 10),
}
_CHROMATIC = {
    "major": {1: "bII", 3: "bIII", 6: "#IV", 8: "bVI", 10: "bVII"},
    "minor": {1: "bII", 4: "#III", 6: "#IV", 9: "#VI", 11: "VII"},
}
"""Numerals of roots outside the key, by semitones above the tonic."""
_LOWER_CASE = frozenset({"minor", "diminished", "minor seventh", "diminished seventh",
                         "half-diminished seventh"})  # fmt: skip
_MARKS = {"diminished": "o", "diminished seventh": "o", "half-diminished seventh": "ø",
          "augmented": "+"}  # fmt: skip
_LEADS = {
    "dominant seventh": (5, 7, "V"),
    "diminished seventh": (1, 11, "vii"),
}
"""Semitones from the root to that of the chord it leads to; the root that leads to the tonic, above
it; the numeral of one that leads elsewhere."""
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
    chords = _with_measures(slices, chords_of(slices, is_for_reader=True))
    keys = _key_of_slices(score, slices, regions)
    name = np.stack([chords.quality, chords.root, chords.bass, keys], axis=1)
    starts = np.flatnonzero(np.r_[True, np.any(name[1:] != name[:-1], axis=1)])
    key_of = [regions[index].value for index in keys[starts].tolist()]
    heard = _heard(score, slices, chords, starts, key_of)
    return tuple(
        _finding(heard, key_of[run], run)
        for run, quality in enumerate(chords.quality[starts].tolist())
        if quality != NO_CHORD
    )


@lru_cache(maxsize=1024)
def figure_of(root: int, bass: int, quality: str, key: Key, *, spelled: int | None = None) -> str:
    """The Roman figure of a chord.

    Parameters
    ----------
    root, bass : int
        Pitch classes.
    quality : str
        A name of ``chords.QUALITIES``.
    key : Key
    spelled : int or None
        The root on the line of fifths, where its spelling shall tell the degree.

    Examples
    --------
    >>> figure_of(7, 11, "dominant seventh", Key(tonic=0, mode="major"))
    'V65'
    >>> figure_of(2, 2, "dominant seventh", Key(tonic=0, mode="major"))
    'V7/V'
    >>> figure_of(8, 0, "major", Key(tonic=1, mode="minor"))
    'bII6'
    >>> figure_of(6, 6, "diminished seventh", Key(tonic=0, mode="major"))
    'viio7/V'
    """
    steps = QUALITIES[QUALITY_INDEX[quality]][1]
    above_root = (bass - root) % 12
    if above_root not in steps:
        return ""
    position = steps.index(above_root)
    is_seventh = len(steps) == 4
    inversion = (_SEVENTH_POSITIONS if is_seventh else _TRIAD_POSITIONS)[position]
    above = (root - key.pitch_class) % 12
    numeral, target = _numeral(above, quality, key, spelled), ""
    if quality in _LEADS and above != _LEADS[quality][1]:
        steps_to, _, applied = _LEADS[quality]
        target = _degree_led_to((above + steps_to) % 12, key)
        numeral = applied if target else numeral
    mark = _MARKS.get(quality, "")
    return f"{numeral}{mark}{inversion}{f'/{target}' if target else ''}"


def _degree_led_to(target: int, key: Key) -> str:
    """The numeral of a degree other than the tonic; empty for what is none of the key."""
    if target not in _DEGREES[key.mode] or target == 0:
        return ""
    degree = _DEGREES[key.mode].index(target)
    minor_ones = {"major": (1, 2, 5), "minor": (0, 3, 4)}[key.mode]
    numeral = _NUMERALS[degree]
    return numeral.lower() if degree in minor_ones else numeral


def _numeral(above: int, quality: str, key: Key, spelled: int | None) -> str:
    numeral = _numeral_as_spelled(above, key, spelled) or _CHROMATIC[key.mode].get(above)
    numeral = numeral or _NUMERALS[_DEGREES[key.mode].index(above)]
    if quality not in _LOWER_CASE:
        return numeral
    return numeral[0] + numeral[1:].lower() if numeral[0] in "#b" else numeral.lower()


def _numeral_as_spelled(above: int, key: Key, spelled: int | None) -> str:
    """Of a root a semitone off its degree; empty for others, and for the leading note's."""
    if spelled is None or (above == 11 and key.mode == "minor"):
        return ""
    degree = (4 * (spelled - key.tonic)) % 7
    sign = (above - _DEGREES[key.mode][degree] + 6) % 12 - 6
    return f"{'#' if sign == 1 else 'b'}{_NUMERALS[degree]}" if abs(sign) == 1 else ""


def _with_measures(slices: Slices, chords: Chords) -> Chords:
    """Beats without a chord take that of their measure, where it holds most of the sound."""
    count = int(slices.measure.max()) + 1
    sums = np.zeros((count, 12))
    np.add.at(sums, slices.measure, slices.pitch_classes)
    lowest = np.full(count, 999)
    np.minimum.at(lowest, slices.measure, slices.bass_pitch)
    lowest = np.where(lowest == 999, -1, lowest % 12)
    whole = chords_in(sums, lowest, is_for_reader=True)
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


class _Heard(NamedTuple):
    """A score, its chords, and for each run of slices with one chord what else fits."""

    score: Score
    places: list[Place]
    """Where each run begins, and the end of the last one."""
    confidence: list[float]
    chords: list[tuple[int, int, int]]
    """Quality, root and bass of each run."""
    next_best: list[int]
    nearness: list[float]
    """Of the next best chord: 1 where it fits as well, 0 where it fits worse by ``BEHIND``."""
    spelled: list[list[int]]
    """Of each run, every pitch class on the line of fifths."""
    rows: list[int]
    """Notes that sound, by onset."""
    first_row: list[int]
    """Of each run, and behind them the number of rows."""
    pitch_classes: list[int]
    """Of ``rows``."""


def _heard(
    score: Score, slices: Slices, chords: Chords, starts: Ints, key_of: Sequence[Key]
) -> _Heard:
    notes, edges = score.notes, slices.edges
    sounding = np.add.reduceat(slices.pitch_classes, starts, axis=0)
    _, fit = fits_in(sounding, chords.bass[starts], is_for_reader=True)
    every = np.arange(len(starts))
    own = chords.quality[starts] * 12 + chords.root[starts]
    fits = fit[every, own].copy()
    fit[every, own] = -np.inf
    best = fit.argmax(axis=1)
    lengths = np.diff(np.r_[starts, len(slices)])
    covered = np.add.reduceat(chords.covered, starts) / lengths
    rows = sounding_rows(notes)
    limits = [*edges[starts].tolist(), int(edges[-1])]
    columns = (chords.quality[starts], chords.root[starts], chords.bass[starts])
    return _Heard(
        score=score,
        places=[place_at(score, tick) for tick in limits],
        confidence=np.minimum(covered, SUREST).tolist(),
        chords=list(zip(*(column.tolist() for column in columns), strict=True)),
        next_best=best.tolist(),
        nearness=np.clip(1 - (fits - fit[every, best]) / BEHIND, 0.0, 1.0).tolist(),
        spelled=_spelled(np.add.reduceat(slices.fifths, starts, axis=0), key_of),
        rows=rows.tolist(),
        first_row=np.searchsorted(notes.onset[rows], limits).tolist(),
        pitch_classes=(notes.midi_pitch[rows] % 12).tolist(),
    )


def _finding(heard: _Heard, key: Key, run: int) -> Finding[Harmony]:
    quality, root, bass = heard.chords[run]
    confidence, other = heard.confidence[run], heard.next_best[run]
    share = (1 - confidence) * heard.nearness[run]
    alternatives: tuple[tuple[Harmony, float], ...] = ()
    if share >= LEAST_ALTERNATIVE:
        alternative = _harmony(heard.spelled[run], other // 12, other % 12, bass, key)
        alternatives = ((alternative, share),)
    return Finding(
        kind="harmony",
        passage=Passage(start=heard.places[run], end=heard.places[run + 1]),
        value=_harmony(heard.spelled[run], quality, root, bass, key),
        confidence=confidence,
        alternatives=alternatives,
        evidence=_evidence(heard, quality, root, run),
    )


def _harmony(spelled: list[int], quality: int, root: int, bass: int, key: Key) -> Harmony:
    name = QUALITIES[quality][0]
    lowest = root if bass < 0 else bass
    return Harmony(
        root=spelled[root],
        bass=spelled[lowest],
        quality=name,
        figure=figure_of(root, lowest, name, key, spelled=spelled[root]),
        key=key,
    )


def _evidence(heard: _Heard, quality: int, root: int, run: int) -> tuple[str, ...]:
    """The first notes of the chord that begin while it lasts."""
    tones = {(root + step) % 12 for step in QUALITIES[quality][1]}
    rows = range(heard.first_row[run], heard.first_row[run + 1])
    belonging = (row for row in rows if heard.pitch_classes[row] in tones)
    ids = heard.score.notes.ids
    return tuple(ids[heard.rows[row]] for row in islice(belonging, MOST_EVIDENCE))


def _spelled(sounding: Floats, key_of: Sequence[Key]) -> list[list[int]]:
    """Each pitch class as it is written in each run, else as near to the key as may be."""
    tonics = np.array([key.tonic for key in key_of])
    found = np.zeros((len(sounding), 12), dtype=np.int64)
    for pitch_class in range(12):
        columns = np.flatnonzero(pitch_class == PITCH_CLASS_OF_COLUMN)
        nearness = -np.abs(FIFTHS[columns] - tonics[:, np.newaxis] - 1) * 1e-6
        best = (sounding[:, columns] + nearness).argmax(axis=1)
        found[:, pitch_class] = FIFTHS[columns][best]
    spelled: list[list[int]] = found.tolist()
    return spelled
