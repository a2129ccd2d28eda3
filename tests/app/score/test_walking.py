"""Walking by keyboard, on the sample piece (invented): 6/8, two staves, pickup-less."""

from __future__ import annotations

from fractions import Fraction

import pytest

from app.desk.selection import Selection
from app.score.score_geometry import ScoreIndex
from app.score.walking import Walker
from core.notebook.values import AnchorKind
from core.score.places import Passage, Place


@pytest.fixture(scope="module")
def walker(index: ScoreIndex) -> Walker:
    return Walker(index)


def ids(walker: Walker, start: Selection | None, direction: int, steps: int) -> list[str | None]:
    found, selection = [], start
    for _ in range(steps):
        selection = walker.sideways(selection, direction)
        found.append(selection.element_id if selection else None)
    return found


def test_the_first_step_is_the_first_note_of_the_upper_staff(walker: Walker) -> None:
    selection = walker.sideways(None, 1)
    assert selection is not None
    assert selection.element_id == "m1s1n0"


def test_sideways_stays_on_the_staff(walker: Walker, index: ScoreIndex) -> None:
    start = index.selection_of("m1s1n0")
    assert ids(walker, start, 1, 4) == ["m1s1n1", "m1s1n2", "m1s1n3", "m2s1n0"]


def test_back_is_the_way_there_reversed(walker: Walker, index: ScoreIndex) -> None:
    start = index.selection_of("m2s1n0")
    assert ids(walker, start, -1, 4) == ["m1s1n3", "m1s1n2", "m1s1n1", "m1s1n0"]


def test_before_the_first_note_there_is_none(walker: Walker, index: ScoreIndex) -> None:
    assert walker.sideways(index.selection_of("m1s1n0"), -1) is None


def test_down_goes_through_the_chord_to_the_other_staff(walker: Walker, index: ScoreIndex) -> None:
    lower = walker.upright(index.selection_of("m5s1n1"), 1)
    assert lower is not None
    assert lower.element_id == "m5s1n0"
    bass = walker.upright(lower, 1)
    assert bass is not None
    assert bass.element_id == "m5s2n0"
    assert walker.upright(bass, 1) is None


def test_up_is_down_reversed(walker: Walker, index: ScoreIndex) -> None:
    upper = walker.upright(index.selection_of("m5s2n0"), -1)
    assert upper is not None
    assert upper.element_id == "m5s1n0"


def test_measures_follow_each_other_to_the_last(walker: Walker) -> None:
    selection = walker.by_measure(None, 1)
    seen = []
    while selection is not None:
        seen.append(selection.passage.start.measure_index)
        selection = walker.by_measure(selection, 1)
    assert seen == list(range(24))


def test_from_a_note_the_measure_before_is_first_its_own(walker: Walker, index: ScoreIndex) -> None:
    selection = walker.by_measure(index.selection_of("m3s1n2"), -1)
    assert selection is not None
    assert selection.passage == Passage.of_measures(2, 2)


def test_shift_stretches_by_moments_of_any_staff(walker: Walker, index: ScoreIndex) -> None:
    selection = walker.stretch(index.selection_of("m1s1n0"), 1, by_measure=False)
    assert selection is not None
    assert selection.kind is AnchorKind.PASSAGE
    # The lower staff moves in eighths.
    assert selection.passage.end == Place(measure_index=0, offset_quarters=Fraction(1, 2))


def test_stretching_there_and_back_ends_where_it_began(walker: Walker, index: ScoreIndex) -> None:
    once = walker.stretch(index.selection_of("m1s1n0"), 1, by_measure=False)
    twice = walker.stretch(once, 1, by_measure=False)
    assert walker.stretch(twice, -1, by_measure=False) == once
    assert walker.stretch(once, -1, by_measure=False) is None


def test_control_shift_stretches_by_measures_to_the_end(walker: Walker) -> None:
    selection = walker.edge(1)
    assert selection.passage == Passage.of_measures(23, 23)
    assert walker.stretch(selection, 1, by_measure=True) is None
    longer = walker.stretch(walker.edge(-1), 1, by_measure=True)
    assert longer is not None
    assert longer.passage == Passage.of_measures(0, 1)
