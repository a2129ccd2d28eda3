"""What each measure says of each scale on each tonic.

Conventions: states are pairs of a tonic (pitch class, 0 to 11) and a row of ``FORMS``; arrays have
the shape (measures, 12, forms). Values are logarithms.

The notes of a measure speak for the collection: a scale of few notes that holds them all is
likelier than one of many (``log(1 / size)`` for each note in it, weighted by the root of its
duration), and a note outside is nearly excluded. The tonic is told by what a collection can't
tell: the bass and its fifth, dominants that resolve, the first and the last bass, the root of the
last chord, and what the key of the piece and of the passage are.

Real music in minor has both sixths and both sevenths: a form of nine notes stands for it, and is
named afterwards by which of them prevail (Kostka, Payne & Almen: the minor is one scale with
inflections). The weights are round numbers, looked at on open annotated scores.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from core.analysis.chords import QUALITY_INDEX, Chords
from core.analysis.key_regions import is_division
from core.analysis.keys import Key
from core.analysis.scales import pattern, scale_table
from core.analysis.slices import Floats, Ints, Slices, sounding_rows
from core.score.findings import Finding
from core.score.note_table import TIE_STOP
from core.score.score import Score

MIXED_MINOR = "mixed minor"
"""No name of a scale: minor with both sixths and both sevenths."""
_WITH_RAISED_FOURTH = ("natural minor", "harmonic minor", "melodic minor", "dorian")
FORMS: tuple[tuple[str, tuple[str, ...]], ...] = (
    *((name, ()) for name in scale_table()),
    *((name, ("#4",)) for name in _WITH_RAISED_FOURTH),
    (MIXED_MINOR, ()),
)
"""Names and altered degrees of the scales that are compared."""
MIXED_MINOR_STEPS = (0, 2, 3, 5, 7, 8, 9, 10, 11)
STEPS: tuple[tuple[int, ...], ...] = tuple(
    MIXED_MINOR_STEPS if name == MIXED_MINOR else pattern(name, altered) for name, altered in FORMS
)


class ScaleWeights(NamedTuple):
    """Weights of the evidence, and what other states cost; a tuple is made in no time.

    Parameters
    ----------
    foreign : float
        Share of notes that lie outside a scale in use.
    notes, most_notes : float
        Weight of the notes; most of it that one measure may bring.
    mixed_size : float
        Notes that the mixed minor counts for: fewer than nine, since not all are heard at once.
    bass, lowest, fifth, sounding, resolution : float
        Of a measure for a tonic: share of the bass, the lowest note, share of the bass on its
        fifth, share of the sound, dominants that resolve into it.
    first, last, last_root, home, passage : float
        First bass, last bass, root of the last chord, key of the piece, key of the passage.
    prior, prior_of_change : float
        Weight of how common a scale is, at the beginning and at each change.
    another_scale, another_tonic, established_key : float
        Costs of a change; the last is that of another tonic where a key region begins that is
        established: it lasts ``established_quarters`` or more, times its confidence, or
        begins at a printed division.
    established_home : float
        What its tonic has for itself where it begins.
    """

    foreign: float = 0.01
    notes: float = 0.4
    most_notes: float = 16.0
    mixed_size: float = 8.0
    bass: float = 0.25
    lowest: float = 0.15
    fifth: float = 0.25
    sounding: float = 1.0
    resolution: float = 2.0
    first: float = 3.0
    last: float = 5.0
    last_root: float = 2.5
    home: float = 3.0
    passage: float = 0.1
    prior: float = 1.25
    prior_of_change: float = 0.75
    another_scale: float = 6.0
    another_tonic: float = 20.0
    established_key: float = 4.0
    established_home: float = 12.0
    established_quarters: float = 14.0


WEIGHTS = ScaleWeights()
COMMONNESS: dict[str, float] = {
    "major": 0.0, "natural minor": -0.5, "harmonic minor": -0.5, "melodic minor": -1.0,
    MIXED_MINOR: 0.0, "dorian": -1.0, "mixolydian": -1.0, "lydian": -2.5, "phrygian": -3.0,
    "major pentatonic": -3.0, "minor pentatonic": -3.0, "locrian": -5.0, "chromatic": -7.0,
}  # fmt: skip
"""Logarithms, by judgement."""
QUARTERS_AFTER_DIVISION = 8
"""A key that begins at a printed division and lasts so long is established."""
RARE_SCALE, FOR_RAISED_FOURTH = -4.0, -1.0


class ScaleEvidence(NamedTuple):
    """What a score says of its scales.

    Parameters
    ----------
    measures : shape (n, 12, forms)
        What each measure says.
    at_first : shape (12, forms)
        What is likelier before anything is heard.
    another_tonic : shape (n,)
        Cost of another tonic where that measure begins.
    heard : shape (n, 12)
        Weights of the pitch classes that were heard.
    """

    measures: Floats
    at_first: Floats
    another_tonic: Floats
    heard: Floats


def scale_evidence(
    score: Score,
    slices: Slices,
    chords: Chords,
    home: Key | None,
    regions: Sequence[Finding[Key]],
) -> ScaleEvidence:
    """All the evidence of a score that has a note with a pitch and a duration."""
    heard = heard_in_measures(score)
    tonics = _tonic_evidence(score, slices, chords, heard)
    measures = _collection_evidence(heard) + tonics[:, :, np.newaxis]
    measures += WEIGHTS.passage * _passages(regions, len(score.measures))
    at_first = np.tile(WEIGHTS.prior * commonness(), (12, 1))
    if home is not None:
        at_first[home.pitch_class] += WEIGHTS.home
    costs = np.full(len(score.measures), WEIGHTS.another_tonic)
    for index, key in _established(score, regions):
        costs[index] = WEIGHTS.established_key
        measures[index, key.pitch_class] += WEIGHTS.established_home
    return ScaleEvidence(measures=measures, at_first=at_first, another_tonic=costs, heard=heard)


def _established(score: Score, regions: Sequence[Finding[Key]]) -> Iterator[tuple[int, Key]]:
    """Measures in which a sure and lasting key region begins, the first one left out."""
    for region in regions[1:]:
        if region.passage is None:
            continue
        start, end = (score.onset_of(p) for p in (region.passage.start, region.passage.end))
        quarters = float(score.quarters(end - start))
        index = min(region.passage.start.measure_index, len(score.measures) - 1)
        is_planned = is_division(score, index) and quarters >= QUARTERS_AFTER_DIVISION
        if is_planned or region.confidence * quarters >= WEIGHTS.established_quarters:
            yield index, region.value


def heard_in_measures(score: Score) -> Floats:
    """Roots of the durations of the notes that begin in each measure, shape (n, 12)."""
    notes = score.notes
    rows = sounding_rows(notes)
    quarters = np.minimum(notes.duration[rows] / notes.ticks_per_quarter, 4.0)
    is_held = (notes.tie[rows] & TIE_STOP) > 0
    weights = np.sqrt(quarters) * np.where(is_held, 0.3, 1.0)
    heard = np.zeros((len(score.measures), 12))
    np.add.at(heard, (notes.measure[rows], notes.midi_pitch[rows] % 12), weights)
    return heard


def commonness() -> Floats:
    """Logarithm of how common each of ``FORMS`` is."""
    return np.array(
        [
            COMMONNESS.get(name, RARE_SCALE) + (FOR_RAISED_FOURTH if altered else 0.0)
            for name, altered in FORMS
        ]
    )


def note_logarithms() -> Floats:
    """Of a note at so many semitones above the tonic in each of ``FORMS``, shape (forms, 12)."""
    logarithms = np.empty((len(FORMS), 12))
    for row, (steps, (name, _)) in enumerate(zip(STEPS, FORMS, strict=True)):
        outside = 12 - len(steps)
        size = WEIGHTS.mixed_size if name == MIXED_MINOR else len(steps)
        logarithms[row] = np.log(WEIGHTS.foreign / max(outside, 1))
        logarithms[row, list(steps)] = np.log((1 - WEIGHTS.foreign * (outside > 0)) / size)
    return logarithms


def _collection_evidence(heard: Floats) -> Floats:
    total = heard.sum(axis=1, keepdims=True)
    capped = heard * np.minimum(1.0, WEIGHTS.most_notes / np.maximum(total, 1e-9))
    said = WEIGHTS.notes * note_logarithms()
    return np.stack([np.roll(capped, -tonic, axis=1) @ said.T for tonic in range(12)], axis=1)


def _tonic_evidence(score: Score, slices: Slices, chords: Chords, heard: Floats) -> Floats:
    count = len(heard)
    bass = np.zeros((count, 12))
    has_bass = chords.bass >= 0
    spots = (slices.measure[has_bass], chords.bass[has_bass])
    np.add.at(bass, spots, slices.quarters[has_bass])
    bass /= np.maximum(bass.sum(axis=1, keepdims=True), 1e-9)
    said = WEIGHTS.bass * bass + WEIGHTS.fifth * np.roll(bass, -7, axis=1)
    said += WEIGHTS.sounding * heard / np.maximum(heard.sum(axis=1, keepdims=True), 1e-9)
    said += WEIGHTS.resolution * _resolutions(slices, chords, count)
    lowest = np.full(count, 999)
    np.minimum.at(lowest, slices.measure, slices.bass_pitch)
    sounding = np.flatnonzero(lowest < 999)
    said[sounding, lowest[sounding] % 12] += WEIGHTS.lowest
    said[sounding[0], chords.bass[np.flatnonzero(has_bass)[0]]] += WEIGHTS.first
    # The close is what sounds when the last note has begun.
    said[sounding[-1], _last_bass(score)] += WEIGHTS.last
    named = np.flatnonzero(chords.root >= 0)
    if len(named):
        said[sounding[-1], chords.root[named[-1]]] += WEIGHTS.last_root
    return said


def _last_bass(score: Score) -> int:
    notes = score.notes
    rows = sounding_rows(notes)
    ends = notes.onset[rows] + notes.duration[rows]
    return int(notes.midi_pitch[rows[ends > notes.onset[rows].max()]].min()) % 12


def _resolutions(slices: Slices, chords: Chords, count: int) -> Floats:
    """Dominants that resolve into a triad, by the root of it."""
    found = np.zeros((count, 12))
    changes = chords.changes
    before, after = changes[:-1], changes[1:]
    named = (chords.root[before] >= 0) & np.isin(chords.quality[after], _TRIADS)
    before, after = before[named], after[named]
    root = chords.root[after]
    above = (chords.root[before] - root) % 12
    is_dominant = (above == 7) & np.isin(chords.quality[before], _DOMINANTS)
    leads = (above == 11) & np.isin(chords.quality[before], _LEADING)
    on_root = chords.bass[after] == root
    strength = np.where(is_dominant, 0.25 + 0.25 * on_root, np.where(leads, 0.3, 0.0))
    np.add.at(found, (slices.measure[after], root), strength)
    return found


def _passages(regions: Sequence[Finding[Key]], count: int) -> Floats:
    """Where a key region has the tonic: half for the tonic, half for the mode."""
    found = np.zeros((count, 12, len(FORMS)))
    for region in regions:
        if region.passage is None:
            continue
        first, end = region.passage.start.measure_index, region.passage.end.measure_index
        end += region.passage.end.offset_quarters > 0
        fits = (1 if region.value.mode == "major" else -1) == _THIRDS
        found[first:end, region.value.pitch_class] += region.confidence * (0.5 + 0.5 * fits)
    return found


_TRIADS = [QUALITY_INDEX["major"], QUALITY_INDEX["minor"]]
_DOMINANTS = [QUALITY_INDEX["major"], QUALITY_INDEX["dominant seventh"]]
_LEADING = [
    QUALITY_INDEX[name] for name in ("diminished", "diminished seventh", "half-diminished seventh")
]
_THIRDS: Ints = np.array([(4 in steps) - (3 in steps) for steps in STEPS])
"""1 for a major third, -1 for a minor one, 0 for both or none."""
