"""A passage of a score as a performance: which key goes down when, how strongly, for how long.

Conventions: seconds from the beginning of the performance. Written lengths are held in full.
Tied notes are struck once; a note tied over into the passage is struck where the passage begins.
Grace notes take their time from before the beat, as short as ``GRACE_SECONDS`` each; where the
passage begins with some, all of it begins that much later. Cue notes and notes without pitch are
left out. A key that is struck again goes up first.

The hands are taken by staff: in a part of two staves the upper is the right hand, the lower the
left (common practice). A part with any other number of staves belongs to both.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.score.note_table import TIE_START, TIE_STOP
from core.score.places import Passage
from core.score.score import Score
from core.takes.dynamics import Dynamics
from core.takes.grace_order import grace_groups
from core.takes.played_time import PlayedTime, Stretches, stretches_of
from core.takes.tempo import Tempo, tempo_at, tempos

Hand = Literal["both", "right", "left"]
HANDS: tuple[Hand, ...] = ("both", "right", "left")
SLOWEST, FASTEST = 0.25, 1.5
"""Speeds that can be asked for, as a share of the tempo."""
GRACE_SECONDS = 0.08
"""A short grace note at full speed (common practice: as short as it is clear)."""
GRACE_SHARE = 0.4
"""Of the time since the chord before it, what grace notes may take at most."""
REPEATED_GAP_SECONDS = 0.03
"""A key that is struck again has to come up in between."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """How a passage is to be played.

    Parameters
    ----------
    speed : float
        Share of the tempo, ``SLOWEST`` to ``FASTEST``.
    hand : "both", "right" or "left"

    Raises
    ------
    ValueError
        A speed or a hand that there isn't.
    """

    speed: float = 1.0
    hand: Hand = "both"

    def __post_init__(self) -> None:
        if not SLOWEST <= self.speed <= FASTEST:
            raise ValueError(f"speed is {self.speed}; {SLOWEST} to {FASTEST}, not a percentage?")
        if self.hand not in HANDS:
            raise ValueError(f"hand is {self.hand!r}; one of {', '.join(HANDS)}")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Performance:
    """A passage as played: notes by onset, then pitch, in columns of shape ``(n,)``.

    Parameters
    ----------
    onset_seconds, duration_seconds : float64
    midi_pitch : int16, 0 to 127
    velocity : int16, 1 to 127
    staff : int16, as in the note table
    row : int64, of the note table
    time : PlayedTime
        Where in the score each second lies.
    lead_seconds : float
        What the performance begins earlier than its first beat, for grace notes there.
    length_seconds : float
        To the end of the last measure; a loop begins again there.
    """

    onset_seconds: NDArray[np.float64]
    duration_seconds: NDArray[np.float64]
    midi_pitch: NDArray[np.int16]
    velocity: NDArray[np.int16]
    staff: NDArray[np.int16]
    row: NDArray[np.int64]
    time: PlayedTime = field(repr=False)
    lead_seconds: float
    length_seconds: float

    def __len__(self) -> int:
        return len(self.onset_seconds)

    @property
    def tempo_reason(self) -> str:
        """Where the tempo at its beginning comes from, in words."""
        return self.time.tempos[0].reason if self.time.tempos else ""


def perform(
    score: Score,
    passage: Passage,
    manner: Manner | None = None,
    *,
    order: Sequence[int] | None = None,
) -> Performance:
    """Play a passage, on paper.

    Parameters
    ----------
    passage : Passage
        A point stands for all that follows it.
    manner : Manner, optional
    order : sequence of int or None
        Measure indices as they are played (of a statement: its slice of the playing order);
        None for the written order, once.

    Returns
    -------
    Performance
        Without notes where the passage, or the hand in it, has none.
    """
    manner = manner or Manner()
    in_force = tempos(score)
    stretches = stretches_of(score, passage, order)
    time = PlayedTime(score, stretches, in_force, speed=manner.speed)
    keys = _struck_keys(score, stretches, _rows_of_hand(score, manner.hand))
    graces = _graces(score, stretches, time, in_force, manner)
    lead = max(0.0, -min((onset for _, onset, _ in graces), default=0.0))
    return _performance(score, time, keys, graces, lead)


def staves_of_hand(score: Score, hand: Hand) -> tuple[int, ...]:
    """Staves that a hand plays, counted through the whole score."""
    wanted: list[int] = []
    for part in score.parts:
        staves = list(range(part.first_staff, part.first_staff + part.staves))
        if len(staves) == 2 and hand != "both":
            staves = staves[:1] if hand == "right" else staves[1:]
        wanted += staves
    return tuple(wanted)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Keys:
    """Struck keys in played ticks: rows of the table, onsets, ends."""

    rows: NDArray[np.int64]
    onsets: NDArray[np.float64]
    ends: NDArray[np.float64]


def _rows_of_hand(score: Score, hand: Hand) -> NDArray[np.bool_]:
    notes = score.notes
    return (
        np.isin(notes.staff, staves_of_hand(score, hand))
        & (notes.midi_pitch >= 0)
        & (notes.midi_pitch <= 127)
        & ~notes.is_cue
    )


def _struck_keys(score: Score, stretches: Stretches, wanted: NDArray[np.bool_]) -> _Keys:
    notes = score.notes
    ends = _ends_with_ties(score)
    is_main = wanted & ~notes.is_grace & (notes.duration > 0)
    is_struck = is_main & ~_is_tied_over(score)
    rows, onsets, stops, played = [], [], [], 0
    for start, end in stretches:
        inside = (notes.onset >= start) & (notes.onset < end)
        held_over = is_main & (notes.onset == start)
        found = np.flatnonzero((is_struck & inside) | held_over)
        rows.append(found)
        onsets.append(notes.onset[found] - start + played)
        stops.append(np.minimum(ends[found], end) - start + played)
        played += end - start
    if not rows:
        none = np.zeros(0)
        return _Keys(rows=none.astype(np.int64), onsets=none, ends=none)
    return _Keys(
        rows=np.concatenate(rows),
        onsets=np.concatenate(onsets).astype(np.float64),
        ends=np.concatenate(stops).astype(np.float64),
    )


def _tied_on(score: Score) -> dict[int, int]:
    """Row of the note that each tie leads to: same part and pitch, where the first one ends."""
    notes = score.notes
    waiting = {
        (int(notes.part[row]), int(notes.midi_pitch[row]), int(notes.onset[row])): int(row)
        for row in np.flatnonzero((notes.tie & TIE_STOP) > 0)
    }
    leads: dict[int, int] = {}
    for row in np.flatnonzero((notes.tie & TIE_START) > 0).tolist():
        end = int(notes.onset[row] + notes.duration[row])
        target = waiting.get((int(notes.part[row]), int(notes.midi_pitch[row]), end))
        if target is not None and target != row:
            leads[row] = target
    return leads


def _is_tied_over(score: Score) -> NDArray[np.bool_]:
    """Notes that a tie leads to from a note that is there; a tie from nowhere is struck."""
    mask = np.zeros(len(score.notes), dtype=np.bool_)
    mask[list(_tied_on(score).values())] = True
    return mask


def _ends_with_ties(score: Score) -> NDArray[np.int64]:
    notes = score.notes
    ends = notes.onset + notes.duration
    leads = _tied_on(score)
    for row in sorted(leads, key=lambda row: int(notes.onset[row]), reverse=True):
        ends[row] = max(int(ends[row]), int(ends[leads[row]]))
    return ends


def _graces(
    score: Score,
    stretches: Stretches,
    time: PlayedTime,
    in_force: Sequence[Tempo],
    manner: Manner,
) -> list[tuple[int, float, float]]:
    """Grace notes: row, onset and duration in seconds; an onset may lie before 0."""
    notes = score.notes
    found: list[tuple[int, float, float]] = []
    rows = np.flatnonzero(notes.is_grace & _rows_of_hand(score, manner.hand)).tolist()
    played = 0
    for start, end in stretches:
        at_onset: dict[tuple[int, int], list[int]] = defaultdict(list)
        for row in rows:
            if start <= notes.onset[row] < end:
                at_onset[int(notes.onset[row]), int(notes.staff[row])].append(row)
        for (onset, _), together in at_onset.items():
            beat = float(time.seconds_at(onset - start + played))
            room = _room_seconds(score, onset, tempo_at(in_force, onset)) / manner.speed
            groups = grace_groups(score, together) if len(together) > 1 else [together]
            each = min(GRACE_SECONDS / manner.speed, GRACE_SHARE * room / len(groups))
            for position, group in enumerate(groups):
                at = beat - each * (len(groups) - position)
                found += [(row, at, each) for row in group]
        played += end - start
    return found


def _room_seconds(score: Score, onset: int, tempo: Tempo) -> float:
    """Time since the chord before; a quarter note at the beginning of the score."""
    earlier = score.notes.onset[score.notes.onset < onset]
    ticks = onset - int(earlier.max()) if len(earlier) else score.ticks_per_quarter
    return ticks / score.ticks_per_quarter * 60 / tempo.qpm


def _performance(
    score: Score,
    time: PlayedTime,
    keys: _Keys,
    graces: Sequence[tuple[int, float, float]],
    lead: float,
) -> Performance:
    notes = score.notes
    rows = np.concatenate([keys.rows, np.array([row for row, _, _ in graces], dtype=np.int64)])
    onsets = np.concatenate([time.seconds_at(keys.onsets), [onset for _, onset, _ in graces]])
    ends = np.concatenate([time.seconds_at(keys.ends), [at + held for _, at, held in graces]])
    pitches = notes.midi_pitch[rows]
    onsets, ends, kept = _one_key_at_a_time(onsets + lead, ends + lead, pitches)
    kept = kept[np.lexsort((pitches[kept], onsets[kept]))]
    rows = rows[kept]
    return Performance(
        onset_seconds=onsets[kept],
        duration_seconds=ends[kept] - onsets[kept],
        midi_pitch=pitches[kept],
        velocity=Dynamics(score).velocities(notes.staff[rows], notes.onset[rows]),
        staff=notes.staff[rows],
        row=rows,
        time=time,
        lead_seconds=lead,
        length_seconds=time.duration_seconds + lead,
    )


def _one_key_at_a_time(
    onsets: NDArray[np.float64], ends: NDArray[np.float64], pitches: NDArray[np.int16]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Onsets and ends such that no key is struck while it is down; and the rows that are kept.

    Of two notes on one key at one onset the longer one is kept.
    """
    by_key = np.lexsort((-ends, onsets, pitches))
    ends = ends.copy()
    kept: list[int] = []
    for row in by_key.tolist():
        before = kept[-1] if kept else None
        if before is not None and pitches[before] == pitches[row]:
            if onsets[row] - onsets[before] < 1e-9:
                continue
            gap = min(REPEATED_GAP_SECONDS, (onsets[row] - onsets[before]) / 2)
            ends[before] = min(ends[before], onsets[row] - gap)
        kept.append(row)
    ends = np.maximum(ends, onsets + 1e-3)
    return onsets, ends, np.array(kept, dtype=np.int64)
