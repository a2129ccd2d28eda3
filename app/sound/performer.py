"""Does what the window wishes to hear: plays, goes on in another manner, writes files.

It lives in the player's process, on its main thread; nothing in it knows of windows. Performance
and samples are made on a thread of their own, and files are written on one.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import singledispatchmethod
from typing import Protocol

import numpy as np
from PySide6.QtCore import QObject, Qt, QTimer, Signal

from app.desk.place_names import passage_name
from app.midi.player import MidiPlayer
from app.sound.player import SoundPlayer
from app.sound.rendering import Piece
from app.sound.talk import (
    AskPorts,
    Change,
    Chosen,
    Doors,
    Export,
    Exported,
    Means,
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
from core.errors import PostilError
from core.exchange.sound_file import write_midi, write_wav
from core.score.score import Score
from core.takes.played_time import place_of
from core.takes.playing import Manner, Performance, perform
from core.takes.synthesis import SAMPLE_RATE, key_sound

LOOK_MS = 33
"""Moments are told at most so often, thirty times a second."""


class NothingToPlayError(PostilError):
    """There is no note to play: ``what`` was to be played."""

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self.what = what

    def __str__(self) -> str:
        return f"There is no note to play in {self.what}. Choose another passage, or both hands."


class Player(Protocol):
    """Something that plays one piece, and is over when it is."""

    error: Exception | None
    started_at_seconds: float | None

    @property
    def performance(self) -> Performance | None: ...
    @property
    def seconds(self) -> float: ...
    @property
    def is_over(self) -> bool: ...
    def stop(self) -> None: ...


@dataclass(slots=True, kw_only=True)
class _Playing:
    """What sounds now."""

    serial: int
    score: Score
    chosen: Chosen
    means: Means
    player: Player
    is_started: bool = False
    last_moment: tuple[int, int] | None = None


class Performer(QObject):
    """Plays one passage at a time.

    Parameters
    ----------
    doors : Doors
    tell : callable
        Takes the news; called on this object's thread.
    """

    _written = Signal(object)

    def __init__(
        self, doors: Doors, tell: Callable[[News], None], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._doors, self._tell = doors, tell
        self._score: Score | None = None
        self._playing: _Playing | None = None
        self._exports: list[threading.Thread] = []
        self._is_shut = False
        self._look = QTimer(self, interval=LOOK_MS)
        self._look.timeout.connect(self._on_look)
        self._written.connect(self._on_written, Qt.ConnectionType.QueuedConnection)

    @singledispatchmethod
    def do(self, wish: Wish) -> None:
        """Do what is wished; what comes of it is told."""
        raise ValueError(f"wish is {wish!r}; one of app.sound.talk?")

    @do.register
    def _(self, wish: TakeScore) -> None:
        self._score = wish.score

    @do.register
    def _(self, wish: Play) -> None:
        self._silence()
        if self._score is not None:
            self._begin(wish.serial, self._score, wish.chosen, wish.means, lambda made: 0.0)

    @do.register
    def _(self, wish: Change) -> None:
        playing = self._playing
        if playing is None:
            # It came to its end while this was on its way.
            self._tell(Over(serial=wish.serial, error=None))
            return
        begin = _where(playing.player, loops=playing.means.loops)
        self._silence()
        self._begin(wish.serial, playing.score, playing.chosen, wish.means, begin)

    @do.register
    def _(self, wish: Stop) -> None:
        self._silence()

    @do.register
    def _(self, wish: Export) -> None:
        self._export(wish)

    @do.register
    def _(self, wish: AskPorts) -> None:
        names = self._doors.port_names()
        self._tell(Ports(names=names, why_none="" if names else self._doors.why_no_port() or ""))

    def warm(self) -> None:
        """Do what takes long the first time: open the output, and let the voice sound unheard.

        The first opening takes tens of milliseconds, later ones a few. Says nothing where there
        is no output: nobody asked for sound yet.
        """
        with suppress(PostilError):
            self._doors.open_output().close()
        key_sound(60, 64, 0, 256, off_frame=256)

    def shut_down(self) -> None:
        """Fall silent, give up unfinished files and wait for their threads. Safe to call twice."""
        self._is_shut = True
        self._silence()
        for thread in self._exports:
            thread.join()
        self._exports.clear()

    def fail(self, error: BaseException) -> None:
        """Something that nobody expected went wrong: fall silent and tell of it."""
        playing = self._playing
        if playing is not None and isinstance(error, Exception):
            self._silence()
            self._tell(Over(serial=playing.serial, error=error))

    # Playing

    def _silence(self) -> None:
        playing, self._playing = self._playing, None
        self._look.stop()
        if playing is not None:
            playing.player.stop()
            if isinstance(playing.player, QObject):
                playing.player.deleteLater()

    def _begin(
        self,
        serial: int,
        score: Score,
        chosen: Chosen,
        means: Means,
        begin: Callable[[Performance], float],
    ) -> None:
        def made() -> Performance:
            return _performed(score, chosen, means.manner)

        try:
            player = self._open(made, begin, means)
        except Exception as error:  # noqa: BLE001 - it belongs to whoever wished
            self._tell(Over(serial=serial, error=error))
            return
        self._playing = _Playing(
            serial=serial, score=score, chosen=chosen, means=means, player=player
        )
        self._look.start()

    def _open(
        self, made: Callable[[], Performance], begin: Callable[[Performance], float], means: Means
    ) -> Player:
        if means.port is not None:
            port = self._doors.open_port(means.port)
            return MidiPlayer(made, begin, loops=means.loops, port=port, port_name=means.port)
        piece = Piece(perform=made, begin=begin, loops=means.loops)
        player = SoundPlayer(piece, self._doors.open_output, self)
        player.started.connect(self._on_look)
        return player

    def _on_look(self) -> None:
        playing = self._playing
        if playing is None:
            return
        made = playing.player.performance
        if made is not None and len(made):
            self._tell_start(playing, made)
            self._tell_moment(playing, made)
        if playing.player.is_over:
            self._on_over(playing, made)

    def _tell_start(self, playing: _Playing, made: Performance) -> None:
        started_at = playing.player.started_at_seconds
        if started_at is not None and not playing.is_started:
            playing.is_started = True
            reason = made.tempo_reason
            self._tell(Started(serial=playing.serial, at_seconds=started_at, tempo_reason=reason))

    def _tell_moment(self, playing: _Playing, made: Performance) -> None:
        seconds = playing.player.seconds
        inside = _inside(seconds, made) if playing.means.loops else seconds
        struck = int(np.searchsorted(made.onset_seconds, inside + 1 / SAMPLE_RATE, "right")) - 1
        if struck < 0:
            return
        onset = int(made.time.score.notes.onset[made.row[struck]])
        played = round(float(made.onset_seconds[struck]) * 1000)
        if (onset, played) != playing.last_moment:
            playing.last_moment = onset, played
            self._tell(Reached(serial=playing.serial, place=place_of(made.time.score, onset)))

    def _on_over(self, playing: _Playing, made: Performance | None) -> None:
        error = playing.player.error
        if error is None and made is not None and not len(made):
            error = NothingToPlayError(passage_name(playing.score, playing.chosen.passage))
        self._silence()
        self._tell(Over(serial=playing.serial, error=error))

    # Files

    def _export(self, wish: Export) -> None:
        score = self._score

        def work() -> None:
            error: Exception | None = None
            try:
                if score is not None:
                    self._write(score, wish)
            except Exception as failure:  # noqa: BLE001 - told on the window's thread
                error = failure
            if not self._is_shut:
                self._written.emit(Exported(path=wish.path, error=error))

        thread = threading.Thread(
            target=work, name=f"postil: writing {wish.path.name}", daemon=True
        )
        self._exports = [other for other in self._exports if other.is_alive()] + [thread]
        thread.start()

    def _write(self, score: Score, wish: Export) -> None:
        made = _performed(score, wish.chosen, wish.manner)
        if not len(made):
            raise NothingToPlayError(passage_name(score, wish.chosen.passage))
        if wish.form == "wav":
            write_wav(made, wish.path, is_wanted=lambda: not self._is_shut)
        else:
            write_midi(made, wish.path)

    def _on_written(self, news: Exported) -> None:
        self._tell(news)


def _performed(score: Score, chosen: Chosen, manner: Manner) -> Performance:
    return perform(score, chosen.passage, manner, order=chosen.order)


def _where(player: Player, *, loops: bool) -> Callable[[Performance], float]:
    """Finds in another performance of the same passage where this player is."""
    made = player.performance
    if made is None:
        return lambda new: 0.0
    seconds = _inside(player.seconds, made) if loops else player.seconds
    played = float(made.time.played_at(seconds - made.lead_seconds))
    return lambda new: float(new.time.seconds_at(played)) + new.lead_seconds


def _inside(seconds: float, made: Performance) -> float:
    """The second inside a round."""
    return seconds % made.length_seconds if made.length_seconds else 0.0
