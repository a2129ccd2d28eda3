"""Whether two scores hold the same notes: a hand-worked case, what may differ, what may not."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.resources import sample_library
from core.score.reading import read_bytes, read_score
from core.score.same_notes import note_count, note_count_in, notes_digest
from core.score.score import Score
from tests.app import small_scores
from tests.core.score.formats.written_midi import key, metre, midi, track

HEAD = "<attributes><divisions>{}</divisions></attributes>"
NOTE = (
    "<note>{chord}<pitch><step>{step}</step>{alter}<octave>4</octave></pitch>"
    "<duration>{duration}</duration>{tie}{more}</note>"
)


def note(
    step: str, duration: int, *, alter: int = 0, tie: str = "", chord: str = "", more: str = ""
) -> str:
    return NOTE.format(
        step=step,
        duration=duration,
        alter=f"<alter>{alter}</alter>" if alter else "",
        tie="".join(f'<tie type="{each}"/>' for each in tie.split()),
        chord=chord,
        more=more,
    )


def score(*measures: str, divisions: int = 2) -> Score:
    first, *others = measures
    body = [HEAD.format(divisions) + first, *others]
    written = (f'<measure number="{n}">{music}</measure>' for n, music in enumerate(body, start=1))
    return read_bytes(small_scores.music(*written), name="a.musicxml").score


PLAIN = score(note("C", 8), note("D", 4) + note("E", 4))


def test_the_same_in_another_division_of_the_quarter() -> None:
    other = score(note("C", 48), note("D", 24) + note("E", 24), divisions=12)
    assert notes_digest(other.notes) == notes_digest(PLAIN.notes)


def test_a_long_note_and_its_tied_halves_are_the_same() -> None:
    tied = score(note("C", 4, tie="start") + note("C", 4, tie="stop"), note("D", 4) + note("E", 4))
    assert notes_digest(tied.notes) == notes_digest(PLAIN.notes)
    assert note_count(tied.notes) == note_count(PLAIN.notes) == 3


@pytest.mark.parametrize(
    "measures",
    [
        (note("C", 8) + note("D", 4) + note("E", 4),),
        (note("C", 8), note("D", 4) + note("F", 4, alter=-1)),
        (note("C", 8, more="<voice>2</voice>"), note("D", 4) + note("E", 4)),
    ],
    ids=["barred otherwise", "spelled otherwise", "in another voice"],
)
def test_what_does_not_sound_does_not_count(measures: tuple[str, ...]) -> None:
    assert notes_digest(score(*measures).notes) == notes_digest(PLAIN.notes)


@pytest.mark.parametrize(
    "measures",
    [
        (note("C", 8), note("D", 4) + note("F", 4)),
        (note("C", 8), note("E", 4) + note("D", 4)),
        (note("C", 8), note("D", 2) + note("E", 6)),
        (note("C", 8), note("D", 4) + note("E", 3)),
        (note("C", 8), note("D", 4) + note("E", 4) + note("G", 4, chord="<chord/>")),
        (note("C", 8), note("D", 4)),
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
