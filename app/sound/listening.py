"""Hearing a passage: what is chosen, how it is to sound, and whether it sounds.

The view-model for whatever has a play button. Use it from the window's thread; nothing here
waits: all that takes time is done by the player, in a process of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject, Qt, Signal

from app.desk.place_names import passage_name
from app.job_process import JobError
from app.sound.outputs import SoundError
from app.sound.talk import (
    AskPorts,
    Change,
    Chosen,
    Doors,
    Export,
    Exported,
    Gone,
    Means,
    News,
    Over,
    Play,
    Ports,
    Reached,
    Ready,
    Started,
    Stop,
    TakeScore,
    Wish,
)
from core.errors import PostilError
from core.score.places import Passage
from core.score.score import Score
from core.takes.playing import FASTEST, SLOWEST, Hand, Manner

if TYPE_CHECKING:
    from collections.abc import Mapping

_HAND_WORDS: Mapping[Hand, str] = {
    "both": "both hands",
    "right": "right hand",
    "left": "left hand",
}


class NothingChosenError(PostilError):
    """Nothing is open that could be written as the file of that ``name``."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name

    def __str__(self) -> str:
        return f"There is nothing to write as {self.name}. Open a piece first."


class Link(Protocol):
    """The way to a player."""

    def send(self, wish: Wish) -> None: ...
    def shut_down(self, *, at_once: bool = True) -> None: ...


OpenLink = Callable[[Callable[[News], None]], Link]
"""Makes a player that gives its news to a function, from any thread."""


def open_player(tell: Callable[[News], None]) -> Link:
    """The player of this machine, in a process of its own."""
    from app.midi.ports import open_output, output_names, why_none
    from app.sound.outputs import open_default_output
    from app.sound.player_process import PlayerProcess

    doors = Doors(
        open_output=open_default_output,
        port_names=output_names,
        why_no_port=why_none,
        open_port=open_output,
    )
    return PlayerProcess(doors, tell)


