"""Names of accompaniment patterns by common practice, on measures worked by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from core.analysis.accompaniment import accompaniments, pattern_of
from core.analysis.units import written_units
from tests.core.analysis.made_scores import score_of

EIGHTHS = tuple(range(0, 48, 6))


@pytest.mark.parametrize(
    ("chords", "name"),
    [
        ([(48,), (55,), (52,), (55,)] * 2, "Alberti bass"),
        ([(43,), (50,), (55,), (59,), (62,), (59,), (55,), (50,)], "broken chords"),
        ([(43,), (59, 62), (59, 62), (59, 62)], "bass and chords"),
        ([(31, 43), (55, 59, 62), (31, 43), (55, 59, 62)], "bass and chords"),
        ([(55, 59, 62)] * 8, "repeated chords"),
        ([(55, 59), (53, 57), (52, 55), (50, 55)], "block chords"),
        ([(36, 48), (38, 50), (40, 52)], "octaves"),
        ([(43,)], "pedal point"),
        ([(43,)] * 4, "repeated notes"),
        ([(60,), (62,), (64,), (65,), (67,), (65,), (64,), (62,)], None),
        ([], None),
    ],
)
def test_patterns(chords: list[tuple[int, ...]], name: str | None) -> None:
    assert pattern_of(chords, EIGHTHS[: len(chords)], 12) == name


def test_a_tremolo_is_quick() -> None:
    chords = [(48,), (60,)] * 4
    assert pattern_of(chords, tuple(range(0, 24, 3)), 12) == "tremolo"
    assert pattern_of(chords, EIGHTHS, 12) == "octaves"


def test_a_stretch_has_staff_period_and_regularity() -> None:
    left = "C3 G3 E3 G3 C3 G3 E3 G3"
    score = score_of(*[f"G5 E5 / {left}"] * 4, "G5 E5 / C3 D3 E3 F3", f"G5 E5 / {left}")
    (found,) = accompaniments(score, written_units(score))
    assert found.value.pattern == "Alberti bass"
    assert found.value.staff == 2
    assert found.value.period_quarters == Fraction(2)
    assert found.value.regularity == pytest.approx(5 / 6, abs=1e-3)


def test_one_measure_is_no_pattern() -> None:
    score = score_of("G5 E5 / C3 G3 E3 G3", "G5 E5 / -", "G5 E5 / -")
    assert accompaniments(score, written_units(score)) == ()
