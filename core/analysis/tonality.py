"""The global key of a score, with its evidence.

Conventions: keys are spelled (``keys``); durations weigh; grace notes, cue notes and notes
without pitch are left out. The words of the file for the mode are never read.

The key that fits best has the highest sum of

* the correlation of its profile with the pitch classes of the whole score, of the opening and
  of the close (where the playing ends, which after a D.C. is the Fine);
* whether the last bass is its tonic;
* how few notes its spelling can't account for, which parts G sharp minor from A flat minor;
* how near its signature is to the one printed, three signs or more counting alike: evidence
  among others, so that a piece without a signature, or with a wrong one, finds its key too.

The weights are round numbers set by judgement; halving or doubling any one of them moves the
result by one piece in a hundred at most. The sums are read as logits, and the shares that
follow as confidences: among answers of 0.9 and more some 99 in 100 were right.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.analysis.key_profiles import ALBRECHT_SHANAHAN
from core.analysis.keys import KEYS, Key
from core.score.findings import Finding
from core.score.note_table import UNPITCHED, NoteTable
from core.score.playing_order import PlayingOrder, playing_order_of
from core.score.score import Score

OPENING_QUARTERS = 8
CLOSE_QUARTERS = 8
_WHOLE, _OPENING, _CLOSE, _LAST_BASS, _FOREIGN, _SIGNATURE = 8.0, 3.0, 4.0, 2.0, -2.0, -0.5
_FARTHEST_SIGNATURE = 3
_LIKELY = 0.01
_MOST_ALTERNATIVES = 4
_LETTER_FIFTHS = np.array([0, 2, 4, -1, 1, 3, 5])
"""Of C D E F G A B on the line of fifths."""
_SPELLED_BELOW, _SPELLED_ABOVE = -5, 6
"""A key's chromatic scale on the line of fifths, from its flat second to its sharp fourth."""

_Mask = NDArray[np.bool_]
_PITCH_CLASSES = np.array([key.pitch_class for key in KEYS])
_SIGNATURES = np.array([key.signature for key in KEYS])
_TONICS = np.array([key.tonic for key in KEYS])
_PROFILES = np.array(
    [np.roll(ALBRECHT_SHANAHAN[key.mode], key.pitch_class) for key in KEYS], dtype=np.float64
)
"""Shape (30, 12): the profile of every key, from C up."""


class _Extent(NamedTuple):
    """The notes that count, those of the opening, of the close and of the last chord."""

    whole: _Mask
    opening: _Mask
    close: _Mask
    last_chord: _Mask


def global_key(score: Score, order: PlayingOrder | None = None) -> Finding[Key] | None:
    """The key of the whole score.

    Parameters
    ----------
    score : Score
    order : PlayingOrder or None
        Where the playing begins and ends; read from the signs when not given.

    Returns
    -------
    Finding of Key, or None
        None when no note has a pitch and a duration. Alternatives are the other keys with a
        confidence of 0.01 or more, four at most. Evidence: the notes of the last chord, then
        those notes of the opening that belong to the tonic triad, in order of onset.

    Notes
    -----
    Source of the profile: Albrecht & Shanahan 2013 (``key_profiles``). They compare by
    Euclidean distance and look at the first and the last eight measures; here it is
    correlation, eight quarters, and the whole besides.
    """
    order = order or playing_order_of(score)
    extent = _extent(score, order)
    if not extent.whole.any():
        return None
    shares = _shares(_sums(score, extent, order))
    ranked = [int(index) for index in np.argsort(-shares, kind="stable")]
    best = KEYS[ranked[0]]
    others = [i for i in ranked[1 : 1 + _MOST_ALTERNATIVES] if shares[i] >= _LIKELY]
    return Finding(
        kind="global key",
        value=best,
        confidence=float(shares[ranked[0]]),
        alternatives=tuple((KEYS[i], float(shares[i])) for i in others),
        evidence=_evidence(score.notes, extent, best),
    )


