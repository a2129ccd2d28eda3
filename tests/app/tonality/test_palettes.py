"""Degrees of a scale as heads: spelled as the key is."""

from __future__ import annotations

import pytest

from app.tonality.palettes import palette_of

MAJOR = [(str(number), 1) for number in range(1, 8)]


@pytest.mark.parametrize("tonic", range(-7, 8))
def test_a_major_scale_has_the_accidentals_of_its_signature(tonic: int) -> None:
    # Common practice: the tonic's place on the circle of fifths counts the signature's signs.
    heads = palette_of(tonic, MAJOR)
    assert sum(head.alter for head in heads) == tonic
    positions = [head.position for head in heads]
    assert positions == list(range(positions[0], positions[0] + 7))
    assert -2 <= positions[0] <= 4


def test_g_dorian_with_its_second_bent() -> None:
    heads = palette_of(1, [("1", 8), ("b2", 2), ("2", 2), ("b3", 5), ("#4", 1)], ["b2"])
    assert [(head.label, head.position, head.alter) for head in heads] == [
        ("1", 4, 0),
        ("♭2", 5, -1),
        ("2", 5, 0),
        ("♭3", 6, -1),
        ("♯4", 7, 1),
    ]
    assert [head.is_bent for head in heads] == [False, True, False, False, False]


def test_double_accidentals_are_spelled() -> None:
    assert palette_of(-7, [("b3", 1)])[0].alter == -2
