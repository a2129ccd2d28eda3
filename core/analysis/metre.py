"""The metre of unbarred music, inferred so that it can be counted and addressed.

Conventions
-----------
Time is cut into ``GRID`` parts of a quarter note. For each length of a measure and each place
of the first downbeat a sum is formed of what speaks for it: how far the music repeats itself
after that length, how much more weight falls on the downbeats than on the other beats (long
notes, changes of harmony, many notes, low notes), whether the piece ends with a full measure or
with what the upbeat has taken from it, and how many onsets a measure would hold. The best is
taken, the next ones are named. What is inferred is never written into the score.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.analysis.ordered import median
from core.score.findings import Finding
from core.score.note_table import TIE_STOP, UNPITCHED, NoteTable
from core.score.score import Score

GRID = 4
"""Parts of a quarter note."""
LENGTHS_QUARTERS = (1.5, 2.0, 3.0, 4.0)
"""Lengths of a measure that are tried."""
SIGNATURES: Mapping[float, str] = {1.5: "3/8", 2.0: "2/4", 3.0: "3/4", 4.0: "4/4"}
COMPOUND = "6/8"
"""Instead of 3/4, where the music repeats itself after a dotted quarter."""
PERIODIC = 4.0
WEIGHTS: Mapping[str, float] = {"harmony": 2.4, "length": 1.0, "many": 0.2, "bass": 0.2}
"""What an accent on the downbeat counts, in standard deviations of its kind."""
CONTRAST: Mapping[float, float] = {1.5: 1.0, 2.0: 0.5, 3.0: 1.0, 4.0: 0.75}
"""How much the difference from the strongest other beat counts: two beats differ easily."""
FULL_END = 1.2
ONSETS_A_MEASURE = 7.0
CROWDED = 4.5
"""Price of an unusual number of onsets in a measure, by the square of its octaves."""
EIGHTHS = 2.5
"""Measures of three eighths are short by their nature."""
MOST_HELD = 8 * GRID
"""Grid parts for which a held note is followed."""
LONG_MEASURE_QUARTERS = 8
"""Measures longer than this, without a signature, are lines rather than measures."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class InferredMetre:
    """A metre that is not written, from its onset on.

    Parameters
    ----------
    onset_quarters : fractions.Fraction
    signature : str
    measure_quarters : fractions.Fraction
        Length of a measure.
    first_downbeat_quarters : fractions.Fraction
        What comes before it is an upbeat.
    """

    onset_quarters: Fraction
    signature: str
    measure_quarters: Fraction
    first_downbeat_quarters: Fraction


def is_unbarred(score: Score) -> bool:
    """Whether no measure has a time signature and the barlines, if any, stand far apart."""
    if any(measure.signature for measure in score.measures):
        return False
    lengths = [measure.duration for measure in score.measures]
    return median(lengths) > LONG_MEASURE_QUARTERS * score.ticks_per_quarter


def infer_metre(score: Score) -> Finding[InferredMetre] | None:
    """The likeliest metre of unbarred music, with the next ones as alternatives.

    Returns
    -------
    Finding of InferredMetre, or None
        None for music with barlines, and where too little is written to tell.
    """
    if not is_unbarred(score):
        return None
    signals = _signals(score)
    if signals is None:
        return None
    options = _options(signals, float(score.quarters(score.duration)))
    best, rival = options[0], options[1]
    sure = 0.5 + 0.42 * float(np.tanh((best.support - rival.support) / 4.0))
    metres = [_metre(signals, option) for option in options[:3]]
    shares = (0.6, 0.3)
    return Finding(
        kind="metre",
        value=metres[0],
        confidence=round(sure, 4),
        alternatives=tuple(
            (metre, round((1 - sure) * share, 4))
            for metre, share in zip(metres[1:], shares, strict=True)
        ),
    )


def downbeats(score: Score, metre: InferredMetre) -> NDArray[np.int64]:
    """Ticks of all downbeats of an inferred metre."""
    first = round(metre.first_downbeat_quarters * score.ticks_per_quarter)
    each = round(metre.measure_quarters * score.ticks_per_quarter)
    return np.arange(first, max(score.duration, first + 1), max(each, 1), dtype=np.int64)


class _Option(NamedTuple):
    """A length of measure and where it begins, with what supports it."""

    support: float
    length: float
    phase: int


class _Signals(NamedTuple):
    """Accents by grid part, in standard deviations; each has shape (n,)."""

    accents: Mapping[str, Floats]
    bass_lengths: Floats
    chroma: Floats
    onsets_a_quarter: float


