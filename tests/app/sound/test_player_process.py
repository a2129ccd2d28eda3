"""The player in its process: it plays there, dies alone, and leaves nothing behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.job_process import JobError
from app.sound.listening import Link, Listening
from app.sound.outputs import NO_DEVICE, Output, SoundError
from app.sound.player_process import PlayerProcess
from app.sound.talk import News
from core.errors import StorageError
from core.score.places import Passage, Place
from tests.app.sound.listeners import ListeningOutput, doors, open_listening_output
from tests.core.takes.small_passages import two_hands

LOADING_MS = 20_000
"""A process starts in under a second; a machine that runs several tests at once takes longer."""


class Room:
    """A ``Listening`` with a real process, and what it told."""

    def __init__(self, open_output: Callable[[], Output] = open_listening_output) -> None:
        self._doors = doors(open_output)
        self.links: list[PlayerProcess] = []
        self.listening = Listening(open_link=self._open)
        self.moments: list[Place] = []
        self.failures: list[Exception] = []
        self.listening.moment_reached.connect(self.moments.append)
        self.listening.failed.connect(self.failures.append)

    def _open(self, tell: Callable[[News], None]) -> Link:
        self.links.append(PlayerProcess(self._doors, tell))
        return self.links[-1]


@pytest.fixture
def room(qtbot: QtBot) -> Iterator[Room]:
    room = Room()
    yield room
    room.listening.shut_down()


def make_ready(qtbot: QtBot, room: Room) -> int:
    """The number of a process that is loaded."""
    with qtbot.waitSignal(room.listening.got_ready, timeout=LOADING_MS):
        room.listening.prepare(two_hands())
    pid = room.links[-1].pid
    assert pid is not None
    return pid


def is_alive(pid: int) -> bool:
    """Whether a process runs; one that only waits to be seen off doesn't."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"


def wait_for_its_end(pid: int) -> None:
    give_up_at = time.monotonic() + 10
    while is_alive(pid) and time.monotonic() < give_up_at:
        time.sleep(0.01)
    assert not is_alive(pid)


def open_no_output() -> ListeningOutput:
    raise SoundError(NO_DEVICE)


def open_deadly_output() -> ListeningOutput:
    os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError("a killed process goes on")


