"""A canonical MusicXML tree into the tables of a score.

Conventions: measures of all parts are aligned by their position in the file. A measure lasts
to the farthest point that any part's content reaches, whatever its signature says; an empty
one lasts what its signature says.

Source: MusicXML 4.0 (W3C Community Group, 2021).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import TypeVar

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from core.errors import UnsupportedScoreError
from core.score.clock import TICKS_LIMIT, FinerTicksError, common_division
from core.score.measure_signs import spread_endings
from core.score.note_table import TIE_START, TIE_STOP, NoteTable, RestTable
from core.score.gathered import CUE, GRACE, Gathered, RestRow, TimeInForce
from core.score.part_reader import PartReader
from core.score.printed_directions import squeezed
from core.score.score import Measure, Part, RawDirection

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tables:
    """What a score holds, apart from its bytes and names."""

    parts: tuple[Part, ...]
    measures: tuple[Measure, ...]
    notes: NoteTable
    rests: RestTable
    directions: tuple[RawDirection, ...]
    oddities: tuple[str, ...]


def read_tables(root: etree._Element, *, name: str) -> Tables:
    """Read the tables from a canonical tree.

    Parameters
    ----------
    root : lxml element, ``score-partwise`` with ids.
    name : str
        The file as the person named it, for errors.

    Raises
    ------
    UnreadableFileError
        A number of the file can't be read.
    UnsupportedScoreError
        No notes, or time so finely cut that it can't be counted exactly.
    """
    try:
        return _read(root, name, _allowed(common_division(root), name))
    except FinerTicksError:
        return _read(root, name, _allowed(common_division(root, with_durations=True), name))


def _allowed(ticks_per_quarter: int, name: str) -> int:
    if ticks_per_quarter < TICKS_LIMIT:
        return ticks_per_quarter
    raise UnsupportedScoreError(
        name,
        "Its parts divide the quarter note so differently that no common division below 2^31 "
        "holds them all. Export it again with one division for the whole score.",
    )


def _read(root: etree._Element, name: str, ticks_per_quarter: int) -> Tables:
    gathered = Gathered(name=name, ticks_per_quarter=ticks_per_quarter)
    elements = list(root.iterchildren("part"))
    readers, parts, names = [], [], _part_names(root)
    first_staff = 1
    for index, element in enumerate(elements):
        reader = PartReader(gathered, part=index, first_staff=first_staff)
        reader.read(element)
        part_id = element.get("id", "")
        parts.append(
            Part(
                id=part_id,
                name=names.get(part_id, ""),
                staves=reader.staves,
                first_staff=first_staff,
            )
        )
        first_staff += reader.staves
        readers.append(reader)
    if not gathered.notes:
        raise UnsupportedScoreError(
            name, "There is not one note in it. Export it again from a score that has notes."
        )
    measures = _measures(elements, readers, gathered)
    starts = np.array([measure.onset for measure in measures], dtype=np.int64)
    ties = None if any(row[-1] & (TIE_START | TIE_STOP) for row in gathered.notes) else _printed_ties(root)
    return Tables(
        parts=tuple(parts),
        measures=measures,
        notes=_note_table(gathered, starts, ties),
        rests=_rest_table(gathered.rests, starts),
        directions=_directions(gathered, starts),
        oddities=(*gathered.oddities, *gathered.signs.oddities),
    )


def _part_names(root: etree._Element) -> dict[str, str]:
    return {
        score_part.get("id", ""): squeezed(score_part.findtext("part-name"))
        for score_part in root.iterfind("part-list/score-part")
    }


# -- measures -------------------------------------------------------------------------------


def _measures(
    parts: list[etree._Element], readers: list[PartReader], gathered: Gathered
) -> tuple[Measure, ...]:
    count = len(gathered.extents)
    by_part = [list(part.iterchildren("measure")) for part in parts]
    gathered.oddities += _uneven(by_part, count)
    elements = by_part[0] + max(by_part, key=len)[len(by_part[0]) :]
    times = _in_force([r.times for r in readers if r.has_time], count, TimeInForce(None, None))
    fifths = _in_force([r.fifths for r in readers if r.has_key], count, None)
    durations = [
        extent or (time.nominal or 0) for extent, time in zip(gathered.extents, times, strict=True)
    ]
    onsets = [0, *accumulate(durations)]
    gathered.signs.settle(count)
    endings = spread_endings(gathered.signs.by_measure)
    return tuple(
        Measure(
            index=index,
            id=element.get("id", ""),
            number=element.get("number", ""),
            onset=onsets[index],
            duration=durations[index],
            signature=times[index].signature,
            nominal_duration=times[index].nominal,
            fifths=fifths[index],
            is_implicit=element.get("implicit") == "yes",
            repeat_start=signs.repeat_start,
            repeat_end=signs.repeat_end,
            repeat_times=signs.repeat_times,
            endings=endings[index][0],
            ending_starts=endings[index][1],
            ending_stops=endings[index][2],
            jump=signs.jump,
            jump_target=signs.jump_target,
            has_segno=signs.has_segno,
            has_coda=signs.has_coda,
            has_fine=signs.has_fine,
            has_to_coda=signs.has_to_coda,
            barline=signs.barline or ("light-heavy" if signs.repeat_end else "regular"),
        )
        for index, (element, signs) in enumerate(
            zip(elements, gathered.signs.by_measure, strict=True)
        )
    )


def _in_force(series: list[list[T]], count: int, nothing: T) -> list[T]:
    """The first part's signatures; where it ends early, its last one holds on."""
    values = series[0] if series else [nothing]
    return values + [values[-1]] * (count - len(values))


