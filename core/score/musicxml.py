"""A canonical MusicXML tree into the tables of a score.

Conventions: as in ``note_table``. The tree is walked once into columns (``events``), time is
run over the columns (``timing``), and the tables are cut from them.

Source: MusicXML 4.0 (W3C Community Group, 2021).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from core.errors import UnsupportedScoreError
from core.score.attribute_changes import AttributeChanges, read_changes
from core.score.clock import TICKS_LIMIT, Division, FinerTicksError, common_division, fineness_of
from core.score.events import Events, Indices, Mask, read_events
from core.score.measure_signs import read_signs
from core.score.measures import read_measures, whole_measures
from core.score.note_columns import Pitches, read_pitches, read_staves, read_ties, read_voices
from core.score.note_table import NoteTable, RestTable
from core.score.printed_directions import Direction, read_directions, squeezed
from core.score.score import Measure, Part, RawDirection
from core.score.timing import read_timing


class Tables(NamedTuple):
    """What a score holds, apart from its bytes and names."""

    parts: tuple[Part, ...]
    measures: tuple[Measure, ...]
    notes: NoteTable
    rests: RestTable
    directions: tuple[RawDirection, ...]
    oddities: tuple[str, ...]


@dataclass(slots=True, kw_only=True, eq=False)
class _Written:
    """What is written at each event, shape (events,) each; onsets from the score's start."""

    events: Events
    is_note: Mask
    onsets: Indices
    durations: Indices
    staves: Indices
    voices: Indices
    voice_names: list[str]
    pitches: Pitches

    def ids_of(self, rows: Indices) -> tuple[str, ...]:
        """Ids of the notes and rests at these events."""
        ids, places = self.events.ids, np.searchsorted(self.events.of("note"), rows)
        return tuple([ids[place] for place in places.tolist()])

    def voices_of(self, rows: Indices) -> tuple[str, ...]:
        """Names of the voices at these events."""
        names = self.voice_names
        return tuple([names[voice] for voice in self.voices[rows].tolist()])


def read_tables(root: etree._Element, *, name: str, note_ids: list[str] | None = None) -> Tables:
    """Read the tables from a canonical tree.

    Parameters
    ----------
    root : lxml element, ``score-partwise`` with ids.
    name : str
        The file as the person named it, for errors.
    note_ids : list of str or None
        In the order of the file, where they are known already.

    Raises
    ------
    UnreadableFileError
        A number of the file can't be read; it names measure and line.
    UnsupportedScoreError
        No notes, or time so finely cut that it can't be counted exactly.
    """
    events = read_events(root, name=name, note_ids=note_ids)
    changes = read_changes(events)
    try:
        return _read(events, changes, _division(changes, name))
    except FinerTicksError:
        return _read(events, changes, _division(changes, name, fineness=fineness_of(root)))


def _division(changes: AttributeChanges, name: str, *, fineness: int = 1) -> Division:
    division = common_division(
        (divisions for _, divisions in changes.divisions),
        (signature.quarters or Fraction(1) for _, signature in changes.signatures),
        fineness=fineness,
    )
    if division.ticks < TICKS_LIMIT:
        return division
    raise UnsupportedScoreError(
        name,
        "Its parts divide the quarter note so differently that no common division below 2^31 "
        "holds them all. Export it again with one division for the whole score.",
    )


def _read(events: Events, changes: AttributeChanges, division: Division) -> Tables:
    full = whole_measures(events, changes, division.ticks)
    timing = read_timing(events, changes, division, full)
    oddities = timing.oddities
    staves = read_staves(events, timing.leads, oddities)
    pitches = read_pitches(events, changes, staves, oddities)
    is_note = pitches.is_pitched | pitches.is_unpitched
    if not is_note.any():
        raise UnsupportedScoreError(
            events.name, "There is not one note in it. Export it again from a score with notes."
        )
    parts = _parts(events, changes, staves)
    staves += np.array([part.first_staff - 1 for part in parts])[events.parts]
    directions = read_directions(events, timing, staves, division.fineness)
    signs = read_signs(events, timing.onsets, directions)
    measures, uneven = read_measures(events, changes, timing, signs=signs, ticks=division.ticks)
    starts = np.array([measure.onset for measure in measures], dtype=np.int64)
    voices, voice_names = read_voices(events, timing.leads)
    written = _Written(
        events=events,
        is_note=is_note,
        onsets=starts[events.measures] + timing.onsets,
        durations=timing.durations,
        staves=staves,
        voices=voices,
        voice_names=voice_names,
        pitches=pitches,
    )
    return Tables(
        parts=parts,
        measures=measures,
        notes=_note_table(written, division.ticks),
        rests=_rest_table(written, oddities),
        directions=_in_order_of_onset(directions, starts),
        oddities=(*uneven, *oddities, *signs.oddities),
    )