class OddError(Exception):
    """One that comes out of no pickle."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(one)


class OddOutput(ListeningOutput):
    def trouble(self) -> str | None:
        raise OddError("one", "two")


def test_the_score_follows_what_sounds_elsewhere(qtbot: QtBot, room: Room) -> None:
    make_ready(qtbot, room)
    room.listening.speed = 1.5
    with qtbot.waitSignal(room.listening.first_sound, timeout=LOADING_MS):
        room.listening.play(two_hands(), Passage.of_measures(0, 0))
    with qtbot.waitSignal(room.listening.playing_changed, timeout=10_000):
        pass
    assert [place.offset_quarters for place in room.moments] == [0, 1, 2, 3]
    assert room.listening.why_this_tempo()
    assert room.failures == []


def test_without_an_output_it_is_one_sentence(qtbot: QtBot) -> None:
    room = Room(open_no_output)
    with qtbot.waitSignal(room.listening.failed, timeout=LOADING_MS) as failed:
        room.listening.play(two_hands(), Passage.of_measures(0, 0))
    assert str(failed.args[0]) == NO_DEVICE
    assert not room.listening.is_playing
    room.listening.shut_down()


@pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is not there")
def test_a_player_that_dies_is_one_sentence_and_is_begun_anew(qtbot: QtBot, room: Room) -> None:
    pid = make_ready(qtbot, room)
    with qtbot.waitSignal(room.listening.first_sound, timeout=LOADING_MS):
        room.listening.play(two_hands(), Passage.of_measures(0, 1))
    with qtbot.waitSignal(room.listening.failed, timeout=LOADING_MS) as failed:
        os.kill(pid, signal.SIGKILL)
    assert isinstance(failed.args[0], JobError)
    assert str(failed.args[0]) == (
        "The player: it stopped unexpectedly (signal SIGKILL). Your notebook is as it was; try it "
        "again, and if it stops again, please report the score."
    )
    assert not room.listening.is_playing
    with qtbot.waitSignal(room.listening.first_sound, timeout=LOADING_MS):
        room.listening.toggle()
    assert room.links[-1].pid not in (None, pid)


@pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is not there")
def test_one_that_dies_while_it_is_silent_is_not_spoken_of(qtbot: QtBot, room: Room) -> None:
    pid = make_ready(qtbot, room)
    os.kill(pid, signal.SIGKILL)
    wait_for_its_end(pid)
    qtbot.waitUntil(lambda: room.listening._link is None, timeout=LOADING_MS)
    with qtbot.waitSignal(room.listening.first_sound, timeout=LOADING_MS):
        room.listening.play(two_hands(), Passage.of_measures(0, 0))
    assert room.failures == []


def test_one_that_dies_at_its_start_is_one_sentence(qtbot: QtBot) -> None:
    room = Room(open_deadly_output)
    with qtbot.waitSignal(room.listening.failed, timeout=LOADING_MS) as failed:
        room.listening.play(two_hands(), Passage.of_measures(0, 0))
    assert isinstance(failed.args[0], JobError)
    room.listening.shut_down()


def test_a_bug_in_it_is_told_with_its_place(qtbot: QtBot) -> None:
    room = Room(OddOutput)
    with qtbot.waitSignal(room.listening.failed, timeout=LOADING_MS) as failed:
        room.listening.play(two_hands(), Passage.of_measures(0, 0))
    assert "OddError" in str(failed.args[0])
    room.listening.shut_down()


def test_files_are_written_by_it(qtbot: QtBot, room: Room, tmp_path: Path) -> None:
    room.listening.choose(two_hands(), Passage.of_measures(0, 0))
    with qtbot.waitSignal(room.listening.exported, timeout=LOADING_MS):
        room.listening.export_wav(tmp_path / "one.wav")
    with qtbot.waitSignal(room.listening.failed, timeout=LOADING_MS) as failed:
        room.listening.export_midi(tmp_path / "gone" / "one.mid")
    assert isinstance(failed.args[0], StorageError)
    assert [path.name for path in tmp_path.iterdir()] == ["one.wav"]


def test_closing_gives_up_an_unfinished_file(qtbot: QtBot, room: Room, tmp_path: Path) -> None:
    pid = make_ready(qtbot, room)
    room.listening.choose(two_hands(), Passage.of_measures(0, 1), order=[0, 1] * 400)
    room.listening.export_wav(tmp_path / "long.wav")
    qtbot.waitUntil(lambda: any(tmp_path.iterdir()), timeout=LOADING_MS)
    room.listening.shut_down()
    wait_for_its_end(pid)
    assert list(tmp_path.iterdir()) == []


def test_closing_ends_it_while_it_is_being_started(qtbot: QtBot, room: Room) -> None:
    room.listening.prepare(two_hands())
    room.listening.shut_down()
    pid = room.links[0].pid
    assert pid is None or not is_alive(pid)


OWNER = """
import sys, time
from app.sound.player_process import PlayerProcess
from app.sound.talk import Ready
from tests.app.sound.listeners import doors, open_listening_output

def tell(news):
    if isinstance(news, Ready):
        print(link.pid, flush=True)

if __name__ == "__main__":
    link = PlayerProcess(doors(open_listening_output), tell)
    time.sleep(60)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is not there")
def test_it_ends_when_the_window_is_killed(tmp_path: Path) -> None:
    checkout = Path(__file__).parents[3]
    script = tmp_path / "owner.py"
    script.write_text(OWNER)
    owner = subprocess.Popen(
        [sys.executable, str(script)],
        env={**os.environ, "PYTHONPATH": str(checkout)},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert owner.stdout is not None
        pid = int(owner.stdout.readline())
        assert is_alive(pid)
    finally:
        owner.kill()
        owner.communicate()
    wait_for_its_end(pid)


def test_news_after_the_end_reaches_nobody(qtbot: QtBot, room: Room) -> None:
    told: list[News] = []
    link = PlayerProcess(doors(open_listening_output), told.append)
    link.shut_down()
    assert told == []
