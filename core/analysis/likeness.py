"""How like one measure is another: the ground on which returns and sections are found.

Conventions
-----------
A *unit* is a measure (or an inferred one); units are counted from 0. A unit is described by
pitch classes on ``SLOTS`` equal parts of it, in three channels: the whole texture, the
melody (the highest sounding note) and what is left without the melody. Likeness is a cosine,
0 to 1, under each of the 12 transpositions: with transposition ``t`` the second unit is heard
``t`` semitones above the first. A unit in which nothing begins is like nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.analysis.units import Units
from core.score.note_table import TIE_STOP, UNPITCHED, NoteTable

SLOTS = 12
"""Parts of a unit: thirds and quarters of a measure fall on their edges."""
MELODY_SHARE, REST_SHARE = 0.95, 0.88
"""What a likeness of the melody alone, of the rest alone counts against that of the whole."""
MODE_SHARE = 0.9
"""What a melody on the same steps counts when its alterations differ (another mode)."""
SHIFT_PRICE = 0.04
"""Taken off a transposed likeness: with 11 more chances something fits by accident."""

TILE_ROWS, TILE_PRODUCTS = 12, 260_000
"""A tile's rows, and the multiplications that it may hold (see ``inner_products``)."""

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnitTexture:
    """What sounds in each unit.

    Parameters
    ----------
    onsets, sounding : float32, shape (n, SLOTS, 12)
        Weight of each pitch class that begins, that sounds in a slot.
    melody, rest : float32, shape (n, SLOTS, 12)
        The same of the highest line, of all other notes.
    melody_steps : float32, shape (n, SLOTS, 7)
        The melody's letter names without their alterations.
    bass : float32, shape (n, SLOTS, 12)
        Of the lowest line.
    register : float32, shape (n, 2)
        Mean MIDI pitch of the highest and of the lowest line.
    held_over : float32, shape (n,)
        Notes tied or held into the unit.
    """

    onsets: Floats
    sounding: Floats
    melody: Floats
    melody_steps: Floats
    rest: Floats
    bass: Floats
    register: Floats
    held_over: Floats

    def __len__(self) -> int:
        return int(self.onsets.shape[0])


def unit_texture(notes: NoteTable, units: Units) -> UnitTexture:
    """Describe each unit; grace notes and notes without pitch are passed over."""
    count = len(units)
    rows = np.flatnonzero((notes.midi_pitch != UNPITCHED) & ~notes.is_grace)
    unit = np.searchsorted(units.starts, notes.onset[rows], side="right") - 1
    rows = rows[(unit >= 0) & (notes.onset[rows] < units.ends[unit])]
    pitch = notes.midi_pitch[rows].astype(np.int64)
    step = notes.step[rows].astype(np.int64)
    first = _global_slot(notes.onset[rows], units)
    last = _global_slot(notes.onset[rows] + np.maximum(notes.duration[rows], 1) - 1, units)
    last = np.clip(last, first, first + 4 * SLOTS)
    starts = (notes.tie[rows] & TIE_STOP) == 0
    note, slot = _spread(first, last)
    total = count * SLOTS
    top = _extreme(pitch, note, slot, total, highest=True)
    low = _extreme(pitch, note, slot, total, highest=False)
    is_top, is_low = pitch[note] == top[slot], pitch[note] == low[slot]
    begins = (slot == first[note]) & starts[note]
    weight = np.where(begins, 1.0, 0.5).astype(np.float32)
    chroma = pitch[note] % 12

    def fill(mask: NDArray[np.bool_], classes: Ints, size: int) -> Floats:
        flat = np.bincount(
            slot[mask] * size + classes[mask], weights=weight[mask], minlength=total * size
        )
        return np.minimum(flat, 2.0).astype(np.float32).reshape(count, SLOTS, size)

    everything = np.ones(len(note), dtype=np.bool_)
    return UnitTexture(
        onsets=fill(begins, chroma, 12),
        sounding=fill(everything, chroma, 12),
        melody=fill(is_top, chroma, 12),
        melody_steps=fill(is_top, step[note], 7),
        rest=fill(~is_top, chroma, 12),
        bass=fill(is_low, chroma, 12),
        register=np.stack([_mean_line(top, count), _mean_line(low, count)], axis=1),
        held_over=_held_over(first, slot, note, starts, count),
    )