def _uneven(by_part: list[list[etree._Element]], count: int) -> list[str]:
    return [
        f"Part P{number} has {len(elements)} measures, where the longest has {count}."
        for number, elements in enumerate(by_part, 1)
        if len(elements) != count
    ]


# -- tables ---------------------------------------------------------------------------------


def _note_table(
    gathered: Gathered, starts: NDArray[np.int64], ties: dict[str, int] | None
) -> NoteTable:
    ids, staves, voices, measures, onsets, durations, pitches, flags = zip(
        *gathered.notes, strict=True
    )
    staff = np.array(staves, dtype=np.int16)
    measure = np.array(measures, dtype=np.int32)
    onset = np.array(onsets, dtype=np.int64) + starts[measure]
    flag = np.array(flags, dtype=np.int8)
    tie = flag & np.int8(TIE_START | TIE_STOP)
    if ties:
        tie = np.array([ties.get(note_id, 0) for note_id in ids], dtype=np.int8)
    step, alter, octave, midi_pitch = (
        np.array(column)[np.array(pitches)] for column in zip(*gathered.pitches, strict=True)
    )
    part = np.repeat(np.arange(len(gathered.notes_by_part)), gathered.notes_by_part)
    order = np.lexsort((midi_pitch, staff, flag & GRACE == 0, onset))
    picked = order.tolist()
    return NoteTable(
        ticks_per_quarter=gathered.ticks_per_quarter,
        ids=_in_order(ids, picked),
        part=part.astype(np.int16)[order],
        staff=staff[order],
        voice=_in_order(voices, picked),
        measure=measure[order],
        onset=onset[order],
        duration=np.array(durations, dtype=np.int64)[order],
        step=step.astype(np.int8)[order],
        alter=alter.astype(np.float32)[order],
        octave=octave.astype(np.int8)[order],
        midi_pitch=midi_pitch.astype(np.int16)[order],
        tie=tie[order],
        is_grace=(flag & GRACE != 0)[order],
        is_cue=(flag & CUE != 0)[order],
    )


def _rest_table(rows: list[RestRow], starts: NDArray[np.int64]) -> RestTable:
    columns = list(zip(*rows, strict=True)) if rows else [()] * 8
    ids, part, staff, voices, measure, onset, duration, whole = columns
    measures = np.array(measure, dtype=np.int32)
    onsets = np.array(onset, dtype=np.int64) + starts[measures]
    staves = np.array(staff, dtype=np.int16)
    order = np.lexsort((staves, onsets))
    picked = order.tolist()
    return RestTable(
        ids=_in_order(ids, picked),
        part=np.array(part, dtype=np.int16)[order],
        staff=staves[order],
        voice=_in_order(voices, picked),
        measure=measures[order],
        onset=onsets[order],
        duration=np.array(duration, dtype=np.int64)[order],
        is_whole_measure=np.array(whole, dtype=np.bool_)[order],
    )


def _in_order(names: tuple[str, ...], order: list[int]) -> tuple[str, ...]:
    return tuple([names[row] for row in order])


def _printed_ties(root: etree._Element) -> dict[str, int]:
    """Ties of a file that prints them (``tied``) and doesn't say that they sound (``tie``)."""
    bits: dict[str, int] = {}
    for tied in root.iter("tied"):
        note = tied.getparent().getparent()
        bit = {"start": TIE_START, "stop": TIE_STOP, "continue": TIE_START | TIE_STOP}
        note_id = note.get("id", "")
        bits[note_id] = bits.get(note_id, 0) | bit.get(tied.get("type", ""), 0)
    return bits


def _directions(gathered: Gathered, starts: NDArray[np.int64]) -> tuple[RawDirection, ...]:
    rows = [
        RawDirection(
            id=row.id,
            measure_index=row.measure,
            onset=max(int(starts[row.measure]) + row.onset, 0),
            part=row.part,
            staff=row.staff,
            kind=row.kind,
            text=row.text,
            placement=row.placement,
        )
        for row in gathered.directions
    ]
    return tuple(sorted(rows, key=lambda row: (row.onset, row.part, row.staff)))
