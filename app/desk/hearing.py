"""Playing from the desk: what is selected, in the manner that was chosen; the score follows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.desk.desk_model import DeskModel
from app.desk.finding_out import FindingOut
from app.sound.listening import Listening
from core.score.places import Passage, Place

SPEEDS = (0.25, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5)
HANDS = ("both", "right", "left")


class Hearing(QObject):
    """Joins the player to the desk."""

    words_changed = Signal(str)
    """What Space will play, in words; empty with nothing to play."""
    moved = Signal(object)
    """The place that sounds, or None when it is silent."""

    def __init__(
        self, desk: DeskModel, finding_out: FindingOut, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._desk, self._finding_out = desk, finding_out
        self._listening: Listening | None = None
        self._port = -1
        self.place: Place | None = None
        """Where it sounds now."""
        self.ask_for_path: Callable[[str, str], str] = lambda title, suffix: ""
        for changed in (desk.selection_changed, desk.statement_changed, desk.score_read):
            changed.connect(self._choose)
        desk.piece_opened.connect(self._on_piece_opened)

    @property
    def listening(self) -> Listening:
        """The player, made when it is first needed."""
        if self._listening is None:
            self._listening = Listening(self)
            self._listening.manner_changed.connect(self._tell)
            self._listening.playing_changed.connect(self._on_playing_changed)
            self._listening.moment_reached.connect(self._on_moment)
            self._listening.failed.connect(self._desk.notice)
            self._listening.exported.connect(
                lambda path: self._desk.notice.emit(f"{path.name} is written.")
            )
        return self._listening

    def prepare(self) -> None:
        """Load what the first sound needs; call it when there is nothing else to do."""
        self.listening.prepare()

    def toggle(self) -> None:
        """Play what is selected, or fall silent."""
        if self._listening is None or not self._listening.is_playing:
            self._choose()
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
        ports = self.listening.ports()
        if not ports:
            self._desk.notice.emit(
                "There is no MIDI port on this machine; the built-in piano plays."
            )
        self._port = (self._port + 1) % (len(ports) + 1)
        self.listening.use_port(ports[self._port] if self._port < len(ports) else None)

    def export(self, suffix: str) -> None:
        """Write what will play as a file, WAV or MIDI."""
        self._choose()
        path = self.ask_for_path("Write what will play", suffix)
        if not path:
            return
        target = Path(path if path.lower().endswith(suffix) else path + suffix)
        write = self.listening.export_wav if suffix == ".wav" else self.listening.export_midi
        write(target)

    def shut_down(self) -> None:
        """Fall silent and wait for what is being written."""
        if self._listening is not None:
            self._listening.shut_down()

    def _on_piece_opened(self) -> None:
        if self._listening is not None:
            self._listening.stop()
        self.words_changed.emit("")

    def _choose(self) -> None:
        score, selection = self._desk.score, self._desk.selection
        if score is None:
            return
        statement, analysis = self._desk.statement, self._finding_out.analysis
        if selection is not None:
            passage = selection.passage
            order = self._finding_out.statement_order(statement) if statement else None
            if order is not None and statement is not None and passage != statement.passage:
                order = None
        else:
            passage = Passage.of_measures(0, len(score.measures) - 1)
            order = analysis.playing_order.measure_indices if analysis else None
        self.listening.choose(score, passage, order=order)

    def _tell(self) -> None:
        self.words_changed.emit(self.listening.what_will_play())

    def _on_playing_changed(self, is_playing: bool) -> None:
        if not is_playing:
            self.place = None
            self.moved.emit(None)

    def _on_moment(self, place: Place) -> None:
        self.place = place
        self.moved.emit(place)
