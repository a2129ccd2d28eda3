"""One account of key regions and scale regions: hand-made findings, and small tunes."""

from __future__ import annotations

import pytest

from core.analysis.bent_degrees import bent_notes
from core.analysis.keys import Key
from core.analysis.scale_regions import scale_regions
from core.analysis.scales import ScaleInUse
from core.analysis.tonal_line import keys_told, tonal_line
from core.score.findings import Finding
from core.score.places import Passage
from tests.core.analysis.tunes import score_of

G_MINOR, B_FLAT = Key(tonic=1, mode="minor"), Key(tonic=-2, mode="major")
G_DORIAN = ScaleInUse(tonic=1, scale="dorian", bent=("b2",))
G_HARMONIC = ScaleInUse(tonic=1, scale="harmonic minor")


def key(value: Key, first: int, last: int, confidence: float, *others: tuple[Key, float]):  # type: ignore[no-untyped-def]
    passage = Passage.of_measures(first, last)
    return Finding(
        kind="key region", passage=passage, value=value, confidence=confidence, alternatives=others
    )


def scale(value: ScaleInUse, first: int, last: int, confidence: float):  # type: ignore[no-untyped-def]
    passage = Passage.of_measures(first, last)
    return Finding(kind="scale region", passage=passage, value=value, confidence=confidence)


def told(*stretches) -> list[tuple[str, int, int]]:  # type: ignore[no-untyped-def]
    return [(s.name, s.passage.start.measure_index, s.passage.end.measure_index) for s in stretches]


def test_a_mode_on_the_same_tonic_is_told_instead_of_the_key() -> None:
    keys, scales = [key(G_MINOR, 0, 7, 0.6)], [scale(G_DORIAN, 0, 7, 0.7)]
    (only,) = tonal_line(keys, scales)
    assert (only.name, only.tonic, only.mode, only.confidence) == ("G Dorian", 1, "minor", 0.7)
    assert only.told_by == tuple(scales)


def test_the_forms_of_the_minor_are_told_as_the_key_and_by_the_scale() -> None:
    keys, scales = [key(G_MINOR, 0, 7, 0.9)], [scale(G_HARMONIC, 0, 7, 0.8)]
    (only,) = tonal_line(keys, scales)
    assert (only.name, only.confidence, only.told_by) == ("G minor", 0.8, tuple(scales))


def test_a_scale_that_is_a_guess_names_nothing() -> None:
    keys = [key(G_MINOR, 0, 7, 0.4)]
    (only,) = tonal_line(keys, [scale(G_DORIAN, 0, 7, 0.2)])
    assert (only.name, only.told_by) == ("G minor", tuple(keys))


def test_a_plain_scale_elsewhere_does_not_gainsay_the_keys() -> None:
    keys = [key(B_FLAT, 0, 3, 0.6), key(G_MINOR, 4, 7, 0.6)]
    line = tonal_line(keys, [scale(G_HARMONIC, 0, 7, 0.85)])
    assert told(*line) == [("Bb major", 0, 4), ("G minor", 4, 8)]
    assert line[0].told_by == (keys[0],)


@pytest.mark.parametrize(("others", "name"), [((), "Bb major"), (((G_MINOR, 0.35),), "G Dorian")])
def test_between_two_tonics_both_are_heard(
    others: tuple[tuple[Key, float], ...], name: str
) -> None:
    keys = [key(B_FLAT, 0, 7, 0.5, *others)]
    (only,) = tonal_line(keys, [scale(G_DORIAN, 0, 7, 0.4)])
    assert only.name == name


def test_a_scale_without_a_tonic_of_its_own_yields_to_a_sure_key() -> None:
    chromatic = ScaleInUse(tonic=1, scale="chromatic")
    sure, doubtful = key(G_MINOR, 0, 7, 0.8), key(G_MINOR, 0, 7, 0.3)
    assert tonal_line([sure], [scale(chromatic, 0, 7, 0.85)])[0].name == "G minor"
    assert tonal_line([doubtful], [scale(chromatic, 0, 7, 0.85)])[0].name == "G chromatic"


def test_a_measure_left_over_goes_with_what_is_before_it() -> None:
    keys = [key(B_FLAT, 0, 6, 0.4, (G_MINOR, 0.3)), key(Key(tonic=-3, mode="major"), 7, 9, 0.5)]
    scales = [
        scale(G_DORIAN, 0, 5, 0.4),
        scale(ScaleInUse(tonic=-3, scale="major"), 6, 9, 0.3),
    ]
    assert told(*tonal_line(keys, scales)) == [("G Dorian", 0, 7), ("Eb major", 7, 10)]


def test_without_scales_the_keys_are_told_and_without_either_nothing() -> None:
    keys = [key(B_FLAT, 0, 3, 0.6), key(G_MINOR, 4, 7, 0.6)]
    assert told(*tonal_line(keys, [])) == [("Bb major", 0, 4), ("G minor", 4, 8)]
    assert tonal_line([], []) == ()
    assert tonal_line([], [scale(G_HARMONIC, 0, 7, 0.8)])[0].name == "G minor"


def test_figures_are_counted_from_the_tonic_that_is_told() -> None:
    keys = [key(B_FLAT, 0, 3, 0.5, (G_MINOR, 0.35)), key(B_FLAT, 4, 7, 0.9)]
    b_flat = ScaleInUse(tonic=-2, scale="major")
    scales = [scale(G_DORIAN, 0, 3, 0.4), scale(b_flat, 4, 7, 0.8)]
    dorian, plain = keys_told(tonal_line(keys, scales))
    assert (dorian.value, plain.value) == (G_MINOR, B_FLAT)


def test_the_notes_that_bend_a_degree_are_its_evidence() -> None:
    score = score_of(
        "D4 E4 F4 G4|A4 B4 C5 B4|F4 E4 D4x2|Eb4x2 Eb4x2|D4 F4 A4 B4|C5 G4 F4 E4|D4x4",
        "D3x4|C3x4|D3x4|G3x4|D3x4|C3x4|D3x4",
        fifths=0,
    )
    regions = scale_regions(score)
    assert [region.value.name for region in regions] == ["D Dorian, second bent"]
    (bent,) = bent_notes(score, regions)
    assert (bent.value.name, len(bent.evidence), bent.passage) == (
        "b2 of D",
        2,
        Passage.of_measures(3, 3),
    )
    assert set(bent.evidence) <= set(regions[0].evidence)