def _signals(score: Score) -> _Signals | None:
    notes = score.notes
    rows = np.flatnonzero((notes.midi_pitch != UNPITCHED) & ~notes.is_grace)
    size = -(-score.duration * GRID // score.ticks_per_quarter) + 1
    if len(rows) < 2 * GRID or size < 8 * GRID:
        return None
    begin, end = _grid_parts(notes, rows, size)
    pitch = notes.midi_pitch[rows].astype(np.int64)
    starts = (notes.tie[rows] & TIE_STOP) == 0
    quarters = np.minimum(notes.duration[rows] / score.ticks_per_quarter, 4.0)
    many, longest = np.zeros(size), np.zeros(size)
    np.add.at(many, begin[starts], 1.0)
    np.maximum.at(longest, begin[starts], quarters[starts])
    chroma = _sounding_chroma(begin, end, pitch, size)
    bass, bass_lengths = _bass(begin, end, pitch, starts, size)
    accents = {
        "harmony": _change_of_harmony(chroma) * (many > 0),
        "length": longest,
        "many": many,
        "bass": bass,
    }
    norms = np.linalg.norm(chroma, axis=1, keepdims=True)
    return _Signals(
        accents={name: _standard(signal) for name, signal in accents.items()},
        bass_lengths=_standard(bass_lengths),
        chroma=chroma / np.where(norms > 0, norms, 1.0),
        onsets_a_quarter=float((many > 0).mean() * GRID),
    )


def _grid_parts(
    notes: NoteTable, rows: NDArray[np.int64], size: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First grid part of each note, and the one behind its last."""
    ticks = notes.ticks_per_quarter
    begin = np.rint(notes.onset[rows] * GRID / ticks).astype(np.int64)
    length = np.rint(notes.duration[rows] * GRID / ticks).astype(np.int64)
    begin = np.minimum(begin, size - 1)
    return begin, np.minimum(begin + np.clip(length, 1, MOST_HELD), size)


def _sounding_chroma(
    begin: NDArray[np.int64], end: NDArray[np.int64], pitch: NDArray[np.int64], size: int
) -> Floats:
    steps = np.zeros((size + 1, 12))
    np.add.at(steps, (begin, pitch % 12), 1.0)
    np.add.at(steps, (end, pitch % 12), -1.0)
    return np.asarray(np.cumsum(steps, axis=0)[:size])


def _bass(
    begin: NDArray[np.int64],
    end: NDArray[np.int64],
    pitch: NDArray[np.int64],
    starts: NDArray[np.bool_],
    size: int,
) -> tuple[Floats, Floats]:
    """How low the bass notes lie that begin, and how long each is the last one."""
    lengths = end - begin
    note = np.repeat(np.arange(len(begin)), lengths)
    part = begin[note] + np.arange(len(note)) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    lowest = np.full(size, 999, dtype=np.int64)
    np.minimum.at(lowest, part, pitch[note])
    known = lowest < 999
    low = np.where(known, lowest, 0).astype(np.float64)
    window = np.ones(4 * GRID + 1)
    around = np.convolve(low, window, "same") / np.maximum(np.convolve(known, window, "same"), 1)
    begins = np.zeros(size, dtype=np.bool_)
    begins[begin[starts & (pitch <= lowest[begin])]] = True
    bass = np.where(begins, 0.4 + np.clip((around - low) / 12, 0, 1.5), 0.0)
    held = np.zeros(size)
    at = np.flatnonzero(begins)
    held[at[:-1]] = np.minimum(np.diff(at), 4 * GRID)
    return bass, held


def _change_of_harmony(chroma: Floats) -> Floats:
    """How different the quarter that begins is from the quarter before."""
    size = len(chroma)
    sums = np.vstack([np.zeros(12), np.cumsum(np.vstack([chroma, np.zeros((GRID, 12))]), axis=0)])
    after = sums[GRID : size + GRID] - sums[:size]
    before = np.vstack([np.zeros((GRID, 12)), after[: size - GRID]])
    norms = np.linalg.norm(after, axis=1) * np.linalg.norm(before, axis=1)
    change = 1.0 - (after * before).sum(axis=1) / np.where(norms > 0, norms, 1.0)
    return np.asarray(np.where(norms > 0, change, 0.0))


def _standard(signal: Floats) -> Floats:
    spread = float(signal.std())
    return np.asarray((signal - signal.mean()) / (spread if spread > 1e-9 else 1.0))


def _options(signals: _Signals, quarters: float) -> list[_Option]:
    """All lengths and phases, the best supported first."""
    options = []
    for length in LENGTHS_QUARTERS:
        lag = round(length * GRID)
        common = _periodicity(signals, lag) - CROWDED * float(
            np.log2(max(signals.onsets_a_quarter, 0.1) * length / ONSETS_A_MEASURE) ** 2
        )
        common += EIGHTHS if length == 1.5 else 0.0
        weight = _weight_of_phases(signals, length, lag)
        for phase in range(lag):
            ends = min(quarters % length, (quarters - phase / GRID) % length) < 0.01
            support = common + float(weight[phase]) + FULL_END * ends
            options.append(_Option(support=support, length=length, phase=phase))
    return sorted(options, key=lambda option: -option.support)


def _periodicity(signals: _Signals, lag: int) -> float:
    """How far the music is the same after a lag: accents, and the notes themselves."""

    def same(signal: Floats) -> float:
        return float((signal[lag:] * signal[:-lag]).mean())

    accents = signals.accents
    kinds = [accents["bass"], accents["length"], accents["harmony"], signals.bass_lengths]
    notes = float((signals.chroma[lag:] * signals.chroma[:-lag]).sum(axis=1).mean())
    return PERIODIC * sum(same(kind) for kind in kinds) + notes


def _weight_of_phases(signals: _Signals, length: float, lag: int) -> Floats:
    """For each phase: the weight on its downbeats, and how it stands out from other beats."""
    total = np.zeros(lag)
    beat = GRID // 2 if length == 1.5 else GRID
    others = list(range(beat, lag, beat)) + ([lag // 2] if length == 3.0 else [])
    for name, weight in WEIGHTS.items():
        signal = signals.accents[name]
        padded = np.pad(signal, (0, -len(signal) % lag))
        profile = padded.reshape(-1, lag).mean(axis=0)
        rival = np.max([np.roll(profile, -other) for other in others], axis=0)
        total += weight * (profile + CONTRAST[length] * (profile - rival))
    return total


def _metre(signals: _Signals, option: _Option) -> InferredMetre:
    signature = SIGNATURES[option.length]
    if option.length == 3.0:
        is_compound = _periodicity(signals, 6 * GRID // 4) > _periodicity(signals, GRID)
        signature = COMPOUND if is_compound else signature
    return InferredMetre(
        onset_quarters=Fraction(0),
        signature=signature,
        measure_quarters=Fraction(option.length),
        first_downbeat_quarters=Fraction(option.phase, GRID),
    )
