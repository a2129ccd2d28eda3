"""Hearing a passage: what is chosen, how it is to sound, and whether it sounds.

The view-model for whatever has a play button. Use it from the window's thread; nothing here
waits: performance and samples are made on a thread of their own, and files are written on one.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
from PySide6.QtCore import QObject, Qt, QTimer, Signal

from app.desk.place_names import passage_name
from app.midi import ports as midi_ports
from app.midi.player import MidiPlayer
from app.sound.outputs import Output, open_default_output, prepare_default_output
from app.sound.player import SoundPlayer
from app.sound.rendering import Piece
from core.errors import PostilError
from core.exchange.sound_file import write_midi, write_wav
from core.score.places import Passage
from core.score.score import Score
from core.takes.played_time import place_of
from core.takes.playing import FASTEST, SLOWEST, Hand, Manner, Performance, perform
from core.takes.synthesis import SAMPLE_RATE, key_sound

LOOK_MS = 33
"""Moments are told at most so often, thirty times a second."""
_HAND_WORDS = {"both": "both hands", "right": "right hand", "left": "left hand"}


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

    @property
    def performance(self) -> Performance | None: ...
    @property
    def seconds(self) -> float: ...
    @property
    def is_over(self) -> bool: ...
    def stop(self) -> None: ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Chosen:
    """What is to be played."""

    score: Score
    passage: Passage
    order: tuple[int, ...] | None

    def performed(self, manner: Manner) -> Performance:
        return perform(self.score, self.passage, manner, order=self.order)


class Listening(QObject):
    """Plays passages, and says where it is.

    Parameters
    ----------
    open_output : callable, optional
        Opens the audio output; a test gives one that listens.
    port_names, open_port : callable, optional
        The MIDI ports of this machine.
    """

    playing_changed = Signal(bool)
    manner_changed = Signal()
    """Speed, loops, hand, port, or what is chosen."""
    moment_reached = Signal(object)
    """The ``Place`` of the notes that were struck last."""
    first_sound = Signal()
    """The first samples were handed to the output."""
    exported = Signal(object)
    """The ``Path`` of a file that is whole."""
    failed = Signal(object)
    """A ``PostilError``, or a bug."""
    _written = Signal(object)

    def __init__(
        self,
        parent: QObject | None = None,
        *,
        open_output: Callable[[], Output] = open_default_output,
        port_names: Callable[[], tuple[str, ...]] = midi_ports.output_names,
        open_port: Callable[[str], midi_ports.MidiOut] = midi_ports.open_output,
    ) -> None:
        super().__init__(parent)
        self._open_output, self._port_names, self._open_port = open_output, port_names, open_port
        self._manner, self._loops = Manner(), False
        self._port: str | None = None
        self._chosen: _Chosen | None = None
        self._player: Player | None = None
        self._last_moment: tuple[int, int] | None = None
        self._exports: list[threading.Thread] = []
        self._is_shut = False
        self._look = QTimer(self, interval=LOOK_MS)
        self._look.timeout.connect(self._on_look)
        self._written.connect(self._on_written, Qt.ConnectionType.QueuedConnection)

    # What and how

    @property
    def is_playing(self) -> bool:
        return self._player is not None

    @property
    def speed(self) -> float:
        """Share of the tempo, 0.25 to 1.5."""
        return self._manner.speed

    @speed.setter
    def speed(self, share: float) -> None:
        self._change(Manner(speed=min(max(share, SLOWEST), FASTEST), hand=self.hand), self._loops)

    @property
    def hand(self) -> Hand:
        return self._manner.hand

    @hand.setter
    def hand(self, hand: Hand) -> None:
        self._change(Manner(speed=self.speed, hand=hand), self._loops)

    @property
    def loops(self) -> bool:
        return self._loops

    @loops.setter
    def loops(self, loops: bool) -> None:
        self._change(self._manner, loops)

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
        kept = None if order is None else tuple(order)
        self._chosen = _Chosen(score=score, passage=passage, order=kept)
        self.manner_changed.emit()

    def what_will_play(self) -> str:
        """In words: "m. 3 to 4 looped, 80 %, both hands"; empty while nothing is chosen."""
        if self._chosen is None:
            return ""
        name = passage_name(self._chosen.score, self._chosen.passage)
        if self._chosen.passage.is_point:
            name = f"from {name}"
        looped = " looped" if self._loops else ""
        words = f"{name}{looped}, {self.speed * 100:.0f} %, {_HAND_WORDS[self.hand]}"
        return f"{words}, on {self._port}" if self._port else words

    def why_this_tempo(self) -> str:
        """Where the tempo comes from, in words; empty until something played."""
        made = self._player.performance if self._player else None
        return made.tempo_reason if made is not None else ""

    def ports(self) -> tuple[str, ...]:
        """Names of the MIDI ports that can be played to, asked afresh; empty without MIDI."""
        return self._port_names()

    def use_port(self, name: str | None) -> None:
        """Play to a MIDI port; None for the built-in piano."""
        if name == self._port:
            return
        self._port = name
        self._again()
        self.manner_changed.emit()

    # Playing

    def prepare(self) -> None:
        """Load what the first sound needs. Call it when the window is idle; takes a moment."""
        prepare_default_output()
        key_sound(60, 64, 0, 256, off_frame=256)

    def play(self, score: Score, passage: Passage, *, order: Sequence[int] | None = None) -> None:
        """Play a passage from its beginning, as ``choose`` takes it; what sounded falls silent."""
        self.choose(score, passage, order=order)
        self._begin(lambda performance: 0.0)

    def toggle(self) -> None:
        """Stop what sounds, or play what is chosen."""
        if self.is_playing:
            self.stop()
        elif self._chosen is not None:
            self._begin(lambda performance: 0.0)

    def stop(self) -> None:
        """Fall silent at once."""
        player, self._player = self._player, None
        self._look.stop()
        if player is not None:
            player.stop()
            _forget(player)
            self.playing_changed.emit(False)

    def shut_down(self) -> None:
        """Fall silent, give up unfinished files and wait for their threads. Safe to call twice."""
        self._is_shut = True
        self.stop()
        for thread in self._exports:
            thread.join()
        self._exports.clear()

    # Files

    def export_wav(self, path: Path) -> None:
        """Write what is chosen as a WAV file; ``exported`` or ``failed`` says when."""
        self._export(path, lambda made: write_wav(made, path, is_wanted=self._is_wanted))

    def export_midi(self, path: Path) -> None:
        """Write what is chosen as a MIDI file; ``exported`` or ``failed`` says when."""
        self._export(path, lambda made: write_midi(made, path))

    def _is_wanted(self) -> bool:
        return not self._is_shut

    def _export(self, path: Path, write: Callable[[Performance], object]) -> None:
        chosen, manner = self._chosen, self._manner
        if chosen is None:
            self.failed.emit(NothingToPlayError(path.name))
            return

        def work() -> None:
            try:
                made = chosen.performed(manner)
                if not len(made):
                    raise NothingToPlayError(passage_name(chosen.score, chosen.passage))
                write(made)
            except Exception as error:  # noqa: BLE001 - told on the window's thread
                self._tell(error)
            else:
                self._tell(path)

        thread = threading.Thread(target=work, name=f"postil: writing {path.name}", daemon=True)
        self._exports = [other for other in self._exports if other.is_alive()] + [thread]
        thread.start()

    def _tell(self, news: object) -> None:
        if not self._is_shut:
            self._written.emit(news)

    def _on_written(self, news: object) -> None:
        (self.exported if isinstance(news, Path) else self.failed).emit(news)

    # While it plays

    def _change(self, manner: Manner, loops: bool) -> None:
        if (manner, loops) == (self._manner, self._loops):
            return
        self._manner, self._loops = manner, loops
        self._again()
        self.manner_changed.emit()

    def _again(self) -> None:
        """Go on from where it is, in the manner that holds now."""
        if self._player is None:
            return
        made = self._player.performance
        if made is None:
            self._begin(lambda performance: 0.0)
            return
        inside = _inside(self._player.seconds, made) - made.lead_seconds
        played = float(made.time.played_at(inside))
        self._begin(lambda new: float(new.time.seconds_at(played)) + new.lead_seconds)

    def _begin(self, begin: Callable[[Performance], float]) -> None:
        was_playing = self.is_playing
        chosen, manner = self._chosen, self._manner
        if chosen is None or self._is_shut:
            return
        if self._player is not None:
            self._player.stop()
            _forget(self._player)
            self._player = None
        self._last_moment = None
        try:
            self._player = self._open(lambda: chosen.performed(manner), begin)
        except PostilError as error:
            self._look.stop()
            self.failed.emit(error)
        else:
            self._look.start()
        if self.is_playing != was_playing:
            self.playing_changed.emit(self.is_playing)

    def _open(
        self, made: Callable[[], Performance], begin: Callable[[Performance], float]
    ) -> Player:
        if self._port is not None:
            return MidiPlayer(
                made,
                begin,
                loops=self._loops,
                port=self._open_port(self._port),
                port_name=self._port,
            )
        piece = Piece(perform=made, begin=begin, loops=self._loops)
        player = SoundPlayer(piece, self._open_output, self)
        player.started.connect(self.first_sound)
        player.started.connect(self._on_look)
        return player

    def _on_look(self) -> None:
        player = self._player
        if player is None:
            return
        made = player.performance
        if made is not None and len(made):
            self._tell_moment(made, player.seconds)
        if player.is_over:
            self._on_over(player, made)

    def _tell_moment(self, made: Performance, seconds: float) -> None:
        inside = _inside(seconds, made) if self._loops else seconds
        struck = int(np.searchsorted(made.onset_seconds, inside + 1 / SAMPLE_RATE, "right")) - 1
        if struck < 0:
            return
        onset = int(made.time.score.notes.onset[made.row[struck]])
        played = round(float(made.onset_seconds[struck]) * 1000)
        if (onset, played) != self._last_moment:
            self._last_moment = onset, played
            self.moment_reached.emit(place_of(made.time.score, onset))

    def _on_over(self, player: Player, made: Performance | None) -> None:
        error = player.error
        if error is None and made is not None and not len(made) and self._chosen is not None:
            error = NothingToPlayError(passage_name(self._chosen.score, self._chosen.passage))
        self.stop()
        if error is not None:
            self.failed.emit(error)


def _inside(seconds: float, made: Performance) -> float:
    """The second inside a round."""
    return seconds % made.length_seconds if made.length_seconds else 0.0


def _forget(player: Player) -> None:
    if isinstance(player, QObject):
        player.deleteLater()
