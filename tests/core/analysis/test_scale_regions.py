"""Scale regions, bent degrees and their sentences: cases worked by hand, and the sample piece."""

from __future__ import annotations

from itertools import pairwise

import pytest

from core.analysis.reasons import degree_counts, reason_for, runner_up_for
from core.analysis.scale_regions import scale_regions
from core.analysis.scales import ScaleInUse, scale_degrees, scale_table
from core.analysis.tonality import global_key
from core.resources import sample_library
from core.score.findings import Finding
from core.score.reading import read_score
from core.score.score import Score
from tests.core.analysis.tunes import score_of

DORIAN = (
    "D4 E4 F4 G4|A4 B4 A4 G4|F4 G4 E4 C4|D4 F4 A4x2|A4 B4 C5 B4|A4 G4 F4 E4|D4 E4 C4 E4|D4x4",
    "D3+A3x4|D3+F3x4|D3+A3x4|D3+A3x4|D3+F3x4|D3+A3x4|C3+G3x4|D3+A3x4",
)
MAJOR = (
    "C4 D4 E4 F4|G4 A4 G4 F4|E4 D4 C4 B3|C4 E4 G4x2|A4 G4 F4 E4|D4 F4 E4 D4|B3 D4 G4 B3|C4x4",
    "C3+E3x4|F3+A3x4|G3+D3x4|C3+E3x4|F3+A3x4|G3+D3x4|G2+D3x4|C3+G3x4",
)
HARMONIC_MINOR = (
    "A4 B4 C5 D5|E5 F5 E5 D5|C5 B4 A4 G#4|A4 C5 E5x2|F5 E5 D5 C5|B4 D5 C5 B4|G#4 B4 E5 G#4|A4x4",
    "A2+E3x4|D3+A3x4|E3+B3x4|A2+E3x4|D3+A3x4|E3+B3x4|E2+B2x4|A2+E3x4",
)


def found_in(score: Score) -> tuple[Finding[ScaleInUse], ...]:
    return scale_regions(score, global_key(score))


def sample() -> Score:
    return read_score(sample_library() / "barcarolle.musicxml").score


@pytest.mark.parametrize(
    ("tune", "name"),
    [(DORIAN, "D Dorian"), (MAJOR, "C major"), (HARMONIC_MINOR, "A harmonic minor")],
    ids=["dorian", "major", "harmonic minor"],
)
def test_one_scale_is_one_region(tune: tuple[str, str], name: str) -> None:
    (found,) = found_in(score_of(*tune))
    assert found.value.name == name
    assert found.confidence > 0.5


def test_a_neighbour_outside_the_scale_is_no_part_of_it() -> None:
    upper = MAJOR[0].replace("G4 A4 G4 F4", "G4 F#4x0.5 G4x0.5 G4 F4")
    (found,) = found_in(score_of(upper, MAJOR[1]))
    assert found.value.name == "C major"


def test_regions_cover_the_score_without_a_gap() -> None:
    score = sample()
    passages = [region.passage for region in found_in(score) if region.passage is not None]
    assert passages[0].start.moment == (0, 0)
    assert passages[-1].end.measure_index == len(score.measures)
    assert all(a.end.moment == b.start.moment for a, b in pairwise(passages))


def test_the_sample_piece_begins_in_dorian_with_its_second_bent() -> None:
    first, second, *_, last = found_in(sample())
    assert first.value == ScaleInUse(tonic=1, scale="dorian", bent=("b2",))
    assert (second.value.name, last.value.name) == ("Bb major", "G major")


def test_why_and_the_palette_of_the_sample_piece() -> None:
    score = sample()
    first = found_in(score)[0]
    assert reason_for(first, score) == (
        "E is natural in all 3 places, against the signature. F is never raised. "
        "Ab stands for A in m. 3, and gives way in m. 4."
    )
    assert runner_up_for(first, score).startswith("Runner-up: G ")
    assert degree_counts(first, score) == (
        ("1", 8), ("b2", 2), ("2", 2), ("b3", 5), ("4", 8), ("5", 9), ("6", 3), ("b7", 1),
    )  # fmt: skip


def test_the_runner_up_says_what_it_would_need() -> None:
    score = score_of(*DORIAN)
    found = found_in(score)[0]
    rival = ScaleInUse(tonic=2, scale="natural minor")
    said = Finding(
        kind="scale region",
        passage=found.passage,
        value=found.value,
        confidence=0.8,
        alternatives=((rival, 0.12),),
    )
    assert runner_up_for(said, score) == (
        "Runner-up: D natural minor, 0.12. It would need a Bb; there is none."
    )


def test_shares_add_up_to_one_at_most_and_come_in_order() -> None:
    for region in found_in(sample()):
        shares = [share for _, share in region.alternatives]
        assert shares == sorted(shares, reverse=True)
        assert region.confidence + sum(shares) <= 1 + 1e-9


def test_evidence_lies_inside_the_region() -> None:
    score = sample()
    for region in found_in(score):
        assert region.passage is not None
        measures = {int(score.notes.measure[score.notes.row_of(i)]) for i in region.evidence}
        inside = range(region.passage.start.measure_index, region.passage.end.measure_index)
        assert measures <= set(inside)


def test_one_note_and_silence_are_answered() -> None:
    (found,) = found_in(score_of("G4x4"))
    assert found.value.tonic == 1
    assert found.confidence < 0.85
    assert all(name in scale_table() for name in [found.value.scale])
    assert scale_degrees(found.value.scale)
