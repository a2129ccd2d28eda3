"""Whether two scores hold the same notes: a hand-worked case, what may differ, what may not."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.resources import sample_library
from core.score.reading import read_bytes, read_score
from core.score.same_notes import note_count, note_count_in, notes_digest
from core.score.score import Score
from tests.core.score import written_scores as written
from tests.core.score.formats.written_midi import key, metre, midi, track
from tests.core.score.written_scores import chord, note


def score(*measures: str, divisions: int = 2) -> Score:
    first, *others = measures
    music = [written.attributes(divisions) + first, *others]
    return read_bytes(written.score(music), name="a.musicxml").score


def tied(way: str) -> str:
    return f'<tie type="{way}"/>'


C, D, E = note("C4", 8), note("D4", 4), note("E4", 4)
PLAIN = score(C, D + E)


def test_the_same_in_another_division_of_the_quarter() -> None:
    other = score(note("C4", 48), note("D4", 24) + note("E4", 24), divisions=12)
    assert notes_digest(other.notes) == notes_digest(PLAIN.notes)


def test_a_long_note_and_its_tied_halves_are_the_same() -> None:
    halves = note("C4", 4, tied("start")) + note("C4", 4, tied("stop"))
    other = score(halves, D + E)
    assert notes_digest(other.notes) == notes_digest(PLAIN.notes)
    assert note_count(other.notes) == note_count(PLAIN.notes) == 3


@pytest.mark.parametrize(
    "measures",
    [
        (C + D + E,),
        (C, D + note("Fb4", 4)),
        (note("C4", 8, "<voice>2</voice>"), D + E),
    ],
    ids=["barred otherwise", "spelled otherwise", "in another voice"],
)
def test_what_does_not_sound_does_not_count(measures: tuple[str, ...]) -> None:
    assert notes_digest(score(*measures).notes) == notes_digest(PLAIN.notes)


@pytest.mark.parametrize(
    "measures",
    [
        (C, D + note("F4", 4)),
        (C, E + D),
        (C, note("D4", 2) + note("E4", 6)),
        (C, D + note("E4", 3)),
        (C, D + E + chord("G4", 4)),
        (C, D),
    ],
    ids=["pitch", "order", "onset", "duration", "one more", "one less"],
)
def test_what_sounds_counts(measures: tuple[str, ...]) -> None:
    assert notes_digest(score(*measures).notes) != notes_digest(PLAIN.notes)


def test_an_export_to_midi_holds_the_same_notes() -> None:
    data = midi(track([(0, 4, 60), (4, 2, 62), (6, 2, 64)], before=[metre(4, 4), key("C")]))
    played = read_bytes(data, name="a.mid").score
    assert notes_digest(played.notes) == notes_digest(PLAIN.notes)


@pytest.mark.parametrize("path", sorted(sample_library().glob("*.musicxml")), ids=lambda p: p.stem)
def test_notes_are_counted_in_the_canonical_form(path: Path) -> None:
    read = read_score(path).score
    assert note_count_in(read.canonical) == note_count(read.notes) > 0


def test_every_sample_holds_notes_of_its_own() -> None:
    paths = sorted(sample_library().glob("*.musicxml"))
    assert len({notes_digest(read_score(path).score.notes) for path in paths}) == len(paths)
