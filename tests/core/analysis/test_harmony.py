"""Chords, figures, cadences and rival tonics of small passages."""

from __future__ import annotations

import pytest

from core.analysis.cadences import cadences
from core.analysis.harmony import figure_of, harmony
from core.analysis.key_regions import key_regions
from core.analysis.keys import Key
from core.analysis.reasons import reason_for
from core.analysis.rivals import tonic_rivals
from core.analysis.tonality import global_key
from core.score.score import Score
from tests.core.analysis.tunes import score_of

C_MAJOR, A_MINOR = Key(tonic=0, mode="major"), Key(tonic=3, mode="minor")


@pytest.mark.parametrize(
    ("root", "bass", "quality", "key", "figure"),
    [
        # Common practice.
        (0, 0, "major", C_MAJOR, "I"),
        (2, 5, "minor", C_MAJOR, "ii6"),
        (7, 2, "dominant seventh", C_MAJOR, "V43"),
        (9, 9, "dominant seventh", C_MAJOR, "V7/ii"),
        (11, 11, "diminished", C_MAJOR, "viio"),
        (11, 2, "half-diminished seventh", C_MAJOR, "viiø65"),
        (1, 5, "major", C_MAJOR, "bII6"),
        (9, 4, "minor", A_MINOR, "i64"),
        (8, 8, "diminished seventh", A_MINOR, "viio7"),
        (4, 8, "dominant seventh", A_MINOR, "V65"),
        (7, 7, "major", A_MINOR, "VII"),
        (0, 1, "major", C_MAJOR, ""),
        (6, 6, "diminished seventh", C_MAJOR, "viio7/V"),
        (6, 9, "half-diminished seventh", C_MAJOR, "#ivø65"),
        (6, 6, "half-diminished seventh", A_MINOR, "#viø7"),
        (10, 2, "major", A_MINOR, "bII6"),
    ],
)
def test_figures(root: int, bass: int, quality: str, key: Key, figure: str) -> None:
    assert figure_of(root, bass, quality, key) == figure


@pytest.mark.parametrize(
    ("root", "spelled", "key", "figure"),
    [
        # On the line of fifths: C flat -7, B 5; E flat -3, D sharp 9; G sharp 8.
        (11, -7, Key(tonic=1, mode="minor"), "bIV"),
        (11, 5, Key(tonic=1, mode="minor"), "#III"),
        (3, -3, C_MAJOR, "bIII"),
        (3, 9, C_MAJOR, "#II"),
        (8, 8, A_MINOR, "VII"),
    ],
)
def test_a_root_outside_the_key_is_told_as_it_is_spelled(
    root: int, spelled: int, key: Key, figure: str
) -> None:
    assert figure_of(root, root, "major", key, spelled=spelled) == figure


def test_two_tones_are_no_augmented_chord() -> None:
    score = score_of("Ab4x4|G4x4|F4x4|E4x4", "C4x4|C4x4|B3x4|C4x4", fifths=-3)
    found = harmony(score, key_regions(score, global_key(score)))
    assert found[0].value.name == "Ab major over C"
    first_measure = [score.notes.ids[row] for row in (score.notes.measure == 0).nonzero()[0]]
    assert set(found[0].evidence) == set(first_measure)


def test_a_chord_with_a_foreign_note_says_so() -> None:
    score = score_of("C4+E4+G4x3 C4+F4+G4|C4+E4+G4x4", "C3x4|C3x4", fifths=0)
    (found, *_) = harmony(score, key_regions(score, global_key(score)))
    # Of 32 quarters that sound in both measures, F has one.
    assert reason_for(found, score) == "97 % of what sounds belongs to it; the rest is F."
    assert all(0 <= share <= 1 - found.confidence for _, share in found.alternatives)


def chords_and_cadences(score: Score) -> tuple[list[str], list[tuple[str, str]]]:
    found = harmony(score, key_regions(score, global_key(score)))
    ends = cadences(score, found)
    return [c.value.figure for c in found], [(e.value.kind, e.value.key.name) for e in ends]


def test_a_full_close() -> None:
    score = score_of(
        "C4+E4+G4x4|C4+F4+A4x4|B3+D4+G4x2 B3+F4+G4x2|C4+E4+G4x4", "C3x4|F3x4|G3x4|C3x4", fifths=0
    )
    figures, ends = chords_and_cadences(score)
    assert figures == ["I", "IV", "V", "V7", "I"]
    # The last one, by the subdominant's way to the dominant, is no rest: only one is told.
    assert ends[-1] == ("authentic", "C major")


def test_a_passage_without_chords_says_nothing() -> None:
    score = score_of("C4+C#4+D4+Eb4+E4x4|F4+F#4+G4+Ab4+A4x4")
    assert chords_and_cadences(score) == ([], [])


MINOR_PAIR = (
    "D4+F4+A4x4|D4+F4+A4x4|A3+C4+E4x4|A3+C4+E4x4|" * 3
    + "D4+F4+A4x4|D4+F4+A4x4|A3+C4+E4x4|A3+C4+E4x4"
)
BASSES = "D3x4|D3x4|A2x4|A2x4|" * 3 + "D3x4|D3x4|A2x4|A2x4"


def test_two_minor_chords_in_balance_are_rivals() -> None:
    score = score_of(MINOR_PAIR, BASSES)
    (found,) = tonic_rivals(score)
    assert found.value.tonics == (2, 3)
    assert found.value.balance == pytest.approx(0.5)
    assert reason_for(found, score).startswith("D and A change places")


def test_a_leading_note_decides() -> None:
    upper = MINOR_PAIR.replace("A3+C4+E4x4|A3+C4+E4x4", "A3+C4+E4x4|A3+C#4+E4x4")
    assert tonic_rivals(score_of(upper, BASSES)) == ()


def test_a_pedal_decides() -> None:
    assert tonic_rivals(score_of(MINOR_PAIR, "|".join(["D3x4"] * 16))) == ()


def test_three_to_one_is_no_balance() -> None:
    upper = "D4+F4+A4x4|D4+F4+A4x4|D4+F4+A4x4|A3+C4+E4x4|" * 4 + "D4+F4+A4x4"
    lower = "D3x4|D3x4|D3x4|A2x4|" * 4 + "D3x4"
    assert tonic_rivals(score_of(upper, lower)) == ()
