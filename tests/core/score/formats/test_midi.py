"""MIDI files into scores: what is inferred, what is told, and files that are broken."""

from __future__ import annotations

from fractions import Fraction

import mido
import pytest

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.formats import midi as reader
from core.score.note_table import TIE_START, UNPITCHED
from core.score.reading import read_bytes
from core.score.score import Score
from tests.core.score.formats.spelled_notes import names
from tests.core.score.formats.written_midi import key, metre, midi, track

SCALE = [(index, 1, pitch) for index, pitch in enumerate((57, 59, 60, 62, 64, 65, 68, 69))]
"""A harmonic minor, in quarters."""
HANDS = [
    (0, 4, 36), (0, 1, 72), (1, 1, 74), (2, 1, 76), (3, 1, 74),
    (4, 2, 43), (6, 2, 41), (4, 4, 72), (4, 4, 67),
]  # fmt: skip


def read(data: bytes) -> Score:
    return read_bytes(data, name="invented.mid").score


def times(score: Score) -> list[tuple[Fraction, Fraction]]:
    notes = score.notes
    return [
        (notes.quarters(int(notes.onset[row])), notes.quarters(int(notes.duration[row])))
        for row in range(len(notes))
    ]


def test_every_file_tells_that_spelling_and_voices_are_guessed() -> None:
    guesses = read(midi(track(SCALE, before=[metre(4, 4), key("Am")]))).guesses
    assert guesses == (reader.SPELLING_GUESSED, reader.VOICES_GUESSED)


def test_the_leading_note_is_spelled_by_its_key() -> None:
    score = read(midi(track(SCALE, before=[metre(4, 4), key("Am")])))
    assert names(score, staff=1) == ["A3", "B3", "C4", "D4", "E4", "F4", "G#4", "A4"]
    assert [measure.fifths for measure in score.measures] == [0, 0]


@pytest.mark.parametrize(("name", "third"), [("Ebm", "Gb4"), ("D#m", "F#4")])
def test_the_signature_decides_between_enharmonic_keys(name: str, third: str) -> None:
    notes = [(i, 1, pitch) for i, pitch in enumerate((63, 65, 66, 68, 70, 71, 74, 75))]
    assert names(read(midi(track(notes, before=[metre(4, 4), key(name)]))))[2] == third


def test_without_metre_and_key_both_are_guessed() -> None:
    score = read(midi(track([(i, 1, p) for i, p in enumerate((58, 60, 62, 63, 65, 67, 69, 70))])))
    assert {reader.METRE_GUESSED, reader.KEY_GUESSED} <= set(score.guesses)
    assert (score.measures[0].signature, score.measures[0].fifths) == ("4/4", -2)


def test_one_track_of_a_keyboard_is_split_between_the_hands() -> None:
    score = read(midi(track(HANDS, before=[metre(4, 4), key("C")])))
    assert [part.staves for part in score.parts] == [2]
    assert names(score, staff=2) == ["C2", "G2", "F2"]
    assert names(score, staff=1) == ["C5", "D5", "E5", "D5", "G4", "C5"]
    assert reader.SPLIT_GUESSED in score.guesses


def test_two_keyboard_tracks_are_two_staves_the_higher_above() -> None:
    low, high = track([(0, 4, 48)]), track([(0, 4, 72)], before=[metre(4, 4)], channel=1)
    score = read(midi(low, high))
    assert [part.staves for part in score.parts] == [2]
    assert (names(score, staff=1), names(score, staff=2)) == (["C5"], ["C3"])
    assert reader.JOINED_GUESSED in score.guesses


def test_other_instruments_stay_parts_and_keep_their_names() -> None:
    flute = [
        mido.MetaMessage("track_name", name="Flute"),
        mido.Message("program_change", program=73),
    ]
    cello = [mido.MetaMessage("track_name", name="Cello"),
             mido.Message("program_change", program=42, channel=1)]  # fmt: skip
    score = read(midi(track([(0, 4, 72)], before=flute),
                      track([(0, 4, 40)], before=cello, channel=1)))  # fmt: skip
    assert [(part.name, part.staves) for part in score.parts] == [("Flute", 1), ("Cello", 1)]


