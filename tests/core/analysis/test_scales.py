"""Scales: the table and facts of the trade that follow from it."""

from __future__ import annotations

from itertools import pairwise

import pytest

from core.analysis.scales import (
    SYMMETRIC,
    ScaleInUse,
    degree_fifths,
    pattern,
    scale_degrees,
    scale_table,
    semitones,
)


@pytest.mark.parametrize("name", list(scale_table()))
def test_every_scale_has_its_tonic_and_ascends_without_doubles(name: str) -> None:
    steps = [semitones(degree) for degree in scale_degrees(name)]
    assert steps[0] == 0
    assert steps == sorted(set(steps))


@pytest.mark.parametrize("name", list(scale_table()))
def test_only_the_symmetric_scales_have_their_notes_on_another_tonic(name: str) -> None:
    steps = set(pattern(name))
    turned = [{(step - move) % 12 for step in steps} for move in range(1, 12)]
    assert (steps in turned) == (name in SYMMETRIC)


def test_the_raised_fourth_lies_a_tritone_above_the_tonic() -> None:
    # Common practice.
    assert semitones("#4") == 6
    assert degree_fifths("#4") == 6


def test_harmonic_minor_with_a_raised_fourth_has_two_augmented_seconds() -> None:
    # Common practice: between 3 and #4, and between 6 and 7.
    steps = [*pattern("harmonic minor", ("#4",)), 12]
    assert [b - a for a, b in pairwise(steps)].count(3) == 2


def test_an_altered_degree_takes_the_place_of_its_number() -> None:
    assert pattern("major", ("#4",)) == pattern("lydian")
    assert pattern("natural minor", ("6",)) == pattern("dorian")
    assert pattern("phrygian", ("3",)) == pattern("phrygian dominant")


@pytest.mark.parametrize(
    ("scale", "name"),
    [
        (ScaleInUse(tonic=1, scale="dorian", bent=("b2",)), "G Dorian, second bent"),
        (ScaleInUse(tonic=-3, scale="major"), "Eb major"),
        (
            ScaleInUse(tonic=3, scale="harmonic minor", altered=("#4",)),
            "A harmonic minor with raised fourth",
        ),
        (ScaleInUse(tonic=0, scale="phrygian dominant"), "C Phrygian dominant"),
    ],
)
def test_names_for_a_reader(scale: ScaleInUse, name: str) -> None:
    assert scale.name == name


def test_an_unknown_scale_is_named_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match=r"'dorain' is not in the table.*dorian"):
        scale_degrees("dorain")
