"""Hearing a passage, with an output that listens."""

from __future__ import annotations

import time
import wave
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import partial
from pathlib import Path

import mido
import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from app.sound import player
from app.sound.listening import Listening
from app.sound.outputs import NO_DEVICE, SoundError
from app.sound.talk import News
from core.errors import StorageError
from core.score.places import Passage, Place
from core.score.score import Score
from core.takes.playing import perform
from core.takes.synthesis import SAMPLE_RATE, Synthesis
from tests.app.sound.listeners import DirectPlayer, ListeningOutput, doors
from tests.core.score.written_scores import attributes, note, rest
from tests.core.takes.small_passages import read, two_hands

FIRST_SOUND_SECONDS = 0.150
"""From the key to the sound; the first block is handed over by then."""


class Room:
    """A ``Listening`` and all that was heard of it."""

    def __init__(self, haste: float) -> None:
        self.haste = haste
        self.outputs: list[ListeningOutput] = []
        self.listening = Listening(open_link=partial(DirectPlayer, doors(self._open)))
        self.moments: list[Place] = []
        self.failures: list[Exception] = []
        self.listening.moment_reached.connect(self.moments.append)
        self.listening.failed.connect(self.failures.append)

    def _open(self) -> ListeningOutput:
        self.outputs.append(ListeningOutput(haste=self.haste))
        return self.outputs[-1]


@pytest.fixture
def score() -> Score:
    return two_hands()


@pytest.fixture
def room(qtbot: QtBot) -> Iterator[Room]:
    """Time goes three times as fast in it."""
    room = Room(haste=3.0)
    yield room
    room.listening.shut_down()


def no_device() -> ListeningOutput:
    raise SoundError(NO_DEVICE)


def play_to_the_end(qtbot: QtBot, room: Room, score: Score, passage: Passage) -> None:
    room.listening.play(score, passage)
    assert room.listening.is_playing
    with qtbot.waitSignal(room.listening.playing_changed, timeout=10_000) as ended:
        pass
    assert ended.args == [False]


def test_what_is_heard_is_the_passage(qtbot: QtBot, room: Room, score: Score) -> None:
    play_to_the_end(qtbot, room, score, Passage.of_measures(1, 1))
    synthesis = Synthesis(perform(score, Passage.of_measures(1, 1)))
    heard = room.outputs[0].samples
    assert len(heard) == synthesis.frames
    assert np.allclose(heard / 32767, synthesis.block(0, synthesis.frames), atol=1e-4)
    assert room.outputs[0].is_closed
    assert not room.failures


def test_the_score_is_told_every_onset_in_order(qtbot: QtBot, room: Room, score: Score) -> None:
    play_to_the_end(qtbot, room, score, Passage.of_measures(0, 0))
    assert room.moments == [
        Place(measure_index=0, offset_quarters=Fraction(quarter)) for quarter in range(4)
    ]


def test_the_first_sound_comes_in_time(qtbot: QtBot, score: Score) -> None:
    room = Room(haste=1.0)
    began = time.monotonic()
    with qtbot.waitSignal(room.listening.first_sound, timeout=2000):
        room.listening.play(score, Passage.of_measures(0, 1))
    first_at = room.outputs[0].first_at
    room.listening.shut_down()
    assert first_at is not None
    print(f"first samples after {(first_at - began) * 1000:.1f} ms")
    assert first_at - began < FIRST_SOUND_SECONDS


def test_stop_is_silence_at_once(qtbot: QtBot, room: Room, score: Score) -> None:
    with qtbot.waitSignal(room.listening.first_sound):
        room.listening.play(score, Passage.of_measures(0, 1))
    room.listening.toggle()
    assert room.outputs[0].is_closed
    assert not room.listening.is_playing


def test_toggle_plays_what_was_chosen(qtbot: QtBot, room: Room, score: Score) -> None:
    room.listening.toggle()
    assert not room.listening.is_playing
    room.listening.choose(score, Passage.of_measures(0, 0))
    with qtbot.waitSignal(room.listening.first_sound):
        room.listening.toggle()
    assert room.listening.is_playing


