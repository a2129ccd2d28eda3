"""Key regions: cases worked by hand, what holds of any, and the sample piece."""

from __future__ import annotations

from itertools import pairwise

import pytest

from core.analysis.key_regions import key_regions
from core.analysis.tonality import global_key
from core.resources import sample_library
from core.score.reading import read_bytes, read_score
from core.score.score import Score

STEPS = "CDEFGAB"
TRIADS = {
    "C major": ["C3 E4 G4 C5", "F3 A4 C5 F5", "G3 G4 B4 D5", "C3 E4 G4 C5"],
    "A major": ["A2 E4 A4 C#5", "D3 F#4 A4 D5", "E3 E4 G#4 B4", "A2 E4 A4 C#5"],
    "Eb major": ["Eb3 G4 Bb4 Eb5", "Ab3 Eb4 Ab4 C5", "Bb2 F4 Bb4 D5", "Eb3 G4 Bb4 Eb5"],
    "E minor": ["E3 E4 G4 B4", "A2 E4 A4 C5", "B2 D#4 F#4 B4", "E3 E4 G4 B4"],
}
"""Tonic, subdominant, dominant, tonic: one chord a half note, two measures of 4/4."""


def note(name: str, *, is_chord: bool) -> str:
    alter = name.count("#") - name[1:].count("b")
    chord = "<chord/>" if is_chord else ""
    return (
        f"<note>{chord}<pitch><step>{name[0]}</step><alter>{alter}</alter>"
        f"<octave>{name[-1]}</octave></pitch><duration>2</duration></note>"
    )


def progression(*keys: str, times: int = 4) -> Score:
    chords = [chord for key in keys for chord in TRIADS[key] * times]
    measures = []
    for number in range(0, len(chords), 2):
        notes = "".join(
            note(name, is_chord=place > 0)
            for chord in chords[number : number + 2]
            for place, name in enumerate(chord.split())
        )
        first = (
            "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type>"
            "</time></attributes>"
            if number == 0
            else ""
        )
        measures.append(f'<measure number="{number // 2 + 1}">{first}{notes}</measure>')
    document = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        f'</part-list><part id="P1">{"".join(measures)}</part></score-partwise>'
    )
    return read_bytes(document.encode(), name="made.musicxml").score


@pytest.mark.parametrize("key", list(TRIADS))
def test_a_cadence_again_and_again_is_one_region(key: str) -> None:
    (found,) = key_regions(progression(key))
    assert found.value.name == key
    assert found.confidence > 0.8
    assert found.evidence


@pytest.mark.parametrize(("first", "second"), [("C major", "A major"), ("Eb major", "E minor")])
def test_a_change_of_key_is_found_within_a_measure(first: str, second: str) -> None:
    score = progression(first, second)
    found = key_regions(score)
    # On the way a key between the two may be named for a measure; the old one ends in time.
    assert (found[0].value.name, found[-1].value.name) == (first, second)
    assert found[0].passage is not None
    assert found[-1].passage is not None
    assert abs(found[0].passage.end.measure_index - 8) <= 1
    assert abs(found[-1].passage.start.measure_index - 8) <= 2


def test_regions_cover_the_score_without_a_gap() -> None:
    score = read_score(sample_library() / "barcarolle.musicxml").score
    found = key_regions(score, global_key(score))
    passages = [region.passage for region in found if region.passage is not None]
    assert passages[0].start.moment == (0, 0)
    assert passages[-1].end.measure_index == len(score.measures)
    assert all(a.end.moment == b.start.moment for a, b in pairwise(passages))


def test_confidences_are_shares_and_alternatives_come_in_order() -> None:
    for region in key_regions(progression("C major", "A major")):
        shares = [share for _, share in region.alternatives]
        assert shares == sorted(shares, reverse=True)
        assert region.confidence + sum(shares) <= 1.0 + 1e-9


def test_a_distant_note_for_a_moment_changes_nothing() -> None:
    score = progression("C major", times=8)
    foreign = score.canonical.replace(
        b"<step>G</step><alter>0</alter>", b"<step>G</step><alter>1</alter>", 1
    )
    found = key_regions(read_bytes(foreign, name="bent.musicxml").score)
    assert [region.value.name for region in found] == ["C major"]


def test_the_sample_piece_ends_in_major() -> None:
    score = read_score(sample_library() / "barcarolle.musicxml").score
    found = key_regions(score, global_key(score))
    assert found[0].value.name == "G minor"
    assert found[-1].value.name == "G major"
    assert found[-1].passage is not None
    assert abs(found[-1].passage.start.measure_index - 19) <= 1
