"""What analysis found, placed on a page."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from PySide6.QtGui import QColor

from app.score.finding_marks import (
    ShownBent,
    ShownKey,
    ShownSection,
    bent_on,
    halos_on,
    key_rules_on,
    letters_on,
    reach_of,
)
from app.score.page_marks import Certainty
from app.score.score_geometry import PageGeometry
from core.score.page_drawing import UNITS_PER_SPACE
from core.score.places import Passage

KEY = ShownKey(
    passage=Passage.of_measures(0, 4),
    label="G Dorian",
    color=QColor("grey"),
    certainty=Certainty.DASHED,
)


def test_certainty_is_a_line_style() -> None:
    styles = [Certainty.of(confidence) for confidence in (0.85, 0.84, 0.6, 0.59)]
    assert styles == [Certainty.SOLID, Certainty.DASHED, Certainty.DASHED, Certainty.DOTTED]
    # A stroke and a gap each: on Python 3.11.2 the value of a member can be a bare object.
    assert [style.value[1] > 0 for style in Certainty] == [False, True, True]


def test_a_key_over_two_systems_is_two_rules_and_one_label(first_page: PageGeometry) -> None:
    rules = key_rules_on(first_page, [KEY])
    assert [rule.label for rule in rules] == ["G Dorian", ""]
    assert [rule.span.system for rule in rules] == [0, 1]


def test_a_key_elsewhere_is_no_rule_here(first_page: PageGeometry) -> None:
    assert key_rules_on(first_page, [replace(KEY, passage=Passage.of_measures(22, 23))]) == ()


def test_a_bent_note_has_its_triangle_over_its_head(first_page: PageGeometry) -> None:
    (bent,) = bent_on(first_page, [ShownBent(note_id="m3s1n3", label="♭2")])
    box = first_page.element_box("m3s1n3")
    assert box is not None
    assert box[0] < bent.x < box[2]


def test_of_close_triangles_that_say_the_same_the_first_says_it(first_page: PageGeometry) -> None:
    notes = ("m3s1n1", "m3s1n2", "m3s1n3")
    same = bent_on(first_page, [ShownBent(note_id=note, label="♭2") for note in reversed(notes)])
    lefts = [degree.x for degree in same]
    assert lefts == sorted(lefts)
    gaps = [right - left for left, right in pairwise(lefts)]
    expected = [True, *(gap >= 5 * UNITS_PER_SPACE for gap in gaps)]
    assert [bool(degree.label) for degree in same] == expected
    assert False in expected
    other = bent_on(
        first_page,
        [ShownBent(note_id=note, label=f"♭{at}") for at, note in enumerate(notes, start=1)],
    )
    assert all(degree.label for degree in other)


def test_bent_notes_that_sound_together_share_one_triangle(first_page: PageGeometry) -> None:
    both = [ShownBent(note_id=note_id, label="♭3") for note_id in ("m5s1n0", "m5s1n1")]
    assert len(bent_on(first_page, both)) == 1
    assert bent_on(first_page, [ShownBent(note_id="elsewhere", label="♭3")]) == ()


def test_a_letter_stands_left_of_a_system_it_begins_and_over_the_note_inside_one(
    first_page: PageGeometry,
) -> None:
    sections = [
        ShownSection(passage=Passage.of_measures(0, 3), letter="A"),
        ShownSection(passage=Passage.of_measures(6, 7), letter="B"),
        ShownSection(passage=Passage.of_measures(20, 23), letter="C"),
    ]
    letters = letters_on(first_page, sections)
    assert [(letter.letter, letter.is_inside) for letter in letters] == [("A", False), ("B", True)]


def test_a_halo_goes_round_head_and_accidental(first_page: PageGeometry) -> None:
    (halo,) = halos_on(first_page, ["m1s1n1"])
    element = next(e for e in first_page.drawing.elements if e.id == "m1s1n1")
    assert element.accidental is not None
    assert halo[0] == element.accidental[0]
    assert halo[2] == element.box[2]


def test_how_far_words_reach_over_a_system_is_known(first_page: PageGeometry) -> None:
    span = first_page.spans(Passage.of_measures(0, 0))[0]
    tops = [element.box[1] for element in first_page.drawing.elements]
    # The tempo mark is the highest thing of the first system, and of the page.
    assert reach_of(first_page, span) == (span.top - min(tops)) / UNITS_PER_SPACE
    assert reach_of(first_page, span) > 2
