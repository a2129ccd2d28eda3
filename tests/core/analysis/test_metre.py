"""The metre of unbarred music, on tunes made for the purpose."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from core.analysis.form import form_of
from core.analysis.metre import downbeats, infer_metre
from core.analysis.units import inferred_units
from tests.core.analysis.made_scores import score_of
from tests.core.analysis.test_form import OTHER, TUNE

WALTZ_HALVES = (
    # Four quarters a group; read on, they are measures of three quarters.
    ("G4 B4 D5 B4", "G2 B3+D4 B3+D4 A2"),
    ("C5 E5 C5 F#4", "C4+E4 C4+E4 D2 A3+C4"),
    ("A4 D5 G4 B4", "A3+C4 G2 B3+D4 B3+D4"),
)
"""Four measures of a waltz, written in groups of four quarters."""


def test_barred_music_has_no_inferred_metre() -> None:
    assert infer_metre(score_of(*TUNE)) is None


def test_a_waltz_without_barlines() -> None:
    waltz = [f"{upper} / {lower}" for upper, lower in WALTZ_HALVES * 4]
    found = infer_metre(score_of(*waltz, unbarred=True))
    assert found is not None
    assert found.value.measure_quarters == 3
    assert found.value.first_downbeat_quarters == 0
    assert found.value.signature == "3/4"
    assert found.alternatives


def test_downbeats_begin_with_the_first_and_stay_in_the_score() -> None:
    waltz = [f"{upper} / {lower}" for upper, lower in WALTZ_HALVES * 4]
    score = score_of(*waltz, unbarred=True)
    found = infer_metre(score)
    assert found is not None
    beats = downbeats(score, found.value)
    assert np.diff(beats).tolist() == [3 * score.ticks_per_quarter] * 15
    assert beats[-1] < score.duration


def test_sections_of_unbarred_music_lie_inside_its_one_measure() -> None:
    score = score_of(*TUNE, *OTHER, *TUNE, unbarred=True)
    units = inferred_units(score, np.arange(0, score.duration, 4 * score.ticks_per_quarter))
    tops = [f.value for f in form_of(score, units).sections if f.value.parent is None]
    assert [section.label for section in tops] == ["A", "B", "A"]
    assert tops[1].passage.start.measure_index == 0
    assert tops[1].passage.start.offset_quarters == Fraction(16)


def test_too_little_music_has_no_metre() -> None:
    assert infer_metre(score_of("C4 / C3", "D4 / D3", "E4 / E3", unbarred=True)) is None
