"""Chords of single beats."""

from __future__ import annotations

import numpy as np
import pytest

from core.analysis.chords import NO_CHORD, QUALITIES, QUALITY_INDEX, Chords, chords_in


def chord(*pitch_classes: int, bass: int = -1) -> tuple[str | None, int]:
    sounding = np.zeros((1, 12))
    sounding[0, list(pitch_classes)] = 1.0
    found = chords_in(sounding, np.array([bass]))
    quality = int(found.quality[0])
    return (None if quality == NO_CHORD else QUALITIES[quality][0]), int(found.root[0])


@pytest.mark.parametrize("root", range(12))
@pytest.mark.parametrize(("name", "steps"), QUALITIES)
def test_every_chord_of_the_table_is_itself_on_every_root(
    root: int, name: str, steps: tuple[int, ...]
) -> None:
    found = chord(*((root + step) % 12 for step in steps), bass=root)
    assert found == (name, root)


def test_the_bass_chooses_among_the_roots_of_a_diminished_seventh() -> None:
    assert chord(2, 5, 8, 11, bass=11) == ("diminished seventh", 11)
    assert chord(2, 5, 8, 11, bass=8) == ("diminished seventh", 8)


def test_a_cluster_and_silence_are_no_chord() -> None:
    assert chord(0, 1, 2, 3, 4, 5)[0] is None
    assert chord() == (None, -1)


def test_the_pace_counts_changes_of_root_and_skips_what_is_no_chord() -> None:
    major = QUALITY_INDEX["major"]
    chords = Chords(
        quality=np.array([major, major, NO_CHORD, major]),
        root=np.array([0, 7, -1, 0]),
        bass=np.array([0, 7, 1, 0]),
        covered=np.ones(4),
    )
    assert chords.pace(np.ones(4)) == pytest.approx(2 / 3)
    assert chords.changes.tolist() == [0, 1, 2, 3]
