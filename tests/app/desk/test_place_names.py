"""Places in words, against the counting that musicians are taught (common practice)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from app.desk import place_names
from core.score.places import Passage, Place
from core.score.score import Score
from tests.app.small_scores import measure, score_of, signature


def span(first: int, start: str, last: int, end: str) -> Passage:
    return Passage(
        start=Place(measure_index=first, offset_quarters=Fraction(start)),
        end=Place(measure_index=last, offset_quarters=Fraction(end)),
    )


@pytest.fixture(scope="module")
def simple() -> Score:
    """A pickup of one quarter, then measures 1 to 3 of 4/4."""
    return score_of(
        measure("0", 1, before=signature("4", "4"), is_implicit=True),
        measure("1"),
        measure("2"),
        measure("3"),
    )


@pytest.mark.parametrize(
    ("upper", "lower", "lengths"),
    [
        ("4", "4", ["1"] * 4),
        ("2", "2", ["2"] * 2),
        ("3", "8", ["1/2"] * 3),
        ("6", "8", ["3/2"] * 2),
        ("9", "8", ["3/2"] * 3),
        ("12", "16", ["3/4"] * 4),
        ("6", "4", ["3"] * 2),
        ("5", "4", ["1"] * 5),
        ("3+2", "8", ["3/2", "1"]),
        ("3+2", "4", ["1"] * 5),
    ],
)
def test_beats_of_a_signature(upper: str, lower: str, lengths: list[str]) -> None:
    assert [str(beat) for beat in place_names.beats(f"{upper}/{lower}")] == lengths


@pytest.mark.parametrize("signature", [None, "", "C", "4/x", "x/4"])
def test_no_beats_without_a_signature(signature: str | None) -> None:
    assert place_names.beats(signature) == ()


@pytest.mark.parametrize(
    ("passage", "name"),
    [
        (Passage.of_measures(1, 1), "m. 1"),
        (Passage.of_measures(1, 2), "m. 1 to 2"),
        (span(1, "1", 3, "0"), "m. 1, beat 2, to m. 2"),
        (span(1, "0", 1, "4"), "m. 1"),
        (span(1, "0", 1, "2"), "m. 1, beats 1 to 2"),
        (span(1, "1", 1, "2"), "m. 1, beat 2"),
        (span(1, "1", 1, "5/2"), "m. 1, beats 2 to 3"),
        (span(1, "1", 2, "3"), "m. 1, beat 2, to m. 2, beat 3"),
        (span(1, "0", 2, "3"), "m. 1 to m. 2, beat 3"),
        (span(1, "3/2", 1, "3/2"), "m. 1, beat 2½"),
        (Passage.of_measures(0, 0), "pickup"),
        (span(0, "0", 0, "0"), "pickup, beat 4"),
        (Passage.of_measures(0, 1), "pickup to m. 1"),
    ],
)
def test_passages_in_words(simple: Score, passage: Passage, name: str) -> None:
    assert place_names.passage_name(simple, passage) == name


def test_the_second_half_of_a_cut_measure_goes_on_counting() -> None:
    score = score_of(
        measure("1", 2, before=signature("4", "4")),
        measure("1", 2, is_implicit=True),
        measure("2"),
    )
    assert place_names.passage_name(score, span(1, "1", 1, "1")) == "m. 1, beat 4"


def test_a_measure_longer_than_its_signature_goes_on_counting() -> None:
    score = score_of(measure("1", 7, before=signature("4", "4")), measure("2"))
    assert place_names.passage_name(score, span(0, "6", 0, "6")) == "m. 1, beat 7"


@pytest.mark.parametrize(
    ("text", "index"),
    [("2", 2), (" 2 ", 2), ("m. 3", 3), ("M.3", 3), ("measure 1", 1), ("0", 0), ("17", None)],
)
def test_printed_numbers_are_found(simple: Score, text: str, index: int | None) -> None:
    assert place_names.measure_index_of_number(simple, text) == index


def test_of_two_measures_with_one_number_the_first_is_meant() -> None:
    score = score_of(measure("1", before=signature("4", "4")), measure("2"), measure("2"))
    assert place_names.measure_index_of_number(score, "2") == 1
