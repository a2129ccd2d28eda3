"""What the desk has played: the selection, the rest of the piece, one sounding."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from pytestqt.qtbot import QtBot

from app.desk import hearing as hearing_module
from app.desk.desk_model import DeskModel
from app.desk.finding_out import FindingOut
from app.desk.hearing import Hearing
from app.desk.selection import Selection
from app.sound.talk import (
    AskPorts,
    Export,
    News,
    Over,
    Play,
    Ports,
    Reached,
    Started,
    Stop,
    TakeScore,
    Wish,
)
from core.notebook.values import AnchorKind
from core.score.places import Passage, Place
from core.score.statements import Statement
from tests.app import small_scores

ORDER = (0, 1, 0, 1, 2, 3)
"""The first two measures twice."""
SECOND_TIME = Statement(
    section=0,
    label="A",
    number=2,
    count=2,
    order_start=2,
    order_end=4,
    passage=Passage.of_measures(0, 1),
)


@dataclass
class NotingLink:
    """A player that plays nothing, and knows what it was asked."""

    tell: Callable[[News], None]
    wishes: list[Wish] = field(default_factory=list)
    is_shut: bool = False

    def send(self, wish: Wish) -> None:
        self.wishes.append(wish)

    def shut_down(self, *, at_once: bool = True) -> None:
        self.is_shut = True

    @property
    def last_play(self) -> Play:
        return [wish for wish in self.wishes if isinstance(wish, Play)][-1]


class Room:
    """A desk with four measures, and what is asked of its player."""

    def __init__(self, desk: DeskModel) -> None:
        self.desk = desk
        self.links: list[NotingLink] = []
        self.notices: list[object] = []
        self.words: list[str] = []
        self.found: Any = SimpleNamespace(analysis=None)
        self.hearing = Hearing(desk, cast(FindingOut, self.found), open_link=self._open)
        desk.notice.connect(self.notices.append)
        self.hearing.words_changed.connect(self.words.append)

    def _open(self, tell: Callable[[News], None]) -> NotingLink:
        self.links.append(NotingLink(tell))
        return self.links[-1]

    @property
    def link(self) -> NotingLink:
        return self.links[-1]

    def analyse(self) -> None:
        self.found.analysis = SimpleNamespace(playing_order=SimpleNamespace(measure_indices=ORDER))


@pytest.fixture
def room(piece_desk: DeskModel) -> Iterator[Room]:
    room = Room(piece_desk)
    yield room
    room.hearing.shut_down()


def test_with_nothing_selected_the_piece_is_played_with_its_repeats(room: Room) -> None:
    room.analyse()
    room.hearing.toggle()
    assert room.link.last_play.chosen.passage == Passage.of_measures(0, 3)
    assert room.link.last_play.chosen.order == ORDER


def test_a_selected_passage_is_played_once_as_written(room: Room) -> None:
    room.analyse()
    room.desk.select_measures(1, 2)
    room.hearing.toggle()
    assert room.link.last_play.chosen.passage == Passage.of_measures(1, 2)
    assert room.link.last_play.chosen.order is None
    assert room.words[-1] == "m. 2 to 3, 100 %, both hands"


def test_from_a_point_on_repeats_to_come_are_played(room: Room) -> None:
    room.analyse()
    point = Selection(kind=AnchorKind.PLACE, passage=Passage.at(Place(measure_index=1)))
    room.desk.select(point)
    room.hearing.toggle()
    assert room.link.last_play.chosen.order == ORDER
    room.hearing.toggle()
    room.desk.select(point, SECOND_TIME)
    room.hearing.toggle()
    assert room.link.last_play.chosen.order == ORDER[2:]


def test_one_sounding_of_a_section_is_played_alone(room: Room) -> None:
    room.analyse()
    whole = Selection(kind=AnchorKind.PASSAGE, passage=SECOND_TIME.passage)
    room.desk.select(whole, SECOND_TIME)
    room.hearing.toggle()
    assert room.link.last_play.chosen.order == (0, 1)


def test_the_same_key_stops_and_another_selection_does_not(room: Room) -> None:
    room.hearing.toggle()
    room.desk.select_measures(1, 2)
    assert room.hearing.listening.is_playing
    room.hearing.toggle()
    assert isinstance(room.link.wishes[-1], Stop)
    assert not room.hearing.listening.is_playing


def test_the_score_is_handed_over_once(room: Room) -> None:
    room.hearing.toggle()
    room.hearing.toggle()
    room.hearing.toggle()
    assert len([1 for wish in room.link.wishes if isinstance(wish, TakeScore)]) == 1


def test_the_place_that_sounds_is_told_and_taken_back(qtbot: QtBot, room: Room) -> None:
    moved: list[Place | None] = []
    room.hearing.moved.connect(moved.append)
    room.hearing.toggle()
    play, place = room.link.last_play, Place(measure_index=2)
    room.link.tell(Reached(serial=play.serial - 1, place=Place(measure_index=1)))
    room.link.tell(Reached(serial=play.serial, place=place))
    room.link.tell(Over(serial=play.serial, error=None))
    qtbot.waitUntil(lambda: len(moved) == 2)
    assert moved == [place, None]
    assert room.hearing.place is None


def test_another_piece_silences_and_forgets(qtbot: QtBot, room: Room, tmp_path: Path) -> None:
    room.hearing.toggle()
    other = tmp_path / "other.musicxml"
    other.write_bytes(small_scores.four_measures("Another Piece"))
    seen: list[tuple[bool, str]] = []
    room.desk.piece_opened.connect(
        lambda: seen.append((room.hearing.listening.is_playing, room.words[-1]))
    )
    small_scores.bring_in(qtbot, room.desk, other)
    assert seen[0] == (False, "")


def test_before_the_score_is_read_it_says_so(qtbot: QtBot, room: Room, tmp_path: Path) -> None:
    other = tmp_path / "other.musicxml"
    other.write_bytes(small_scores.four_measures("Another Piece"))
    with qtbot.waitSignal(room.desk.piece_opened, timeout=10_000):
        room.desk.bring_in([other])
    assert room.desk.score is None
    room.hearing.toggle()
    assert not room.hearing.listening.is_playing
    assert room.notices == ["The score is still being read; press Space again in a moment."]
    qtbot.waitUntil(lambda: room.desk.score is not None, timeout=10_000)


def test_ports_are_gone_through_and_end_with_the_piano(qtbot: QtBot, room: Room) -> None:
    listening = room.hearing.listening
    for port in ("Stage piano", "Organ", None):
        room.hearing.next_port()
        assert isinstance(room.link.wishes[-1], AskPorts)
        with qtbot.waitSignal(listening.ports_told):
            room.link.tell(Ports(names=("Stage piano", "Organ")))
        assert listening.port == port
    room.hearing.next_port()
    with qtbot.waitSignal(listening.ports_told):
        room.link.tell(Ports(names=()))
    assert room.notices == ["There is no MIDI port on this machine; the built-in piano plays."]
    room.hearing.next_port()
    with qtbot.waitSignal(listening.ports_told):
        room.link.tell(Ports(names=(), why_none="This system offers no MIDI."))
    assert room.notices[-1] == "This system offers no MIDI."


def test_where_the_tempo_comes_from_is_told_once_it_sounds(qtbot: QtBot, room: Room) -> None:
    told: list[str] = []
    room.hearing.tempo_told.connect(told.append)
    room.hearing.toggle()
    serial = room.hearing.listening._serial
    with qtbot.waitSignal(room.hearing.listening.first_sound):
        room.link.tell(Started(serial=serial, at_seconds=0.0, tempo_reason="as printed"))
    assert told[-1] == "as printed"
    room.hearing.change_speed(-1)
    assert told[-1] == "as printed"
    room.desk.select_measures(1, 1)
    assert told[-1] == ""


@pytest.mark.parametrize(
    ("typed", "suffix", "name"),
    [
        ("out", ".wav", "out.wav"),
        ("out.WAV", ".wav", "out.WAV"),
        ("out", ".mid", "out.mid"),
        ("out.midi", ".mid", "out.midi"),
    ],
)
def test_files_get_their_ending(room: Room, typed: str, suffix: str, name: str) -> None:
    room.hearing.ask_for_path = lambda title, asked: f"/somewhere/{typed}"
    room.hearing.export(suffix)
    wish = room.link.wishes[-1]
    assert isinstance(wish, Export)
    assert wish.path.name == name


def test_the_player_is_begun_when_a_score_has_been_there_a_while(
    qtbot: QtBot, desk: DeskModel, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hearing_module, "PREPARE_AFTER_MS", 30)
    room = Room(desk)
    small_scores.bring_in(qtbot, desk, small_scores.write(tmp_path))
    qtbot.waitUntil(lambda: bool(room.links))
    assert [type(wish) for wish in room.link.wishes] == [TakeScore]
    room.hearing.shut_down()
    assert room.link.is_shut
