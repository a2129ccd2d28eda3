"""Places as the sample notebook names them: printed measure numbers, notes by name, words.

Conventions: a measure number stands for the first measure that bears it. A section, a statement
and a finding are named with the measures that they span; no analysis is asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from core.notebook.anchors import (
    anchor_at_finding,
    anchor_at_section,
    anchor_at_statement,
    anchor_for,
)
from core.notebook.values import Anchor
from core.score.places import Passage, Place
from core.score.score import RawDirection, Score
from core.score.statements import Section, Statement


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedPlace:
    """A place as the text names it; without any of it, the whole piece.

    Parameters
    ----------
    measures : (int, int) or None
        Printed numbers of the first and the last measure.
    measure : int or None
        One measure in which a point is meant, with ``quarter`` from its beginning ("3/2").
    staff : int or None
    note : str or None
        Name of the note there ("Ab4").
    direction : str or None
        Its words.
    section : str or None
        A section's letter, with ``index`` among the sections; its span is ``measures``.
    statement : int or None
        Which sounding of the section, from 1.
    finding : str or None
        ``Finding.kind`` of a finding there.
    """

    measures: tuple[int, int] | None = None
    measure: int | None = None
    quarter: str = "0"
    staff: int | None = None
    note: str | None = None
    direction: str | None = None
    section: str | None = None
    index: int = 0
    statement: int | None = None
    finding: str | None = None


def passage_of(score: Score, where: NamedPlace) -> Passage | None:
    """The passage that is meant; None for the whole piece.

    Raises
    ------
    ValueError
        The score has no such measure, note or direction.
    """
    if where.direction is not None:
        return _passage_of_direction(score, where.direction)
    if where.measures is not None:
        first, last = (_index(score, number) for number in where.measures)
        return Passage.of_measures(first, last)
    if where.measure is None:
        return None
    place = Place(
        measure_index=_index(score, where.measure),
        offset_quarters=Fraction(where.quarter),
        staff=where.staff,
        note_id=_note_id(score, where) if where.note is not None else None,
    )
    return Passage.at(place)


def anchor_of(score: Score, where: NamedPlace) -> Anchor:
    """What a remark there hangs on.

    Raises
    ------
    InvalidEntryError, ValueError
        The score has no such place.
    """
    passage = passage_of(score, where)
    if where.finding is not None:
        return anchor_at_finding(score, where.finding, passage)
    if where.section is not None and passage is not None:
        return _anchor_in_form(score, where, where.section, passage)
    return anchor_for(score, passage, element_id=_element_id(score, where, passage))


def _index(score: Score, number: int) -> int:
    found = [measure.index for measure in score.measures if measure.number == str(number)]
    if not found:
        raise ValueError(f"measure {number} is not in {score.title!r}; another printed number?")
    return found[0]


def _element_id(score: Score, where: NamedPlace, passage: Passage | None) -> str | None:
    if where.direction is not None:
        return _direction(score, where.direction).id
    return passage.start.note_id if passage is not None else None


def _direction(score: Score, words: str) -> RawDirection:
    for direction in score.directions:
        if direction.text == words:
            return direction
    raise ValueError(f"direction {words!r} is not in {score.title!r}; other words?")


def _passage_of_direction(score: Score, words: str) -> Passage:
    direction = _direction(score, words)
    measure = score.measures[direction.measure_index]
    offset = max(score.quarters(direction.onset - measure.onset), Fraction(0))
    place = Place(measure_index=measure.index, offset_quarters=offset, staff=direction.staff)
    return Passage.at(place)


def _note_id(score: Score, where: NamedPlace) -> str:
    notes, measure = score.notes, _index(score, where.measure or 0)
    onset = score.measures[measure].onset
    for row, note_id in enumerate(notes.ids):
        is_there = notes.measure[row] == measure and notes.staff[row] == (where.staff or 1)
        offset = score.quarters(int(notes.onset[row]) - onset)
        if is_there and offset == Fraction(where.quarter) and _name(score, row) == where.note:
            return note_id
    raise ValueError(f"note {where.note!r} is not in measure {where.measure} of {score.title!r}")


def _name(score: Score, row: int) -> str:
    notes = score.notes
    alter = int(notes.alter[row])
    sign = "#" * alter + "b" * -alter
    return f"{'CDEFGAB'[int(notes.step[row])]}{sign}{int(notes.octave[row])}"


def _anchor_in_form(score: Score, where: NamedPlace, label: str, passage: Passage) -> Anchor:
    if where.statement is None:
        return anchor_at_section(score, Section(passage=passage, label=label), where.index)
    statement = Statement(
        section=where.index,
        label=label,
        number=where.statement,
        count=where.statement,
        order_start=0,
        order_end=0,
        passage=passage,
    )
    return anchor_at_statement(score, statement)
