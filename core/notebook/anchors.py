"""Anchors: where in a score a remark hangs, and how the place is known in another edition.

Conventions: a passage's end is exclusive; a point is a passage whose end is its start. Time is
compared in the score's ticks, so that the end of one measure is the start of the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np

from core.errors import InvalidEntryError
from core.notebook.values import Anchor, AnchorKind
from core.score.note_table import TIE_STOP, UNPITCHED
from core.score.places import Passage, Place
from core.score.score import Score
from core.score.statements import Section, Statement, ordinal

CHORDS_BEFORE = 4
CHORDS_AFTER = 8
"""How many onsets around a place its fingerprint holds: a measure or two in most piano music,
and still short enough to be compared with every place of another edition."""

POINTS = frozenset({AnchorKind.NOTE, AnchorKind.PLACE, AnchorKind.DIRECTION})


def anchor_for(
    score: Score,
    passage: Passage | None,
    *,
    element_id: str | None = None,
    kind: AnchorKind | None = None,
) -> Anchor:
    """An anchor at a passage of a score.

    Parameters
    ----------
    score : Score
    passage : Passage or None
        None for the whole piece.
    element_id : str or None
        Id of the note, rest or direction that is meant.
    kind : AnchorKind or None
        None for what the other arguments say: the piece without a passage; with an
        ``element_id`` the note or the direction; else a place or a passage.

    Raises
    ------
    InvalidEntryError
        The passage doesn't lie within the score, or there is no such element in it.
    ValueError
        The kind doesn't go with the other arguments.
    """
    found = _kind_of(score, passage, element_id)
    kind = kind or found
    if passage is None:
        if kind is not AnchorKind.PIECE:
            raise ValueError(f"kind is {kind.value!r} and passage is None; a passage left out?")
        return Anchor(kind=kind)
    _check_kind(kind, found, passage)
    check_within(score, passage, is_element=element_id is not None)
    return Anchor(
        kind=kind,
        score_sha256=score.sha256,
        passage=passage,
        element_id=element_id,
        fingerprint=fingerprint_at(score, passage),
    )


def anchor_at_section(score: Score, section: Section, index: int) -> Anchor:
    """An anchor at a section, over its written span; ``index`` is its position in the form.

    Raises InvalidEntryError where it doesn't lie within the score.
    """
    anchor = anchor_for(score, section.passage, kind=AnchorKind.SECTION)
    return replace(anchor, section_label=section.label, section_index=index)


def anchor_at_statement(
    score: Score, statement: Statement, passage: Passage | None = None
) -> Anchor:
    """An anchor at one sounding of a section, over what sounds of it, or at a passage in it.

    Raises InvalidEntryError where it doesn't lie within the score, and ValueError for a passage
    that begins outside of the statement.
    """
    passage = passage or statement.passage
    if not begins_in(statement, passage):
        raise ValueError(f"passage {passage} begins outside of {statement.name}; another's?")
    anchor = anchor_for(score, passage, kind=AnchorKind.STATEMENT)
    return replace(
        anchor,
        section_label=statement.label,
        section_index=statement.section,
        statement_number=statement.number,
    )


def anchor_at_finding(score: Score, kind: str, passage: Passage | None) -> Anchor:
    """An anchor at a finding by its kind and passage; one of the whole score has no passage.

    Raises InvalidEntryError where it doesn't lie within the score.
    """
    if passage is None:
        return Anchor(kind=AnchorKind.FINDING, score_sha256=score.sha256, finding_kind=kind)
    check_within(score, passage, is_element=passage.is_point)
    return Anchor(
        kind=AnchorKind.FINDING,
        score_sha256=score.sha256,
        passage=passage,
        fingerprint=fingerprint_at(score, passage),
        finding_kind=kind,
    )


def statement_name(anchor: Anchor) -> str:
    """Which sounding an anchor means: "A, 2nd"; empty for one that means none."""
    if anchor.statement_number is None:
        return ""
    return f"{anchor.section_label or ''}, {ordinal(anchor.statement_number)}".lstrip(", ")


def is_at_statement(
    anchor: Anchor, statement: Statement, statements: Sequence[Statement] = ()
) -> bool:
    """Whether what an anchor at a statement says holds at another one of the same score.

    One written span counts its soundings, so that two of them are told apart by number. A
    section around it, or inside of it, has other numbers: then the two have to sound at one
    time.

    Parameters
    ----------
    anchor : Anchor
        Of the kind STATEMENT.
    statement : Statement
    statements : sequence of Statement
        All of the playing order; without them another section's number is taken for its own.
    """
    if anchor.passage is None:
        return False
    if _is_of_section(statement, anchor):
        return anchor.statement_number == statement.number
    meant = [each for each in statements if _is_of_section(each, anchor)]
    own = next((each for each in meant if each.number == anchor.statement_number), None)
    if own is None:
        return anchor.statement_number == statement.number
    return own.order_start < statement.order_end and statement.order_start < own.order_end


def _is_of_section(statement: Statement, anchor: Anchor) -> bool:
    """By where it is and by its letter: an index moves with each section found before it."""
    if statement.label != anchor.section_label or anchor.passage is None:
        return False
    # By where it begins only: an ending cuts one sounding short of another.
    return begins_in(statement, anchor.passage)


def begins_in(statement: Statement, passage: Passage) -> bool:
    """Whether a passage begins within what sounds of a statement."""
    start, end = statement.passage.start.moment, statement.passage.end.moment
    return start <= passage.start.moment and (passage.start.moment < end or start == end)


def check_within(score: Score, passage: Passage, *, is_element: bool = False) -> None:
    """Refuse a passage that doesn't lie within the score.

    Parameters
    ----------
    score : Score
    passage : Passage
    is_element : bool
        Whether it is where an element of the score stands. A file may print a direction past
        the end of its measure; to point at it must not be refused.

    Raises
    ------
    InvalidEntryError
        Naming the measure, staff or note that the score doesn't have.
    """
    _check_place(score, passage.start, is_element=is_element)
    if passage.end != passage.start:
        _check_place(score, passage.end, is_end=True, is_element=is_element)


def does_speak_of(anchor: Anchor, passage: Passage, score: Score) -> bool:
    """Whether an anchor and a passage of ``score`` have time in common, on whatever staff.

    A point shares its moment with what begins at it or sounds over it, not with what ends at
    it. An anchor of the whole piece, or of another score, shares nothing.
    """
    if anchor.passage is None or anchor.score_sha256 != score.sha256:
        return False
    here_start, here_end = _span(score, passage)
    start, end = _span(score, anchor.passage)
    return start < here_end and here_start < end


def fingerprint_at(score: Score, passage: Passage) -> str:
    """Pitches and onsets around the start of a passage, as a short stable text.

    Nothing in it depends on measure numbers, ids, voices or the score's division of the
    quarter, so that the same notes give the same text in another edition. Grace notes and the
    later notes of ties are left out: editions differ in them most.

    Parameters
    ----------
    score : Score
    passage : Passage

    Returns
    -------
    str
        Of ``CHORDS_BEFORE`` onsets before the start and ``CHORDS_AFTER`` from it on, each as
        quarters from the start, a colon, and MIDI pitches from below joined by dots ("x" for
        one without pitch): ``-1/2:55 0:48.64 1:67``. Empty where there are no notes.
    """
    notes = score.notes
    origin = score.onset_of(passage.start)
    is_struck = ~notes.is_grace & ((notes.tie & TIE_STOP) == 0)
    onsets, pitches = notes.onset[is_struck], notes.midi_pitch[is_struck]
    moments = np.unique(onsets)
    here = int(np.searchsorted(moments, origin))
    around = moments[max(0, here - CHORDS_BEFORE) : here + CHORDS_AFTER]
    return " ".join(
        f"{score.quarters(int(moment) - origin)}:{_chord(pitches[onsets == moment].tolist())}"
        for moment in around
    )


def _chord(pitches: list[int]) -> str:
    return ".".join("x" if p == UNPITCHED else str(p) for p in sorted(set(pitches)))


def _kind_of(score: Score, passage: Passage | None, element_id: str | None) -> AnchorKind:
    if passage is None:
        return AnchorKind.PIECE
    if element_id is None:
        return AnchorKind.PLACE if passage.is_point else AnchorKind.PASSAGE
    if element_id in score.notes.ids or element_id in score.rests.ids:
        return AnchorKind.NOTE
    if any(direction.id == element_id for direction in score.directions):
        return AnchorKind.DIRECTION
    raise InvalidEntryError("element", element_id, "there is no such note or direction here")


def _check_kind(kind: AnchorKind, found: AnchorKind, passage: Passage) -> None:
    if kind is AnchorKind.PIECE:
        raise ValueError(f"kind is 'piece' and passage is {passage}; pass None for it?")
    named = (AnchorKind.NOTE, AnchorKind.DIRECTION)
    if kind != found and (kind in named or found in named):
        raise ValueError(f"kind is {kind.value!r} and the element says {found.value!r}")
    if kind in POINTS and not passage.is_point:
        raise ValueError(f"kind is {kind.value!r} and the passage is longer than a point")


def _check_place(
    score: Score, place: Place, *, is_end: bool = False, is_element: bool = False
) -> None:
    count = len(score.measures)
    is_final_edge = is_end and place.measure_index == count and place.offset_quarters == 0
    if place.measure_index >= count and not is_final_edge:
        rule = f"this score has {count} measures, counted from 0"
        raise InvalidEntryError("measure", place.measure_index, rule)
    if not is_final_edge and not is_element:
        length = score.quarters(score.measures[place.measure_index].duration)
        _check_offset(place, length)
    staves = sum(part.staves for part in score.parts)
    if place.staff is not None and not 1 <= place.staff <= staves:
        raise InvalidEntryError("staff", place.staff, f"this score has {staves} staves")
    if place.note_id is not None and not _has_note(score, place.note_id):
        raise InvalidEntryError("note", place.note_id, "there is no such note in this score")


def _check_offset(place: Place, length: Fraction) -> None:
    if place.offset_quarters > length:
        rule = f"measure {place.measure_index} (from 0) lasts {length} quarter notes"
        raise InvalidEntryError("offset", str(place.offset_quarters), rule)


def _has_note(score: Score, note_id: str) -> bool:
    return note_id in score.notes.ids or note_id in score.rests.ids


def _span(score: Score, passage: Passage) -> tuple[int, int]:
    """Start and end in ticks; a point lasts one tick, the shortest time there is.

    A point at the very end of a measure ("D.C. al Fine") belongs to that measure, although its
    moment is the next one's start: it lasts the measure's last tick.
    """
    start, end = score.onset_of(passage.start), score.onset_of(passage.end)
    if passage.is_point and _closes_measure(score, passage.start):
        start -= 1
    return start, max(end, start + 1)


def _closes_measure(score: Score, place: Place) -> bool:
    if not place.offset_quarters or place.measure_index >= len(score.measures):
        return False
    measure = score.measures[place.measure_index]
    return place.offset_quarters == score.quarters(measure.duration)