def likeness(texture: UnitTexture) -> Floats:
    """Compare each unit with each, under each transposition.

    Returns
    -------
    float32, shape (12, n, n)
        ``[t, i, j]``: how like unit ``j`` is to unit ``i`` moved up by ``t`` semitones. The best
        of three views counts: the whole, the melody alone, all but the melody.
    """
    whole = _joined(texture.onsets, texture.sounding)
    melody, rest = unit_rows(texture.melody), unit_rows(texture.rest)
    steps = _flat(unit_rows(texture.melody_steps))
    flat_whole, flat_melody, flat_rest = _flat(whole), _flat(melody), _flat(rest)
    count = len(texture)
    best = np.empty((12, count, count), dtype=np.float32)
    for shift in range(7):
        tune = inner_products(_flat(_shifted(melody, shift)), flat_melody)
        if shift == 0:
            np.maximum(tune, MODE_SHARE * (inner_products(steps, steps)), out=tune)
        alone = REST_SHARE * inner_products(_flat(_shifted(rest, shift)), flat_rest)
        np.maximum(alone, MELODY_SHARE * tune, out=alone)
        np.maximum(
            alone, inner_products(_flat(_shifted(whole, shift)), flat_whole), out=best[shift]
        )
        if shift:
            best[shift] -= SHIFT_PRICE
            # One unit moved up is like another as the other moved down is like the one.
            best[12 - shift] = best[shift].T
    return best


def inner_products(rows: Floats, columns: Floats) -> Floats:
    """All inner products of two sets of rows.

    In tiles, each too small for the linear algebra library to start threads for it: threads that
    wait for one another on a busy machine cost fifty times what they save here.
    """
    products = np.empty((len(rows), len(columns)), dtype=np.float32)
    wide = max(1, TILE_PRODUCTS // (TILE_ROWS * rows.shape[1]))
    for left in range(0, len(columns), wide):
        block = np.ascontiguousarray(columns[left : left + wide].T)
        for top in range(0, len(rows), TILE_ROWS):
            tile = products[top : top + TILE_ROWS, left : left + wide]
            np.matmul(rows[top : top + TILE_ROWS], block, out=tile)
    return products


def _shifted(features: Floats, shift: int) -> Floats:
    """The features as they would be ``shift`` semitones higher."""
    return np.roll(features, shift, axis=-1)


def _global_slot(ticks: Ints, units: Units) -> Ints:
    unit = np.maximum(np.searchsorted(units.starts, ticks, side="right") - 1, 0)
    lengths = np.maximum(units.ends - units.starts, 1)
    inside = np.clip((ticks - units.starts[unit]) * SLOTS // lengths[unit], 0, SLOTS - 1)
    return np.asarray(unit * SLOTS + inside, dtype=np.int64)


def _spread(first: Ints, last: Ints) -> tuple[Ints, Ints]:
    """For each slot that each note sounds in: the note, the slot."""
    lengths = last - first + 1
    note = np.repeat(np.arange(len(first)), lengths)
    offset = np.arange(len(note)) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    return note, first[note] + offset


def _extreme(pitch: Ints, note: Ints, slot: Ints, total: int, *, highest: bool) -> Ints:
    """Highest or lowest sounding pitch of each slot."""
    extreme = np.full(total, -1 if highest else 999, dtype=np.int64)
    inside = slot < total
    operation = np.maximum if highest else np.minimum
    operation.at(extreme, slot[inside], pitch[note[inside]])
    return extreme


def _mean_line(extreme: Ints, count: int) -> Floats:
    """Mean pitch of a line in each unit; a silent unit has that of the whole piece."""
    known = (extreme >= 0) & (extreme < 999)
    pitches = np.where(known, extreme, 0).reshape(count, SLOTS).sum(axis=1)
    sounding = known.reshape(count, SLOTS).sum(axis=1)
    everywhere = extreme[known].mean() if known.any() else 60.0
    means = np.where(sounding > 0, pitches / np.maximum(sounding, 1), everywhere)
    return np.asarray(means, dtype=np.float32)


def _held_over(
    first: Ints, slot: Ints, note: Ints, starts: NDArray[np.bool_], count: int
) -> Floats:
    at_edge = slot % SLOTS == 0
    is_held = (slot > first[note]) | ~starts[note]
    units = slot[at_edge & is_held] // SLOTS
    return np.bincount(units, minlength=count)[:count].astype(np.float32)


def _joined(first: Floats, second: Floats) -> Floats:
    """Two channels side by side (along the slots), each counting one half."""
    return np.concatenate((unit_rows(first), unit_rows(second)), axis=1) * np.float32(np.sqrt(0.5))


def unit_rows(features: Floats) -> Floats:
    """Each unit's features at length 1; a unit without any stays 0."""
    flat = _flat(features)
    length = np.linalg.norm(flat, axis=1)
    scale = np.where(length > 0, length, 1.0).astype(np.float32)
    return np.asarray(features / scale[:, None, None], dtype=np.float32)


def _flat(features: Floats) -> Floats:
    return features.reshape(features.shape[0], -1)