def test_a_loop_comes_round(qtbot: QtBot, room: Room, score: Score) -> None:
    room.listening.loops = True
    room.listening.play(score, Passage.of_measures(1, 1))
    first = Place(measure_index=1)
    qtbot.waitUntil(lambda: room.moments.count(first) >= 3, timeout=10_000)
    assert len(room.outputs) == 1


def test_a_new_speed_goes_on_from_where_it_is(qtbot: QtBot, room: Room, score: Score) -> None:
    room.listening.play(score, Passage.of_measures(0, 1))
    second = Place(measure_index=0, offset_quarters=Fraction(1))
    qtbot.waitUntil(lambda: second in room.moments, timeout=5000)
    room.listening.speed = 0.5
    assert room.outputs[0].is_closed
    with qtbot.waitSignal(room.listening.playing_changed, timeout=20_000):
        pass
    seconds = len(room.outputs[1].samples) / SAMPLE_RATE
    assert 10 < seconds < 15
    assert room.moments.count(Place(measure_index=0)) == 1


def test_one_hand_is_heard(qtbot: QtBot, room: Room, score: Score) -> None:
    room.listening.hand = "left"
    play_to_the_end(qtbot, room, score, Passage.of_measures(0, 0))
    assert room.moments == [Place(measure_index=0)]


def test_it_says_what_it_will_play(room: Room, score: Score) -> None:
    listening = room.listening
    assert listening.what_will_play() == ""
    listening.choose(score, Passage.of_measures(0, 1))
    assert listening.what_will_play() == "m. 1 to 2, 100 %, both hands"
    listening.loops, listening.speed, listening.hand = True, 0.8, "right"
    assert listening.what_will_play() == "m. 1 to 2 looped, 80 %, right hand"
    listening.choose(score, Passage.at(Place(measure_index=1)))
    assert listening.what_will_play() == "from m. 2, beat 1 looped, 80 %, right hand"


def test_without_an_output_it_says_so_and_stays_silent(qtbot: QtBot, score: Score) -> None:
    listening = Listening(open_link=partial(DirectPlayer, doors(no_device)))
    with qtbot.waitSignal(listening.failed) as failed:
        listening.play(score, Passage.of_measures(0, 0))
    assert str(failed.args[0]) == (
        "There is no audio output on this machine. The passage can be saved as WAV or MIDI instead."
    )
    assert not listening.is_playing


def test_an_output_that_breaks_ends_the_playing(qtbot: QtBot, room: Room, score: Score) -> None:
    with qtbot.waitSignal(room.listening.first_sound):
        room.listening.play(score, Passage.of_measures(0, 1))
    with qtbot.waitSignal(room.listening.failed) as failed:
        room.outputs[0].broken = "The audio output stopped."
    assert str(failed.args[0]) == "The audio output stopped."
    assert not room.listening.is_playing