def _parts(events: Events, changes: AttributeChanges, staves: Indices) -> tuple[Part, ...]:
    names = {
        score_part.get("id", ""): squeezed(score_part.findtext("part-name"))
        for score_part in events.root.iterfind("part-list/score-part")
    }
    elements = [element for _, element in events.elements("part")]
    counts = np.ones(len(elements), dtype=np.int64)
    np.maximum.at(counts, events.parts, staves)
    for event, count in changes.staves:
        counts[events.parts[event]] = max(counts[events.parts[event]], count)
    firsts = np.cumsum(counts) - counts + 1
    return tuple(
        Part(
            id=element.get("id", ""),
            name=names.get(element.get("id", ""), ""),
            staves=int(counts[index]),
            first_staff=int(firsts[index]),
        )
        for index, element in enumerate(elements)
    )


def _note_table(written: _Written, ticks_per_quarter: int) -> NoteTable:
    events, pitches, onsets, staves = (
        written.events,
        written.pitches,
        written.onsets,
        written.staves,
    )
    is_grace = events.with_detail("grace")
    rows = np.flatnonzero(written.is_note)
    rows = rows[np.lexsort((pitches.midi_pitch[rows], staves[rows], ~is_grace[rows], onsets[rows]))]
    return NoteTable(
        ticks_per_quarter=ticks_per_quarter,
        ids=written.ids_of(rows),
        part=events.parts[rows].astype(np.int16),
        staff=staves[rows].astype(np.int16),
        voice=written.voices_of(rows),
        measure=events.measures[rows].astype(np.int32),
        onset=onsets[rows],
        duration=written.durations[rows],
        step=pitches.step[rows].astype(np.int8),
        alter=pitches.alter[rows].astype(np.float32),
        octave=pitches.octave[rows].astype(np.int8),
        midi_pitch=pitches.midi_pitch[rows].astype(np.int16),
        tie=read_ties(events)[rows].astype(np.int8),
        is_grace=is_grace[rows],
        is_cue=events.with_detail("cue")[rows],
    )


def _rest_table(written: _Written, oddities: list[str]) -> RestTable:
    events, onsets, staves = written.events, written.onsets, written.staves
    is_rest = events.are("note") & ~written.is_note
    is_whole = np.zeros(len(events), dtype=np.bool_)
    for event, rest in events.detail_elements("rest"):
        is_whole[event] = rest.get("measure") == "yes"
    oddities += events.told(
        np.flatnonzero(is_rest & ~events.with_detail("rest")),
        "a note with neither pitch nor rest is read as a rest.",
    )
    rows = np.flatnonzero(is_rest)
    rows = rows[np.lexsort((staves[rows], onsets[rows]))]
    return RestTable(
        ids=written.ids_of(rows),
        part=events.parts[rows].astype(np.int16),
        staff=staves[rows].astype(np.int16),
        voice=written.voices_of(rows),
        measure=events.measures[rows].astype(np.int32),
        onset=onsets[rows],
        duration=written.durations[rows],
        is_whole_measure=is_whole[rows],
    )


def _in_order_of_onset(
    directions: list[Direction], starts: NDArray[np.int64]
) -> tuple[RawDirection, ...]:
    placed = [direction.placed(int(starts[direction.measure_index])) for direction in directions]
    return tuple(sorted(placed, key=lambda row: (row.onset, row.part, row.staff)))
