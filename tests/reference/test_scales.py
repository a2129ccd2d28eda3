"""The scales of the table against music21's scale classes, note by note on twelve tonics."""

from __future__ import annotations

import pytest

from core.analysis.keys import tonic_name
from core.analysis.scales import pattern

scale = pytest.importorskip("music21.scale")
pitch = pytest.importorskip("music21.pitch")

CLASSES = {
    "major": "MajorScale",
    "natural minor": "MinorScale",
    "harmonic minor": "HarmonicMinorScale",
    "dorian": "DorianScale",
    "phrygian": "PhrygianScale",
    "lydian": "LydianScale",
    "mixolydian": "MixolydianScale",
    "locrian": "LocrianScale",
    "whole-tone": "WholeToneScale",
    "chromatic": "ChromaticScale",
}


@pytest.mark.parametrize("tonic", range(-5, 7))
@pytest.mark.parametrize(("name", "class_name"), CLASSES.items())
def test_the_notes_are_those_of_music21(name: str, class_name: str, tonic: int) -> None:
    root = 7 * tonic % 12
    theirs = getattr(scale, class_name)(pitch.Pitch(tonic_name(tonic).replace("b", "-")))
    notes = {p.pitchClass for p in theirs.getPitches("C4", "C6")}
    assert notes == {(root + step) % 12 for step in pattern(name)}


def test_the_ascending_melodic_minor_is_that_of_music21() -> None:
    theirs = scale.MelodicMinorScale("A")
    notes = theirs.getPitches("A4", "A5", direction=scale.Direction.ASCENDING)
    assert {(p.pitchClass - 9) % 12 for p in notes} == set(pattern("melodic minor"))


@pytest.mark.parametrize(
    ("name", "mode"), [("octatonic whole-half", 2), ("octatonic half-whole", 1)]
)
def test_the_octatonic_scales_are_those_of_music21(name: str, mode: int) -> None:
    theirs = scale.OctatonicScale("C", mode)
    assert {p.pitchClass for p in theirs.getPitches("C4", "C5")} == set(pattern(name))


@pytest.mark.parametrize("tonic", range(-5, 7))
def test_dorian_has_the_notes_of_the_major_scale_a_tone_below(tonic: int) -> None:
    # Common practice.
    dorian = {(7 * tonic + step) % 12 for step in pattern("dorian")}
    assert dorian == {(7 * tonic - 2 + step) % 12 for step in pattern("major")}