def test_rhythm_that_fits_is_exact() -> None:
    third = Fraction(1, 3)
    notes = [(0, 0.5, 60), (0.5, 0.5, 62), (1, 1 / 3, 64), (1 + 1 / 3, 1 / 3, 65),
             (1 + 2 / 3, 1 / 3, 67), (2, 1.5, 69), (3.5, 0.25, 67), (3.75, 0.25, 65)]  # fmt: skip
    score = read(midi(track(notes, before=[metre(4, 4)])))
    half, quarter = Fraction(1, 2), Fraction(1, 4)
    assert times(score) == [
        (0, half), (half, half), (1, third), (1 + third, third), (1 + 2 * third, third),
        (2, 3 * half), (3 + half, quarter), (3 + 3 * quarter, quarter),
    ]  # fmt: skip
    assert reader.RHYTHM_GUESSED not in score.guesses


def test_what_was_played_is_brought_to_the_beats_and_said_to_be_a_guess() -> None:
    played = [(0.03, 0.8, 60), (0.96, 0.9, 62), (2.05, 0.4, 64), (2.47, 0.5, 65), (3.04, 0.9, 67)]
    score = read(midi(track(played, before=[metre(4, 4)])))
    assert [onset for onset, _ in times(score)] == [0, 1, 2, Fraction(5, 2), 3]
    assert reader.RHYTHM_GUESSED in score.guesses


def test_a_note_over_the_barline_is_tied() -> None:
    score = read(midi(track([(0, 3, 60), (3, 2, 62), (5, 3, 64)], before=[metre(4, 4)])))
    assert times(score) == [(0, 3), (3, 1), (4, 1), (5, 3)]
    assert int(score.notes.tie[1]) == TIE_START


def test_overlapping_notes_are_voices_and_equal_ones_chords() -> None:
    notes = [(0, 4, 60), (0, 1, 72), (0, 1, 76), (1, 3, 74)]
    score = read(midi(track(notes, before=[metre(4, 4)])))
    assert dict(zip(score.notes.midi_pitch.tolist(), score.notes.voice, strict=True)) == {
        60: "2", 72: "1", 76: "1", 74: "1",
    }  # fmt: skip


def test_metre_changes_at_measures() -> None:
    beats = track([(i, 1, 60) for i in range(7)], before=[metre(4, 4)], later=[(4, metre(3, 4))])
    assert [m.signature for m in read(midi(beats)).measures] == ["4/4", "3/4"]


def test_percussion_has_no_pitch() -> None:
    score = read(midi(track([(0, 4, 72)]), track([(0, 1, 38)], channel=9)))
    assert sorted(score.notes.midi_pitch.tolist()) == [UNPITCHED, 72]


def test_a_note_never_let_go_lasts_to_the_next() -> None:
    hanging = track([(0, 1, 60), (1, 3, 62)])
    (let_go,) = [m for m in hanging if m.type == "note_off" and m.note == 60]
    hanging[hanging.index(let_go)] = mido.Message("control_change", time=let_go.time)
    assert sorted(times(read(midi(hanging)))) == [(0, 1), (1, 3)]


def whole() -> bytes:
    return midi(track(SCALE, before=[metre(4, 4)]))


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (whole()[:60], r"track 1 of 1: The file breaks off before its end"),
        (whole()[:10], r"The file breaks off before its end"),
        (b"MThd", r"The file breaks off before its end"),
        (midi(track(SCALE), track(SCALE))[:90], r"track \d of 2: The file breaks off"),
        (whole()[:8] + b"\x00\x07" + whole()[10:], r"format 7, which there is none of"),
        (midi(track([(200_000, 1, 60)])), r"track 1: A note 200000 quarters after the start"),
    ],
)
def test_broken_files_come_back_with_one_sentence(data: bytes, match: str) -> None:
    with pytest.raises(UnreadableFileError, match=match):
        read(data)


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (midi(track(SCALE), kind=2), r"It is MIDI of format 2, a bundle of patterns"),
        (whole()[:12] + b"\xe7\x28" + whole()[14:], r"counted in film frames"),
        (midi(track([])), r"There is not one note in it"),
    ],
)
def test_what_is_no_score_says_so(data: bytes, match: str) -> None:
    with pytest.raises(UnsupportedScoreError, match=match):
        read(data)


def test_more_measures_than_can_be_meant_are_refused() -> None:
    far = track([(0, 1, 60), (90_000, 1, 62)], before=[metre(1, 4)])
    with pytest.raises(UnsupportedScoreError, match=r"more than 20000 measures. Split it"):
        read(midi(far))
