"""Playing through a MIDI port: real ports on loopback, with nothing but the network between."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial

import mido
import pytest
from mido import sockets
from pytestqt.qtbot import QtBot

from app.midi.player import MidiPlayer
from app.midi.ports import NO_MIDI, MidiPortError
from app.sound.listening import Listening
from core.score.places import Passage
from core.score.score import Score
from core.takes.playing import Manner, perform
from tests.app.sound.listeners import DirectPlayer, doors, open_listening_output
from tests.core.takes.small_passages import two_hands

QUICK = Manner(speed=1.5)
LATE_SECONDS = 0.05


@dataclass
class Instrument:
    """The far end of a port: what arrived, and when."""

    server: sockets.PortServer
    arrived: list[tuple[float, mido.Message]] = field(default_factory=list)

    def listen(self) -> None:
        near = self.server.accept()
        for message in near:
            self.arrived.append((time.monotonic(), message))
            # The player's last word; the end of a connection is not told by mido's ports.
            if message.is_cc(120):
                near.close()
                return

    def key_moves(self) -> list[tuple[str, int]]:
        return [(m.type, m.note) for _, m in self.arrived if m.type in ("note_on", "note_off")]


@dataclass
class Cable:
    instrument: Instrument
    port: sockets.SocketPort
    thread: threading.Thread


@pytest.fixture
def cable() -> Iterator[Cable]:
    server = sockets.PortServer("127.0.0.1", 0)
    number = server._socket.getsockname()[1]
    instrument = Instrument(server)
    thread = threading.Thread(target=instrument.listen)
    thread.start()
    port = sockets.connect("127.0.0.1", number)
    yield Cable(instrument, port, thread)
    port.close()
    thread.join(5)
    server.close()


def wait_for_the_end(player: MidiPlayer, cable: Cable) -> None:
    give_up_at = time.monotonic() + 10
    while not player.is_over and time.monotonic() < give_up_at:
        time.sleep(0.01)
    player.stop()
    cable.thread.join(5)


def played(score: Score, cable: Cable, *, loops: bool = False) -> MidiPlayer:
    return MidiPlayer(
        lambda: perform(score, Passage.of_measures(0, 0), QUICK),
        lambda performance: 0.0,
        loops=loops,
        port=cable.port,
        port_name="Cable",
    )


def test_keys_arrive_in_order_and_in_time(cable: Cable) -> None:
    score = two_hands()
    player = played(score, cable)
    wait_for_the_end(player, cable)
    assert player.error is None
    strikes = [(at, m) for at, m in cable.instrument.arrived if m.type == "note_on"]
    assert [m.note for _, m in strikes] == [48, 72, 74, 76, 77]
    first = strikes[0][0]
    late = [at - first - wanted for (at, _), wanted in zip(
        strikes, (0, 0, 1 / 1.5, 2 / 1.5, 3 / 1.5), strict=True)]  # fmt: skip
    print(f"latest {max(late) * 1000:.1f} ms")
    assert all(-LATE_SECONDS < some < LATE_SECONDS for some in late)
    assert {m.velocity for _, m in strikes} == {72}


def test_every_key_comes_up(cable: Cable) -> None:
    wait_for_the_end(played(two_hands(), cable), cable)
    keys = cable.instrument.key_moves()
    down = sorted(note for kind, note in keys if kind == "note_on")
    assert down == sorted(note for kind, note in keys if kind == "note_off")


def test_stop_lets_all_keys_up(cable: Cable) -> None:
    player = played(two_hands(), cable, loops=True)
    while not cable.instrument.key_moves():
        time.sleep(0.005)
    player.stop()
    cable.thread.join(5)
    keys = cable.instrument.key_moves()
    assert ("note_off", 48) in keys
    assert {m.control for _, m in cable.instrument.arrived if m.type == "control_change"} == {
        123,
        120,
    }


def test_a_port_that_breaks_is_one_sentence() -> None:
    class Broken:
        def send(self, message: object) -> None:
            raise OSError("unplugged")

        def close(self) -> None:
            pass

    player = MidiPlayer(
        lambda: perform(two_hands(), Passage.of_measures(0, 0)),
        lambda performance: 0.0,
        loops=False,
        port=Broken(),
        port_name="Stage piano",
    )
    while not player.is_over:
        time.sleep(0.005)
    assert isinstance(player.error, MidiPortError)
    assert str(player.error) == (
        "MIDI port Stage piano: It stopped taking messages (unplugged). Is it still plugged in?"
    )


def test_listening_says_why_there_is_no_port(qtbot: QtBot) -> None:
    ways = doors(open_listening_output, why_no_port=lambda: NO_MIDI)
    listening = Listening(open_link=partial(DirectPlayer, ways))
    assert listening.why_no_port == ""
    with qtbot.waitSignal(listening.ports_told) as told:
        listening.ask_ports()
    assert told.args == [()]
    assert listening.why_no_port == NO_MIDI
    listening.shut_down()


def test_listening_plays_to_the_port_that_is_chosen(qtbot: QtBot, cable: Cable) -> None:
    ways = doors(
        open_listening_output, port_names=lambda: ("Cable",), open_port=lambda name: cable.port
    )
    listening = Listening(open_link=partial(DirectPlayer, ways))
    moments: list[object] = []
    failures: list[object] = []
    listening.failed.connect(failures.append)
    listening.moment_reached.connect(moments.append)
    with qtbot.waitSignal(listening.ports_told) as told:
        listening.ask_ports()
    assert told.args == [("Cable",)]
    listening.use_port("Cable")
    listening.speed = 1.5
    listening.play(two_hands(), Passage.of_measures(0, 0))
    assert listening.what_will_play() == "m. 1, 150 %, both hands, on Cable"
    with qtbot.waitSignal(listening.playing_changed, timeout=10_000):
        pass
    assert failures == []
    listening.shut_down()
    cable.thread.join(5)
    assert len(moments) == 4
    assert len([1 for kind, _ in cable.instrument.key_moves() if kind == "note_on"]) == 5
