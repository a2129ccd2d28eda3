"""Places to points and back."""

from __future__ import annotations

from fractions import Fraction

import pytest

from app.score.score_geometry import PageGeometry, ScoreIndex
from core.notebook.values import AnchorKind
from core.resources import sample_library
from core.score.engraving import Engraver, PageLayout
from core.score.page_drawing import UNITS_PER_SPACE
from core.score.places import Passage, Place
from core.score.reading import ReadScore, read_score


def middle(box: tuple[float, float, float, float]) -> tuple[float, float]:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def test_the_middle_of_every_element_is_that_element(first_page: PageGeometry) -> None:
    assert first_page.drawing.elements
    for element in first_page.drawing.elements:
        found = first_page.element_at(*middle(element.box))
        assert found is not None
        same_middle = found.box == element.box
        assert found.id == element.id or same_middle


def test_far_from_any_mark_is_no_element(first_page: PageGeometry) -> None:
    assert first_page.element_at(0.0, 0.0) is None


def test_a_note_is_selected_as_a_note_with_its_place(index: ScoreIndex) -> None:
    selection = index.selection_of("m3s1n2")
    assert selection is not None
    assert selection.kind is AnchorKind.NOTE
    assert selection.passage.start == Place(
        measure_index=2, offset_quarters=Fraction(3, 2), staff=1, note_id="m3s1n2"
    )


def test_a_direction_is_selected_as_a_direction(index: ScoreIndex, barcarolle: ReadScore) -> None:
    direction = next(d for d in barcarolle.score.directions if d.text == "calando")
    selection = index.selection_of(direction.id)
    assert selection is not None
    assert selection.kind is AnchorKind.DIRECTION
    assert selection.element_id == direction.id


def test_an_unknown_id_selects_nothing(index: ScoreIndex) -> None:
    assert index.selection_of("nothing-has-this-id") is None


def test_columns_run_from_left_to_right(first_page: PageGeometry, barcarolle: ReadScore) -> None:
    score = barcarolle.score
    measure = score.measures[1]
    moments = range(measure.onset, measure.onset + measure.duration + 1)
    xs = [first_page.x_of(1, onset) for onset in moments]
    assert xs == sorted(xs)
    assert xs[-1] == first_page.drawing.measures[1].box[2]


def test_a_note_lies_right_of_its_place(first_page: PageGeometry, index: ScoreIndex) -> None:
    place = index.place_of("m3s1n2")
    box = first_page.element_box("m3s1n2")
    assert place is not None
    assert box is not None
    span = first_page.point_span(place)
    assert span is not None
    assert 0 < box[0] - span.left < 2 * UNITS_PER_SPACE


def test_the_place_under_a_note_is_the_notes_place(
    first_page: PageGeometry, index: ScoreIndex
) -> None:
    for note_id in ("m1s1n0", "m2s1n1", "m4s2n3"):
        box, place = first_page.element_box(note_id), index.place_of(note_id)
        assert box is not None
        assert place is not None
        found = first_page.place_at(*middle(box))
        assert found is not None
        assert found.moment == place.moment


def test_a_passage_over_two_systems_has_a_span_on_each(first_page: PageGeometry) -> None:
    spans = first_page.spans(Passage.of_measures(3, 4))
    assert [span.system for span in spans] == [0, 1]
    assert all(span.left < span.right for span in spans)


def test_a_passage_ends_where_the_next_note_begins(first_page: PageGeometry) -> None:
    passage = Passage(
        start=Place(measure_index=1), end=Place(measure_index=1, offset_quarters=Fraction(3, 2))
    )
    (span,) = first_page.spans(passage)
    (rest,) = first_page.spans(Passage(start=passage.end, end=Place(measure_index=2)))
    assert span.right == rest.left


def test_a_passage_elsewhere_has_no_span_here(first_page: PageGeometry) -> None:
    assert first_page.spans(Passage.of_measures(22, 23)) == []


@pytest.mark.parametrize("measure_index", [0, 2, 5, 9])
def test_a_point_inside_a_measure_is_in_that_measure(
    first_page: PageGeometry, measure_index: int
) -> None:
    box = first_page.drawing.measures[measure_index].box
    assert first_page.measure_at(*middle(box)) == measure_index


def test_far_under_the_music_is_no_measure(first_page: PageGeometry) -> None:
    assert first_page.measure_at(5000.0, -50 * UNITS_PER_SPACE) is None


def test_the_bracket_of_an_ending_is_the_top_of_its_system() -> None:
    score = read_score(sample_library() / "lamplighters_round.musicxml").score
    engraver = Engraver()
    engraver.load(score.canonical, PageLayout())
    geometry = PageGeometry(engraver.page(1), ScoreIndex(score))
    endings = [line.y1 for line in geometry.drawing.lines if line.role == "ending"]
    second, third = geometry.top_of_system(1), geometry.top_of_system(2)
    assert second == min(endings)
    assert third in endings
    assert second < geometry.spans(Passage.of_measures(8, 8))[0].top
