"""Engraved directions are recognised by measure, kind, staff, time and text."""

from __future__ import annotations

from core.score.engraved_directions import match_directions
from core.score.engraved_page import EngravedDirection
from core.score.score import Measure, RawDirection

MEASURE = Measure(
    index=0, id="m1", number="1", onset=0, duration=12, signature="6/8", nominal_duration=12
)
TICKS = 4


def drawn(kind: str, text: str = "", *, staff: int = 1, tstamp: float = 1.0) -> EngravedDirection:
    return EngravedDirection(f"v-{kind}-{text}", kind, "m1", staff, tstamp, text, (0, 0, 1, 1))


def said(name: str, kind: str, text: str, *, staff: int = 1, onset: int = 0) -> RawDirection:
    return RawDirection(
        id=name, measure_index=0, onset=onset, part=0, staff=staff, kind=kind, text=text
    )


def matched(engraved: list[EngravedDirection], directions: list[RawDirection]) -> list[str]:
    found = match_directions(engraved, {"m1": directions}, {"m1": MEASURE}, TICKS)
    return [direction_id for _, direction_id in found]


def test_text_decides_between_two_of_one_kind_at_one_time() -> None:
    directions = [said("a", "words", "dolce"), said("b", "words", "leggiero")]
    assert matched([drawn("dir", "leggiero"), drawn("dir", "dolce")], directions) == ["b", "a"]


def test_time_decides_between_equal_words() -> None:
    directions = [said("a", "dynamics", "f", onset=0), said("b", "dynamics", "f", onset=6)]
    # In 6/8 a time stamp of 4 is the fourth eighth: 1.5 quarters, 6 ticks.
    assert matched([drawn("dynam", tstamp=4.0), drawn("dynam", tstamp=1.0)], directions) == [
        "b",
        "a",
    ]


def test_staff_decides_between_equal_words_at_one_time() -> None:
    directions = [said("a", "dynamics", "p", staff=1), said("b", "dynamics", "p", staff=2)]
    assert matched([drawn("dynam", staff=2), drawn("dynam", staff=1)], directions) == ["b", "a"]


def test_other_words_are_never_taken_for_these() -> None:
    assert matched([drawn("dir", "dolce")], [said("a", "words", "pesante")]) == []


def test_an_id_that_the_engraver_kept_is_taken_at_once() -> None:
    engraved = drawn("hairpin")
    engraved.verovio_id = "w1"
    assert matched([engraved], [said("w1", "wedge", "crescendo", onset=9)]) == ["w1"]


def test_one_direction_drawn_as_words_and_as_dynamics_is_met_twice() -> None:
    directions = [said("a", "dynamics", "sempre pp")]
    assert matched([drawn("dir", "sempre"), drawn("dynam", "pp")], directions) == ["a", "a"]


def test_a_measure_that_is_not_known_matches_nothing() -> None:
    found = match_directions([drawn("dir", "dolce")], {}, {}, TICKS)
    assert found == []
