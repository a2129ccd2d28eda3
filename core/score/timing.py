"""When everything happens: the cursor of MusicXML, for all events at once.

Conventions: onsets are local to their measure, in ticks. A chord note has the onset of the
note it joins; a grace note has the cursor's onset and no duration. Backups before the start of
a measure stop there.

Source: MusicXML 4.0 (``backup``, ``forward``, ``chord``, ``grace``, ``duration``).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.score.attribute_changes import AttributeChanges
from core.score.clock import LARGEST_NUMBER, LONGEST_QUARTERS, Division, FinerTicksError, decimal
from core.score.events import Events, Indices, Mask, UnreadableTextError
from core.score.quoting import shown

Ticks = NDArray[np.int64]


@dataclass(slots=True, kw_only=True, eq=False)
class Timing:
    """Time of the events, all of shape (events,).

    Parameters
    ----------
    scale : ticks of one ``Division.fineness``-th of a division.
    onsets, durations : ticks, local to the measure.
    leads : the note that a chord note joins; for any other event, itself.
    oddities : list of str
    """

    scale: Ticks
    onsets: Ticks
    durations: Ticks
    leads: Indices
    oddities: list[str]

    def extents(self, events: Events, measure_count: int, *, besides: Mask | None = None) -> Ticks:
        """Ticks to the farthest point of each measure over all parts, shape (measures,).

        Parameters
        ----------
        besides : shape (events,) or None
            Events that don't count.
        """
        counts = events.are("note") | events.are("forward")
        if besides is not None:
            counts &= ~besides
        extents = np.zeros(measure_count, dtype=np.int64)
        np.maximum.at(extents, events.measures[counts], (self.onsets + self.durations)[counts])
        return extents


def read_timing(
    events: Events, changes: AttributeChanges, division: Division, whole_measures: Ticks
) -> Timing:
    """Run the cursor.

    Parameters
    ----------
    whole_measures : shape (events,)
        Ticks that a rest of a whole measure lasts where it has no duration of its own; 0
        where that is not known.

    Raises
    ------
    UnreadableFileError
        A duration is no number, or beyond all measure.
    FinerTicksError
        A duration is no whole number of ticks.
    """
    scale = _scale(events, changes, division)
    oddities: list[str] = []
    durations = _durations(events, scale, division, whole_measures, oddities)
    leads = _leads(events, oddities)
    steps = _steps(events, durations, leads)
    cursor = _cursor(events, steps)
    if np.any(cursor + steps < 0):
        _stop_at_measure_start(events, steps, oddities)
        cursor = _cursor(events, steps)
    return Timing(
        scale=scale, onsets=cursor[leads], durations=durations, leads=leads, oddities=oddities
    )


@lru_cache(maxsize=4096)
def in_fine_divisions(text: str | None, fineness: int) -> int:
    """A number of the file in ``fineness``-ths, exactly.

    Raises
    ------
    UnreadableTextError
        It is no number, or beyond all measure.
    FinerTicksError
        It is no whole number of them.
    """
    number = decimal(text)
    if number is None:
        raise UnreadableTextError(f"A duration is {shown(text)!r}, not a number")
    if abs(number) > LARGEST_NUMBER:
        raise UnreadableTextError(f"A duration of {shown(text)} can't be meant")
    fine = number * fineness
    if fine.denominator != 1:
        raise FinerTicksError
    return int(fine)


def _scale(events: Events, changes: AttributeChanges, division: Division) -> Ticks:
    """Spread the divisions over the events; each part begins with one a quarter note."""
    starts = dict.fromkeys(events.of("part").tolist(), Fraction(1)) | dict(changes.divisions)
    bounds = sorted(starts)
    ticks = [division.ticks / starts[bound] / division.fineness for bound in bounds]
    if any(value.denominator != 1 for value in ticks):
        raise FinerTicksError
    return np.repeat(
        np.array([int(value) for value in ticks], dtype=np.int64),
        np.diff([*bounds, len(events)]),
    )


def _durations(
    events: Events, scale: Ticks, division: Division, whole_measures: Ticks, oddities: list[str]
) -> Ticks:
    owners, numbers = events.details(
        "duration", lambda text: in_fine_divisions(text, division.fineness)
    )
    durations = np.zeros(len(events), dtype=np.int64)
    durations[owners] = numbers
    durations *= scale
    for event in np.flatnonzero(np.abs(durations) > LONGEST_QUARTERS * division.ticks)[:1]:
        events.fail(int(event), "A duration longer than any piece can't be meant")
    negative = np.flatnonzero(durations < 0)
    oddities += events.told(negative, "a negative duration is read as none.")
    is_note, is_grace = events.are("note"), events.with_detail("grace")
    durations[(durations < 0) | is_grace] = 0
    is_lacking = (is_note | events.are("backup") | events.are("forward")) & ~is_grace
    is_lacking[owners] = False
    durations[is_lacking] = whole_measures[is_lacking]
    lacking = np.flatnonzero(is_lacking & (durations == 0))
    oddities += events.told(lacking, "what has no duration is read as lasting no time.")
    return durations


def _leads(events: Events, oddities: list[str]) -> Indices:
    """The note that each chord note joins: the last one before it that is none itself."""
    here = np.arange(len(events))
    is_note = events.are("note")
    is_chord = events.with_detail("chord") & is_note
    if not is_chord.any():
        return here
    leads = _last(is_note & ~is_chord)
    orphans = np.flatnonzero(is_chord & (leads < events.measure_events))
    if len(orphans):
        # The first of a measure that has none to join becomes the note that others join.
        _, first = np.unique(events.measure_events[orphans], return_index=True)
        is_chord[orphans[first]] = False
        leads = _last(is_note & ~is_chord)
    jumps, notes = _last(events.are("backup") | events.are("forward")), _last(is_note)
    after_jump = np.flatnonzero(is_chord & (jumps > np.roll(notes, 1)))
    oddities += events.told(
        after_jump, "a chord note follows a jump in time; it joins the note before."
    )
    return np.where(is_chord, leads, here)


def _last(mask: Mask) -> Indices:
    """Index of the last True at or before each position; -1 where there is none."""
    return np.maximum.accumulate(np.where(mask, np.arange(len(mask)), -1))


def _steps(events: Events, durations: Ticks, leads: Indices) -> Ticks:
    """How far each event moves the cursor."""
    is_own = events.are("note") & (leads == np.arange(len(events)))
    steps = np.where(is_own | events.are("forward"), durations, 0)
    return np.where(events.are("backup"), -durations, steps)


def _cursor(events: Events, steps: Ticks) -> Ticks:
    before = np.cumsum(steps) - steps
    return before - before[events.measure_events]


def _stop_at_measure_start(events: Events, steps: Ticks, oddities: list[str]) -> None:
    """Shorten the backups that reach too far, measure by measure."""
    measures, shortened = events.measure_events, []
    for start in np.unique(measures[_cursor(events, steps) + steps < 0]).tolist():
        cursor = 0
        for event in range(start, int(np.searchsorted(measures, start, side="right"))):
            if cursor + steps[event] < 0:
                steps[event] = -cursor
                shortened.append(event)
            cursor += int(steps[event])
    oddities += events.told(
        np.array(shortened, dtype=np.int64),
        "a backup reaches before the measure; it is read as to its start.",
    )