def profile_fit(weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """Correlation of twelve pitch-class weights with the profile of every key.

    Parameters
    ----------
    weights : shape (12,)
        Durations of the pitch classes from C up, in any unit.

    Returns
    -------
    shape (30,)
        One value in -1..1 for each of ``KEYS``; zeros when all weights are equal.
    """
    if np.ptp(weights) == 0:
        return np.zeros(len(KEYS))
    # All keys in one product: thirty calls of numpy.corrcoef took longer than the rest.
    return _standardised(_PROFILES) @ _standardised(weights)


def _standardised(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """With mean 0 and length 1 along the last axis, so that a product is a correlation."""
    centred = values - values.mean(axis=-1, keepdims=True)
    lengths = np.linalg.norm(centred, axis=-1, keepdims=True)
    return np.asarray(centred / lengths, dtype=np.float64)


def _extent(score: Score, order: PlayingOrder) -> _Extent:
    notes = score.notes
    whole = (notes.duration > 0) & (notes.midi_pitch != UNPITCHED) & ~notes.is_cue
    if not whole.any():
        return _Extent(whole=whole, opening=whole, close=whole, last_chord=whole)
    played = order.measure_indices or range(len(score.measures))
    start = score.measures[played[0]].onset
    last = score.measures[played[-1]]
    end = last.onset + last.duration
    ends = notes.onset + notes.duration
    inside = whole & (notes.onset < end)
    # An empty last measure, or one whose notes all began before it, is no close.
    inside = inside if inside.any() else whole
    begins = notes.onset[whole & (notes.onset >= start)].min(initial=notes.onset[whole].max())
    closes = min(end, int(ends[inside].max()))
    quarter = notes.ticks_per_quarter
    return _Extent(
        whole=whole,
        opening=whole
        & (notes.onset >= begins)
        & (notes.onset < begins + OPENING_QUARTERS * quarter),
        close=inside & (ends > closes - CLOSE_QUARTERS * quarter),
        last_chord=inside & (ends > notes.onset[inside].max()),
    )


def _sums(score: Score, extent: _Extent, order: PlayingOrder) -> NDArray[np.float64]:
    notes = score.notes
    lowest = int(notes.midi_pitch[extent.last_chord].min())
    sums = (
        _WHOLE * profile_fit(_pitch_class_quarters(notes, extent.whole))
        + _OPENING * profile_fit(_pitch_class_quarters(notes, extent.opening))
        + _CLOSE * profile_fit(_pitch_class_quarters(notes, extent.close))
        + _LAST_BASS * (lowest % 12 == _PITCH_CLASSES)
        + _FOREIGN * _foreign_shares(notes, extent.whole)
    )
    first = order.measure_indices[0] if order.measure_indices else 0
    fifths = score.measures[first].fifths if score.measures else None
    if fifths is not None:
        distance = np.minimum(np.abs(_SIGNATURES - fifths), _FARTHEST_SIGNATURE)
        sums = sums + _SIGNATURE * distance
    return np.asarray(sums, dtype=np.float64)


def _pitch_class_quarters(notes: NoteTable, rows: _Mask) -> NDArray[np.float64]:
    quarters = notes.duration[rows] / notes.ticks_per_quarter
    sums = np.bincount(notes.midi_pitch[rows] % 12, weights=quarters, minlength=12)
    return np.asarray(sums, dtype=np.float64)


def _foreign_shares(notes: NoteTable, rows: _Mask) -> NDArray[np.float64]:
    """For each key, the share of the duration that is spelled outside its chromatic scale."""
    fifths = _LETTER_FIFTHS[notes.step[rows]] + 7 * np.rint(notes.alter[rows]).astype(np.int64)
    above = fifths[np.newaxis, :] - _TONICS[:, np.newaxis]
    foreign = (above < _SPELLED_BELOW) | (above > _SPELLED_ABOVE)
    durations = notes.duration[rows].astype(np.float64)
    return np.asarray(foreign @ durations / durations.sum(), dtype=np.float64)


def _shares(sums: NDArray[np.float64]) -> NDArray[np.float64]:
    weights = np.exp(sums - sums.max())
    return np.asarray(weights / weights.sum(), dtype=np.float64)


def _evidence(notes: NoteTable, extent: _Extent, key: Key) -> tuple[str, ...]:
    third = 4 if key.mode == "major" else 3
    triad = [(key.pitch_class + step) % 12 for step in (0, third, 7)]
    opening = extent.opening & np.isin(notes.midi_pitch % 12, triad) & ~extent.last_chord
    rows = [*np.flatnonzero(extent.last_chord), *np.flatnonzero(opening)]
    return tuple(notes.ids[row] for row in rows)