class Listening(QObject):
    """Plays passages, and says where it is.

    Parameters
    ----------
    open_link : callable, optional
        Makes the player, when it is first needed and after it has ended.
    """

    playing_changed = Signal(bool)
    manner_changed = Signal()
    """Speed, loops, hand, port, or what is chosen."""
    moment_reached = Signal(object)
    """The ``Place`` of the notes that were struck last."""
    first_sound = Signal(float)
    """The first samples were handed to the output, at this ``time.monotonic()``."""
    got_ready = Signal()
    """The player is loaded: what is played next sounds at once."""
    ports_told = Signal(tuple)
    """The names of the MIDI ports that were asked for; empty without MIDI."""
    exported = Signal(object)
    """The ``Path`` of a file that is whole."""
    failed = Signal(object)
    """A ``PostilError``, or a bug."""
    _told = Signal(object)

    def __init__(self, parent: QObject | None = None, *, open_link: OpenLink = open_player) -> None:
        super().__init__(parent)
        self._open_link = open_link
        self._link: Link | None = None
        self._means = Means()
        self._score: Score | None = None
        self._known: Score | None = None
        self._chosen: Chosen | None = None
        self._serial, self._is_playing, self._exports = 0, False, 0
        self._tempo_reason = self.why_no_port = ""
        """Of the ports: a sentence where this system has no MIDI; known with ``ports_told``."""
        self._is_shut = False
        self._told.connect(self._on_told, Qt.ConnectionType.QueuedConnection)

    # What and how

    @property
    def is_playing(self) -> bool:
        return self._is_playing

    @property
    def speed(self) -> float:
        """Share of the tempo, 0.25 to 1.5."""
        return self._means.manner.speed

    @speed.setter
    def speed(self, share: float) -> None:
        manner = Manner(speed=min(max(share, SLOWEST), FASTEST), hand=self.hand)
        self._change(replace(self._means, manner=manner))

    @property
    def hand(self) -> Hand:
        return self._means.manner.hand

    @hand.setter
    def hand(self, hand: Hand) -> None:
        self._change(replace(self._means, manner=Manner(speed=self.speed, hand=hand)))

    @property
    def loops(self) -> bool:
        return self._means.loops

    @loops.setter
    def loops(self, loops: bool) -> None:
        self._change(replace(self._means, loops=loops))

    @property
    def port(self) -> str | None:
        """The MIDI port that is played to; None for the built-in piano."""
        return self._means.port

    def use_port(self, name: str | None) -> None:
        """Play to a MIDI port; None for the built-in piano."""
        self._change(replace(self._means, port=name))

    def choose(self, score: Score, passage: Passage, *, order: Sequence[int] | None = None) -> None:
        """Say what ``toggle`` and the exports are about; what sounds goes on.

        Parameters
        ----------
        score : Score
        passage : Passage
            A point stands for all that follows it.
        order : sequence of int, optional
            Measure indices as they are played: for a statement its slice of the playing order,
            for the whole piece all of it; without, as written.
        """
        chosen = Chosen(passage=passage, order=None if order is None else tuple(order))
        if chosen != self._chosen or score is not self._score:
            self._tempo_reason = ""
        self._score, self._chosen = score, chosen
        self.manner_changed.emit()

    def forget(self) -> None:
        """Fall silent, and have nothing chosen."""
        self.stop()
        self._score = self._chosen = None
        self.manner_changed.emit()

    def what_will_play(self) -> str:
        """In words: "m. 3 to 4 looped, 80 %, both hands"; empty while nothing is chosen."""
        if self._chosen is None or self._score is None:
            return ""
        name = passage_name(self._score, self._chosen.passage)
        if self._chosen.passage.is_point:
            name = f"from {name}"
        looped = " looped" if self.loops else ""
        words = f"{name}{looped}, {self.speed * 100:.0f} %, {_HAND_WORDS[self.hand]}"
        return f"{words}, on {self.port}" if self.port else words

    def why_this_tempo(self) -> str:
        """Where the tempo comes from, in words; empty until what is chosen has sounded."""
        return self._tempo_reason

    def ask_ports(self) -> None:
        """Have ``ports_told`` say which MIDI ports can be played to now."""
        self._player().send(AskPorts())

    # Playing

    def prepare(self, score: Score) -> None:
        """Have the player loaded and the score with it, so that the first sound comes at once.

        Nothing waits for it here; call it when there is nothing else to do.
        """
        if not self._is_shut:
            self._score = score
            self._player_with_score()

    def play(self, score: Score, passage: Passage, *, order: Sequence[int] | None = None) -> None:
        """Play a passage from its beginning, as ``choose`` takes it; what sounded falls silent."""
        self.choose(score, passage, order=order)
        self._begin()

    def toggle(self) -> None:
        """Stop what sounds, or play what is chosen."""
        if self._is_playing:
            self.stop()
        else:
            self._begin()

    def stop(self) -> None:
        """Fall silent at once."""
        if self._is_playing and self._link is not None:
            self._link.send(Stop())
        self._end()

    def shut_down(self) -> None:
        """Fall silent, give up unfinished files and end the player. Safe to call twice."""
        link, self._link = self._link, None
        is_idle = not self._is_playing and not self._exports
        self._is_shut = True
        self._end()
        if link is not None:
            link.shut_down(at_once=is_idle)

    # Files

    def export_wav(self, path: Path) -> None:
        """Write what is chosen as a WAV file; ``exported`` or ``failed`` says when."""
        self._export(partial(Export, path=path, form="wav"), path)

    def export_midi(self, path: Path) -> None:
        """Write what is chosen as a MIDI file; ``exported`` or ``failed`` says when."""
        self._export(partial(Export, path=path, form="midi"), path)

    def _export(self, wish: Callable[..., Export], path: Path) -> None:
        if self._chosen is None or self._is_shut:
            self.failed.emit(NothingChosenError(path.name))
            return
        self._exports += 1
        self._player_with_score().send(wish(chosen=self._chosen, manner=self._means.manner))

    # The player

    def _begin(self) -> None:
        if self._chosen is None or self._is_shut:
            return
        self._serial += 1
        link = self._player_with_score()
        link.send(Play(serial=self._serial, chosen=self._chosen, means=self._means))
        if not self._is_playing:
            self._is_playing = True
            self.playing_changed.emit(True)

    def _change(self, means: Means) -> None:
        if means == self._means:
            return
        self._means = means
        if self._is_playing and self._link is not None:
            self._serial += 1
            self._link.send(Change(serial=self._serial, means=means))
        self.manner_changed.emit()

    def _end(self) -> None:
        self._serial += 1
        if self._is_playing:
            self._is_playing = False
            self.playing_changed.emit(False)

    def _player(self) -> Link:
        if self._link is None:
            self._known = None
            self._link = self._open_link(self._told.emit)
        return self._link

    def _player_with_score(self) -> Link:
        link = self._player()
        if self._score is not None and self._score is not self._known:
            self._known = self._score
            # What is played needs no letter of the file, the greater part of it.
            link.send(TakeScore(score=replace(self._score, canonical=b"")))
        return link

    # News

    def _on_told(self, news: News) -> None:
        if self._is_shut:
            return
        serial = getattr(news, "serial", self._serial)
        if serial == self._serial:
            self._pass_on(news)

    def _pass_on(self, news: News) -> None:
        match news:
            case Started():
                self._tempo_reason = news.tempo_reason
                self.first_sound.emit(news.at_seconds)
            case Reached():
                self.moment_reached.emit(news.place)
            case Over():
                self._end()
                self._tell_of(news.error)
                if isinstance(news.error, SoundError):
                    self._leave_player()
            case Exported():
                self._exports -= 1
                if news.error is None:
                    self.exported.emit(news.path)
                self._tell_of(news.error)
            case Ports():
                self.why_no_port = news.why_none
                self.ports_told.emit(news.names)
            case Ready():
                self.got_ready.emit()
            case Gone():
                self._on_gone(news)

    def _on_gone(self, news: Gone) -> None:
        link, self._link = self._link, None
        was_busy = self._is_playing or self._exports > 0
        self._exports = 0
        self._end()
        if link is not None:
            link.shut_down()
        if was_busy:
            self._tell_of(JobError("The player", news.how))

    def _leave_player(self) -> None:
        """Have another player begun next: this one may never see a device that comes back."""
        if self._link is not None and not self._exports:
            link, self._link = self._link, None
            link.shut_down()

    def _tell_of(self, error: Exception | None) -> None:
        if error is not None:
            self.failed.emit(error)