def test_an_output_that_sounds_nothing_more_ends_the_playing(
    qtbot: QtBot, room: Room, score: Score, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(player, "STUCK_SECONDS", 0.2)
    with qtbot.waitSignal(room.listening.first_sound):
        room.listening.play(score, Passage.of_measures(0, 1))
    with qtbot.waitSignal(room.listening.failed, timeout=5000) as failed:
        room.outputs[0].haste = 0.0
    assert str(failed.args[0]).startswith("The audio output stopped. Is it still connected?")
    assert not room.listening.is_playing


def test_an_output_that_keeps_the_last_samples_back_is_no_trouble(
    qtbot: QtBot, room: Room, score: Score, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(player, "STUCK_SECONDS", 0.2)
    monkeypatch.setattr(
        ListeningOutput, "frames_sounded", lambda self: min(self._due(), self._written - 100)
    )
    play_to_the_end(qtbot, room, score, Passage.of_measures(0, 0))
    assert not room.failures


def test_after_trouble_with_the_output_another_player_is_begun(qtbot: QtBot, score: Score) -> None:
    links: list[DirectPlayer] = []

    def open_link(tell: Callable[[News], None]) -> DirectPlayer:
        links.append(DirectPlayer(doors(no_device), tell))
        return links[-1]

    listening = Listening(open_link=open_link)
    for count in (1, 2):
        with qtbot.waitSignal(listening.failed):
            listening.play(score, Passage.of_measures(0, 0))
        assert len(links) == count


def test_a_change_is_of_what_sounds_whatever_is_chosen_by_then(
    qtbot: QtBot, room: Room, score: Score
) -> None:
    room.listening.play(score, Passage.of_measures(0, 0))
    qtbot.waitUntil(lambda: bool(room.moments), timeout=5000)
    room.listening.choose(score, Passage.of_measures(1, 1))
    room.listening.speed = 1.5
    with qtbot.waitSignal(room.listening.playing_changed, timeout=10_000):
        pass
    assert {place.measure_index for place in room.moments} == {0}


def test_a_passage_without_notes_is_one_sentence(qtbot: QtBot, room: Room) -> None:
    score = read([attributes() + rest(4), note("C4", 4)])
    with qtbot.waitSignal(room.listening.failed) as failed:
        room.listening.play(score, Passage.of_measures(0, 0))
    assert str(failed.args[0]) == (
        "There is no note to play in m. 1. Choose another passage, or both hands."
    )
    assert not room.listening.is_playing


def test_files_are_written_off_the_windows_thread(
    qtbot: QtBot, room: Room, score: Score, tmp_path: Path
) -> None:
    room.listening.choose(score, Passage.of_measures(0, 1))
    with qtbot.waitSignal(room.listening.exported, timeout=10_000) as exported:
        room.listening.export_wav(tmp_path / "passage.wav")
    assert exported.args == [tmp_path / "passage.wav"]
    with wave.open(str(tmp_path / "passage.wav")) as sound:
        assert sound.getnframes() / sound.getframerate() >= 8
    with qtbot.waitSignal(room.listening.exported, timeout=10_000):
        room.listening.export_midi(tmp_path / "passage.mid")
    assert mido.MidiFile(tmp_path / "passage.mid").length == pytest.approx(8)


def test_a_file_that_cannot_be_written_is_one_sentence(
    qtbot: QtBot, room: Room, score: Score, tmp_path: Path
) -> None:
    room.listening.choose(score, Passage.of_measures(0, 0))
    with qtbot.waitSignal(room.listening.failed, timeout=10_000) as failed:
        room.listening.export_midi(tmp_path / "gone" / "passage.mid")
    assert isinstance(failed.args[0], StorageError)


def test_closing_gives_up_an_unfinished_file(room: Room, tmp_path: Path, score: Score) -> None:
    room.listening.choose(score, Passage.of_measures(0, 1), order=[0, 1] * 200)
    room.listening.export_wav(tmp_path / "long.wav")
    room.listening.shut_down()
    assert list(tmp_path.iterdir()) == []


def test_the_window_is_not_held_up_while_it_plays(qtbot: QtBot, score: Score) -> None:
    room = Room(haste=1.0)
    room.listening.play(score, Passage.of_measures(0, 1))
    longest, last = 0.0, time.monotonic()

    def look() -> bool:
        nonlocal longest, last
        now = time.monotonic()
        longest, last = max(longest, now - last), now
        return len(room.moments) >= 3

    from PySide6.QtCore import QTimer

    timer = QTimer(interval=1)
    timer.timeout.connect(look)
    timer.start()
    qtbot.waitUntil(lambda: len(room.moments) >= 3, timeout=10_000)
    timer.stop()
    underruns = room.outputs[0].underruns
    room.listening.shut_down()
    print(f"longest stall {longest * 1000:.1f} ms, underruns {underruns}")
    assert longest < 0.2
    assert underruns == 0
