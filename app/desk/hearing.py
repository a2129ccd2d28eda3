"""Playing from the desk: what is selected, in the manner that was chosen; the score follows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.desk.desk_model import DeskModel
from app.desk.finding_out import FindingOut
from app.sound.listening import Listening, OpenLink, open_player
from core.score.places import Passage, Place

SPEEDS = (0.25, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5)
PREPARE_AFTER_MS = 1000
"""From when a score is read: the page is shown by then, and the analysis under way."""
STILL_READING = "The score is still being read; press Space again in a moment."
NO_PORT = "There is no MIDI port on this machine; the built-in piano plays."
HANDS = ("both", "right", "left")


class Hearing(QObject):
    """Joins the player to the desk."""

    words_changed = Signal(str)
    """What Space will play, in words; empty with nothing to play."""
    tempo_told = Signal(str)
    """Where the tempo comes from; empty until what Space will play has sounded once."""
    moved = Signal(object)
    """The place that sounds, or None when it is silent."""

    def __init__(
        self,
        desk: DeskModel,
        finding_out: FindingOut,
        parent: QObject | None = None,
        *,
        open_link: OpenLink = open_player,
    ) -> None:
        super().__init__(parent)
        self._desk, self._finding_out = desk, finding_out
        self.listening = Listening(self, open_link=open_link)
        self._wants_next_port = False
        self.place: Place | None = None
        """Where it sounds now."""
        self.ask_for_path: Callable[[str, str], str] = lambda title, suffix: ""
        for changed in (desk.selection_changed, desk.statement_changed, desk.score_read):
            changed.connect(self._choose)
        desk.piece_opened.connect(self._on_piece_opened)
        self._idle = QTimer(self, interval=PREPARE_AFTER_MS, singleShot=True)
        self._idle.timeout.connect(self._prepare)
        desk.score_read.connect(self._idle.start)
        self._join()

    def toggle(self) -> None:
        """Play what is selected, or fall silent."""
        if not self.listening.is_playing:
            self._choose()
        if self._desk.score is None and self._desk.piece is not None:
            self._desk.notice.emit(STILL_READING)
        self.listening.toggle()

    def loop(self) -> None:
        """Again and again, or once."""
        self.listening.loops = not self.listening.loops

    def change_speed(self, step: int) -> None:
        """One step slower (-1) or faster (1)."""
        nearest = min(range(len(SPEEDS)), key=lambda i: abs(SPEEDS[i] - self.listening.speed))
        self.listening.speed = SPEEDS[min(max(nearest + step, 0), len(SPEEDS) - 1)]

    def next_hand(self) -> None:
        """Both hands, the right, the left."""
        at = HANDS.index(self.listening.hand)
        self.listening.hand = HANDS[(at + 1) % len(HANDS)]  # type: ignore[assignment]  # a Hand

    def next_port(self) -> None:
        """The next MIDI port, and after the last the built-in piano."""
        self._wants_next_port = True
        self.listening.ask_ports()

    def export(self, suffix: str) -> None:
        """Write what will play as a file, WAV or MIDI."""
        self._choose()
        path = self.ask_for_path("Write what will play", suffix)
        if not path:
            return
        endings = (suffix, ".midi") if suffix == ".mid" else (suffix,)
        target = Path(path if path.lower().endswith(endings) else path + suffix)
        write = self.listening.export_wav if suffix == ".wav" else self.listening.export_midi
        write(target)

    def shut_down(self) -> None:
        """Fall silent, give up what is being written, and end the player."""
        self._idle.stop()
        self.listening.shut_down()

    def _join(self) -> None:
        listening = self.listening
        listening.manner_changed.connect(self._tell)
        listening.playing_changed.connect(self._on_playing_changed)
        listening.moment_reached.connect(self._on_moment)
        listening.ports_told.connect(self._on_ports)
        listening.first_sound.connect(lambda _at: self._tell())
        listening.failed.connect(self._desk.notice)
        listening.exported.connect(lambda path: self._desk.notice.emit(f"{path.name} is written."))

    def _prepare(self) -> None:
        if self._desk.score is not None:
            self.listening.prepare(self._desk.score)

    def _on_ports(self, ports: tuple[str, ...]) -> None:
        if not self._wants_next_port:
            return
        self._wants_next_port = False
        if not ports:
            self._desk.notice.emit(self.listening.why_no_port or NO_PORT)
        choices = (None, *ports)
        now = self.listening.port
        at = choices.index(now) if now in choices else 0
        self.listening.use_port(choices[(at + 1) % len(choices)])

    def _on_piece_opened(self) -> None:
        self._idle.stop()
        self.listening.forget()

    def _choose(self) -> None:
        score, selection = self._desk.score, self._desk.selection
        if score is None:
            return
        if selection is None:
            passage = Passage.of_measures(0, len(score.measures) - 1)
        else:
            passage = selection.passage
        self.listening.choose(score, passage, order=self._order_of(passage))

    def _order_of(self, passage: Passage) -> tuple[int, ...] | None:
        """How its measures are played; None for a stretch that is heard once, as written."""
        analysis, statement = self._finding_out.analysis, self._desk.statement
        if analysis is None:
            return None
        order = analysis.playing_order.measure_indices
        if self._desk.selection is None:
            return order
        if passage.is_point:
            # From here on to the end, with the repeats that are still to come.
            return order[statement.order_start :] if statement is not None else order
        if statement is not None and passage == statement.passage:
            return order[statement.order_start : statement.order_end]
        return None

    def _tell(self) -> None:
        self.words_changed.emit(self.listening.what_will_play())
        self.tempo_told.emit(self.listening.why_this_tempo())

    def _on_playing_changed(self, is_playing: bool) -> None:
        if not is_playing:
            self.place = None
            self.moved.emit(None)

    def _on_moment(self, place: Place) -> None:
        self.place = place
        self.moved.emit(place)
