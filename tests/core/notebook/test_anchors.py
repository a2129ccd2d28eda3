"""Where a remark hangs, and how its place is known again."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from core.errors import InvalidEntryError
from core.notebook.anchors import (
    anchor_at_finding,
    anchor_at_section,
    anchor_at_statement,
    anchor_for,
    does_speak_of,
    fingerprint_at,
    is_at_statement,
    statement_name,
)
from core.notebook.values import Anchor, AnchorKind
from core.score.places import Passage, Place
from core.score.statements import Section, statements_of
from tests.core.notebook.small_scores import NOTES, SHA, Note, at, between, small_score

SCORE = small_score()

# ------------------------------------------------------------------------------------ anchors


def test_the_kind_follows_from_what_was_pointed_at() -> None:
    kinds = {
        AnchorKind.PIECE: anchor_for(SCORE, None),
        AnchorKind.PLACE: anchor_for(SCORE, at(1, 2)),
        AnchorKind.PASSAGE: anchor_for(SCORE, Passage.of_measures(1, 2)),
        AnchorKind.NOTE: anchor_for(SCORE, at(1, note_id="n1"), element_id="n1"),
        AnchorKind.DIRECTION: anchor_for(SCORE, at(1), element_id="d1"),
    }
    assert {kind: anchor.kind for kind, anchor in kinds.items()} == {kind: kind for kind in kinds}
    assert anchor_for(SCORE, at(0), element_id="r1").kind is AnchorKind.NOTE


def test_an_anchor_names_the_score_and_knows_its_place_again() -> None:
    anchor = anchor_for(SCORE, at(1, staff=2), element_id=None)
    assert anchor == Anchor(
        kind=AnchorKind.PLACE,
        score_sha256=SHA,
        passage=at(1, staff=2),
        fingerprint=fingerprint_at(SCORE, at(1)),
    )


def test_an_anchor_on_the_piece_holds_for_every_edition() -> None:
    assert anchor_for(SCORE, None) == Anchor(kind=AnchorKind.PIECE)


@pytest.mark.parametrize(
    ("passage", "said"),
    [
        (at(5), "measure 5: this score has 5 measures, counted from 0"),
        (Passage.of_measures(3, 5), "measure 6: this score has 5 measures"),
        (between((3, 0), (5, 1)), "measure 5: this score has 5 measures"),
        (at(0, Fraction(3, 2)), r"offset '3/2': measure 0 \(from 0\) lasts 1 quarter notes"),
        (at(1, staff=3), "staff 3: this score has 2 staves"),
        (at(1, staff=0), "staff 0: this score has 2 staves"),
        (at(1, note_id="n99"), "note 'n99': there is no such note"),
    ],
)
def test_a_passage_lies_within_the_score(passage: Passage, said: str) -> None:
    with pytest.raises(InvalidEntryError, match=said):
        anchor_for(SCORE, passage)


def test_a_passage_may_reach_the_end_of_the_score() -> None:
    assert anchor_for(SCORE, Passage.of_measures(0, 4)).passage == Passage.of_measures(0, 4)
    assert anchor_for(SCORE, at(4, 4)).passage == at(4, 4)


def test_a_direction_past_the_end_of_its_measure_can_be_pointed_at() -> None:
    anchor = anchor_for(SCORE, at(1, 5), element_id="d1")
    assert anchor.passage == at(1, 5)
    assert does_speak_of(anchor, Passage.of_measures(2, 2), SCORE)
    with pytest.raises(InvalidEntryError, match="offset '5': measure 1"):
        anchor_for(SCORE, at(1, 5))


def test_an_element_is_one_of_the_score() -> None:
    with pytest.raises(InvalidEntryError, match="element 'n99': there is no such note or direct"):
        anchor_for(SCORE, at(1), element_id="n99")


@pytest.mark.parametrize(
    ("passage", "element_id", "kind", "said"),
    [
        (None, None, AnchorKind.PLACE, "kind is 'place' and passage is None"),
        (at(1), None, AnchorKind.PIECE, "kind is 'piece' and passage is"),
        (at(1), "n1", AnchorKind.DIRECTION, "kind is 'direction' and the element says 'note'"),
        (at(1), None, AnchorKind.NOTE, "kind is 'note' and the element says 'place'"),
        (between((1, 0), (1, 2)), None, AnchorKind.PLACE, "longer than a point"),
    ],
)
def test_the_kind_goes_with_the_rest(
    passage: Passage | None, element_id: str | None, kind: AnchorKind, said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        anchor_for(SCORE, passage, element_id=element_id, kind=kind)


# ------------------------------------------------------------------------------- fingerprints


def test_a_fingerprint_by_hand() -> None:
    # Measure 2 begins at quarter 5: four onsets before it, then what follows, without the grace
    # note at 5 and the tied-over note at 9.
    by_hand = "-5:67 -4:48.72 -3:74 -3/2:76 0:53.77 4:55 8:48.72"
    assert fingerprint_at(SCORE, at(2)) == by_hand


def test_a_fingerprint_between_notes() -> None:
    assert fingerprint_at(SCORE, at(1, 3)).startswith("-4:67 -3:48.72 -2:74 -1/2:76 1:53.77 ")


def test_a_fingerprint_at_the_edges() -> None:
    assert fingerprint_at(SCORE, at(0)).startswith("0:67 1:48.72 ")
    assert fingerprint_at(SCORE, at(4, 4)) == "-27/2:76 -12:53.77 -8:55 -4:48.72"
    assert fingerprint_at(small_score(notes=()), at(1)) == ""


def test_one_without_pitch_is_an_x() -> None:
    score = small_score(notes=(Note(id="n1", onset=1, pitch=-1),))
    assert fingerprint_at(score, at(1)) == "0:x"


def test_a_fingerprint_does_not_depend_on_the_edition() -> None:
    # Another division of the quarter, other ids, a measure of rest before it all.
    moved = tuple(replace(note, id=f"x{note.id}", onset=note.onset + 4) for note in NOTES)
    other = small_score(notes=moved, ticks=480, lengths=(4, 1, 4, 4, 4, 4))
    for index, offset in ((0, 0), (1, 0), (1, 2), (2, Fraction(1, 2)), (4, 4)):
        assert fingerprint_at(SCORE, at(index, offset)) == fingerprint_at(
            other, at(index + 1, offset)
        )


def test_different_places_have_different_fingerprints() -> None:
    places = [at(index, offset) for index in range(1, 5) for offset in range(4)]
    assert len({fingerprint_at(SCORE, place) for place in places}) == len(places)


# ------------------------------------------------------------------------------ speaking of it


@pytest.mark.parametrize(
    ("own", "here", "speaks"),
    [
        (Passage.of_measures(1, 2), Passage.of_measures(2, 3), True),
        (Passage.of_measures(1, 2), Passage.of_measures(3, 3), False),
        (Passage.of_measures(1, 2), Passage.of_measures(0, 0), False),
        (Passage.of_measures(1, 1), at(1), True),
        (Passage.of_measures(1, 1), at(1, 3), True),
        (Passage.of_measures(1, 1), at(2), False),
        (at(2), Passage.of_measures(1, 1), False),
        (at(2), Passage.of_measures(2, 2), True),
        (at(1, 2), at(1, 2), True),
        (at(1, 2), at(1, 3), False),
        (at(1, 2, staff=1), at(1, 2, staff=2), True),
        # "D.C. al Fine" at the end of measure 1 is said of measure 1, not of the next.
        (at(1, 4), Passage.of_measures(1, 1), True),
        (at(1, 4), Passage.of_measures(2, 2), False),
        (at(1, 4), at(1, 4), True),
        (at(4, 4), Passage.of_measures(0, 4), True),
        (between((1, 2), (3, 1)), at(3), True),
        (between((1, 2), (3, 1)), at(3, 1), False),
    ],
)
def test_time_in_common(own: Passage, here: Passage, speaks: bool) -> None:
    anchor = Anchor(kind=AnchorKind.PASSAGE, score_sha256=SHA, passage=own)
    assert does_speak_of(anchor, here, SCORE) is speaks
    mirrored = replace(anchor, passage=here)
    assert does_speak_of(mirrored, own, SCORE) is speaks


def test_another_score_is_another_place() -> None:
    anchor = Anchor(kind=AnchorKind.PLACE, score_sha256="0" * 64, passage=at(1))
    assert not does_speak_of(anchor, at(1), SCORE)
    assert not does_speak_of(Anchor(kind=AnchorKind.PIECE), at(1), SCORE)


def test_a_place_far_outside_is_nowhere() -> None:
    anchor = Anchor(
        kind=AnchorKind.PLACE,
        score_sha256=SHA,
        passage=Passage.at(Place(measure_index=99, offset_quarters=Fraction(1))),
    )
    assert not does_speak_of(anchor, Passage.of_measures(0, 4), SCORE)


# ------------------------------------------------------------ sections, statements and findings

A = Section(passage=Passage.of_measures(1, 2), label="A")
INSIDE = Section(passage=Passage.of_measures(1, 1), label="a", parent=0)
# The upbeat, both measures of A twice, then the rest.
STATEMENTS = statements_of([A, INSIDE], [0, 1, 2, 1, 2, 3, 4])
A_1, A_2 = (each for each in STATEMENTS if each.label == "A")
INSIDE_1, INSIDE_2 = (each for each in STATEMENTS if each.label == "a")


def test_a_section_is_known_by_its_letter_and_its_span() -> None:
    anchor = anchor_at_section(SCORE, A, 3)
    assert anchor == Anchor(
        kind=AnchorKind.SECTION,
        score_sha256=SHA,
        passage=A.passage,
        fingerprint=fingerprint_at(SCORE, A.passage),
        section_label="A",
        section_index=3,
    )
    assert statement_name(anchor) == ""


def test_a_statement_is_a_section_and_a_number() -> None:
    anchor = anchor_at_statement(SCORE, A_2)
    assert (anchor.section_label, anchor.section_index, anchor.statement_number) == ("A", 0, 2)
    assert anchor.kind is AnchorKind.STATEMENT
    assert anchor.passage == A.passage
    assert statement_name(anchor) == "A, 2nd"
    assert does_speak_of(anchor, at(1), SCORE)


def test_a_finding_is_known_by_its_kind() -> None:
    whole = anchor_at_finding(SCORE, "global key", None)
    assert (whole.kind, whole.passage) == (AnchorKind.FINDING, None)
    assert whole.score_sha256 == SHA
    region = anchor_at_finding(SCORE, "key", Passage.of_measures(1, 2))
    assert (region.finding_kind, region.passage) == ("key", Passage.of_measures(1, 2))
    assert region.fingerprint
    with pytest.raises(InvalidEntryError, match="measure 9: this score has 5 measures"):
        anchor_at_finding(SCORE, "key", Passage.of_measures(1, 8))


def test_a_statement_holds_at_its_own_number() -> None:
    anchor = anchor_at_statement(SCORE, A_2)
    assert [is_at_statement(anchor, each) for each in (A_1, A_2)] == [False, True]


def test_a_passage_in_a_statement_belongs_to_its_number() -> None:
    within = Passage.of_measures(2, 2)
    anchor = anchor_at_statement(SCORE, A_2, within)
    assert anchor.passage == within
    assert statement_name(anchor) == "A, 2nd"
    assert [is_at_statement(anchor, each) for each in (A_1, A_2)] == [False, True]
    with pytest.raises(ValueError, match="begins outside of A, 2nd"):
        anchor_at_statement(SCORE, A_2, Passage.of_measures(3, 3))


def test_inside_of_it_what_sounds_then_is_meant() -> None:
    second = anchor_at_statement(SCORE, A_2)
    held = [is_at_statement(second, each, STATEMENTS) for each in (INSIDE_1, INSIDE_2)]
    assert held == [False, True]
    # A section that sounds once around one that sounds twice: numbers alone would mislead.
    once = Section(passage=Passage.of_measures(1, 3), label="B")
    around, *inner = statements_of([once, INSIDE], [0, 1, 1, 2, 3])
    first, again = inner
    anchor = anchor_at_statement(SCORE, again)
    everything = (around, first, again)
    assert is_at_statement(anchor, around, everything)
    assert not is_at_statement(anchor, first, everything)


def test_a_section_found_before_it_does_not_move_a_statement() -> None:
    anchor = anchor_at_statement(SCORE, A_2)
    moved = replace(A_2, section=7)
    assert is_at_statement(anchor, moved, [moved])


def test_a_statement_whose_section_is_gone_goes_by_its_number() -> None:
    anchor = anchor_at_statement(SCORE, A_2)
    renamed = [replace(each, label="B") for each in (A_1, A_2)]
    assert [is_at_statement(anchor, each, renamed) for each in renamed] == [False, True]
