"""Statements of sections in playing orders worked by hand."""

from __future__ import annotations

from fractions import Fraction

from core.score.places import Passage, Place
from core.score.statements import Section, ordinal, statements_of

A = Section(passage=Passage.of_measures(0, 3), label="A")
B = Section(passage=Passage.of_measures(4, 5), label="B")


def named(sections: list[Section], order: list[int]) -> list[tuple[str, int, int]]:
    found = statements_of(sections, order)
    return [(statement.name, statement.order_start, statement.order_end) for statement in found]


def test_a_repeated_section_sounds_twice_and_a_single_one_has_no_number() -> None:
    order = [0, 1, 2, 3, 0, 1, 2, 3, 4, 5]
    assert named([A, B], order) == [("A, 1st", 0, 4), ("A, 2nd", 4, 8), ("B", 8, 10)]


def test_a_da_capo_is_one_more_statement() -> None:
    order = [0, 1, 2, 3, 4, 5, 0, 1]
    found = statements_of([A, B], order)
    assert [s.name for s in found] == ["A, 1st", "B", "A, 2nd"]
    assert found[-1].passage == Passage.of_measures(0, 1)


def test_an_ending_that_is_passed_over_belongs_to_the_statement() -> None:
    # First ending in measure 2, second ending in measure 3.
    order = [0, 1, 2, 0, 1, 3]
    assert named([A], order) == [("A, 1st", 0, 3), ("A, 2nd", 3, 6)]


def test_going_back_early_inside_a_section_is_no_new_statement() -> None:
    order = [0, 0, 1, 2, 3]
    assert named([A], order) == [("A", 0, 5)]


def test_an_upbeat_is_not_played_again() -> None:
    assert named([A], [0, 1, 2, 3, 1, 2, 3]) == [("A, 1st", 0, 4), ("A, 2nd", 4, 7)]


def test_a_phrase_has_statements_of_its_own_behind_its_section() -> None:
    phrase = Section(passage=Passage.of_measures(0, 1), label="a", parent=0)
    assert named([A, phrase], [0, 1, 2, 3]) == [("A", 0, 4), ("a", 0, 2)]


def test_a_section_inside_one_long_measure_sounds_with_it() -> None:
    inner = Passage(
        start=Place(measure_index=0, offset_quarters=Fraction(4)), end=Place(measure_index=1)
    )
    (statement,) = statements_of([Section(passage=inner, label="B")], [0])
    assert (statement.order_start, statement.order_end) == (0, 1)
    assert statement.passage == inner


def test_a_section_that_is_never_played_has_no_statement() -> None:
    assert statements_of([B], [0, 1, 2]) == ()


def test_the_family_is_the_letter_without_primes() -> None:
    assert Section(passage=Passage.of_measures(0, 0), label="A''").family == "A"


def test_ordinals() -> None:
    names = [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21, 102, 111)]
    assert names == "1st 2nd 3rd 4th 11th 12th 13th 21st 102nd 111th".split()
