"""Standard MIDI Files, read back by mido, which wrote none of it."""

from __future__ import annotations

import io

import mido

from core.exchange.midi_file import midi_file
from core.score.places import Passage
from core.takes.playing import Manner, perform
from tests.core.score.written_scores import attributes, note
from tests.core.takes.small_passages import metronome, read, two_hands


def read_back(data: bytes) -> mido.MidiFile:
    return mido.MidiFile(file=io.BytesIO(data))


def notes_of(track: mido.MidiTrack) -> list[tuple[int, int, int]]:
    """Onset, length, pitch, in ticks."""
    found, down, now = [], {}, 0
    for message in track:
        now += message.time
        if message.type == "note_on" and message.velocity:
            down[message.note] = now
        elif message.type in ("note_off", "note_on"):
            onset = down.pop(message.note)
            found.append((onset, now - onset, message.note))
    assert not down
    return sorted(found)


def test_a_track_a_hand_with_every_written_onset_exact() -> None:
    file = read_back(midi_file(perform(two_hands(), Passage.of_measures(1, 1))))
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (1, 480, 3)
    _, right, left = file.tracks
    assert right.name == "Part 1, right hand"
    assert notes_of(right) == [(0, 480, 72), (480, 480, 74), (960, 480, 76), (1440, 480, 77)]
    assert notes_of(left) == [(0, 1920, 48)]
    assert file.length == 4


def test_tempo_changes_and_speed_are_written_as_tempos() -> None:
    head = attributes() + metronome("quarter", 60)
    score = read([head + note("C4", 4), metronome("quarter", 120) + note("D4", 4)])
    file = read_back(midi_file(perform(score, Passage.of_measures(0, 1), Manner(speed=0.5))))
    tempos = [(m.time, m.tempo) for m in file.tracks[0] if m.type == "set_tempo"]
    assert tempos == [(0, 2_000_000), (4 * 480, 1_000_000)]
    assert file.length == 12


def test_signatures_stand_where_they_change_repeats_included() -> None:
    score = read(
        [attributes(time="6/8", divisions=2) + note("C4", 6), attributes(2, "2/4") + note("D4", 4)]
    )
    file = read_back(midi_file(perform(score, Passage.of_measures(0, 1), order=[0, 1, 0])))
    found = [m for m in file.tracks[0] if m.type == "time_signature"]
    assert [(m.numerator, m.denominator) for m in found] == [(6, 8), (2, 4), (6, 8)]
    assert found[0].clocks_per_click == 36


def test_a_division_that_480_does_not_hold() -> None:
    score = read([attributes(divisions=7) + "".join(note("C4", 4) for _ in range(7))])
    file = read_back(midi_file(perform(score, Passage.of_measures(0, 0))))
    assert file.ticks_per_beat % 7 == 0
    onsets = [onset for onset, _, _ in notes_of(file.tracks[1])]
    assert onsets == [file.ticks_per_beat * 4 * k // 7 for k in range(7)]


def test_grace_notes_before_the_first_beat_push_everything_back() -> None:
    grace = note("E4", None).replace("<note>", "<note><grace/>")
    score = read([attributes() + metronome("quarter", 60) + grace + note("C5", 4)])
    file = read_back(midi_file(perform(score, Passage.of_measures(0, 0))))
    (early, _, first), (beat, length, second) = notes_of(file.tracks[1])
    assert (early, first, second) == (0, 64, 72)
    assert (beat, length) == (round(0.08 * 480), 4 * 480)
