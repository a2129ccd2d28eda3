"""The current measure as a list: what a screen reader reads, and a way to point by words.

Items of a graphics view can't be read aloud, so this list stands beside the score. One row is
one note, rest or direction of the measure, in the order it is heard.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QFrame, QListView, QWidget

from app.desk import place_names
from app.desk.desk_model import DeskModel
from app.score.score_geometry import ScoreIndex
from core.score.note_table import STEPS, TIE_STOP, UNPITCHED
from core.score.places import Place
from core.score.score import Score

_ALTERS = {-2: " double flat", -1: " flat", 1: " sharp", 2: " double sharp"}
_SILENT_KINDS = frozenset(["wedge", "dashes", "octave-shift", "bracket"])
"""Kinds of direction whose ends are directions too, with nothing printed."""
_DURATIONS = {
    Fraction(8): "breve",
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "sixteenth",
    Fraction(1, 8): "thirty-second",
    Fraction(1, 16): "sixty-fourth",
}


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One row: the element's id, what is said of it, and where it sorts."""

    element_id: str
    words: str
    onset: int
    staff: int


def measure_rows(score: Score, measure_index: int) -> list[MeasureRow]:
    """What stands in one measure, by onset, then staff, words before notes, high before low."""
    rows: list[tuple[tuple[int, ...], MeasureRow]] = []
    notes, rests = score.notes, score.rests
    for at in (notes.measure == measure_index).nonzero()[0].tolist():
        words = f"{_pitch_words(score, at)}, {_duration_words(score, at)}"
        row = MeasureRow(notes.ids[at], words, int(notes.onset[at]), int(notes.staff[at]))
        is_after = not notes.is_grace[at]
        rows.append(((row.onset, row.staff, 1, is_after, -int(notes.midi_pitch[at])), row))
    for at in (rests.measure == measure_index).nonzero()[0].tolist():
        length = Fraction(int(rests.duration[at]), score.ticks_per_quarter)
        words = "whole measure rest" if rests.is_whole_measure[at] else f"{_length(length)} rest"
        row = MeasureRow(rests.ids[at], words, int(rests.onset[at]), int(rests.staff[at]))
        rows.append(((row.onset, row.staff, 2, 0, 0), row))
    for direction in score.directions:
        is_said = bool(direction.text) or direction.kind not in _SILENT_KINDS
        if direction.measure_index == measure_index and is_said:
            words = direction.text or direction.kind
            row = MeasureRow(direction.id, f"printed: {words}", direction.onset, direction.staff)
            rows.append(((row.onset, row.staff, 0, 0, 0), row))
    return [row for _, row in sorted(rows, key=lambda entry: entry[0])]


def _pitch_words(score: Score, at: int) -> str:
    notes = score.notes
    step = STEPS[int(notes.step[at])]
    if notes.midi_pitch[at] == UNPITCHED:
        return f"unpitched, drawn at {step} {int(notes.octave[at])}"
    alter = float(notes.alter[at])
    bent = _ALTERS.get(int(alter), "") if alter == int(alter) else f" {alter:+g} semitones"
    return f"{step}{bent} {int(notes.octave[at])}"


def _duration_words(score: Score, at: int) -> str:
    notes = score.notes
    if notes.is_grace[at]:
        return "grace note"
    words = _length(Fraction(int(notes.duration[at]), score.ticks_per_quarter))
    return f"{words}, held over" if int(notes.tie[at]) & TIE_STOP else words


def _length(quarters: Fraction) -> str:
    """A duration by its name; a plain number of quarter notes where it has none."""
    if quarters in _DURATIONS:
        return _DURATIONS[quarters]
    for factor, prefix in ((Fraction(3, 2), "dotted"), (Fraction(7, 4), "double-dotted")):
        if quarters / factor in _DURATIONS:
            return f"{prefix} {_DURATIONS[quarters / factor]}"
    return f"{quarters} of a quarter" if quarters < 1 else f"{quarters} quarters"


class MeasureModel(QAbstractListModel):
    """The rows of the measure that is current."""

    def __init__(self, desk: DeskModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._rows: list[MeasureRow] = []
        self._measure_index: int | None = None
        self.index_of_score: ScoreIndex | None = None
        desk.piece_opened.connect(self._on_score_read)
        desk.score_read.connect(self._on_score_read)
        desk.selection_changed.connect(self._on_selection_changed)
        self._on_score_read()

    @property
    def rows(self) -> list[MeasureRow]:
        """What is listed."""
        return self._rows

    @property
    def measure_number(self) -> str:
        """The printed number of the measure listed; empty without one."""
        score = self._desk.score
        if score is None or self._measure_index is None:
            return ""
        return score.measures[self._measure_index].number

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """How many rows."""
        return 0 if parent.isValid() else len(self._rows)

    def data(
        self, index: QModelIndex | QPersistentModelIndex, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """The words of a row, for the eye and for a screen reader."""
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return self._sentence(self._rows[index.row()])
        return None

    def _sentence(self, row: MeasureRow) -> str:
        score = self._desk.score
        if score is None or self._measure_index is None:
            return row.words
        measure = score.measures[self._measure_index]
        offset = Fraction(row.onset - measure.onset, score.ticks_per_quarter)
        place = Place(measure_index=self._measure_index, offset_quarters=max(offset, Fraction(0)))
        where = place_names.beat_name(score, place)
        staff = f", staff {row.staff}" if sum(part.staves for part in score.parts) > 1 else ""
        return f"{where}{staff}: {row.words}"

    def _on_score_read(self) -> None:
        score = self._desk.score
        self.index_of_score = ScoreIndex(score) if score is not None else None
        self._measure_index = None
        self._on_selection_changed()

    def _on_selection_changed(self) -> None:
        score, selection = self._desk.score, self._desk.selection
        if score is None:
            wanted = None
        else:
            wanted = selection.passage.start.measure_index if selection else 0
            wanted = min(wanted, len(score.measures) - 1)
        if wanted == self._measure_index and (self._rows or wanted is None):
            return
        self.beginResetModel()
        self._measure_index = wanted
        has_rows = score is not None and wanted is not None
        self._rows = measure_rows(score, wanted) if has_rows else []  # type: ignore[arg-type]  # both are there
        self.endResetModel()


class MeasureList(QListView):
    """The list; moving in it moves the current place."""

    def __init__(self, desk: DeskModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.measure_model = MeasureModel(desk, self)
        self.setModel(self.measure_model)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setUniformItemSizes(True)
        self.measure_model.modelReset.connect(self._on_reset)
        desk.selection_changed.connect(self._follow)
        self._on_reset()

    def currentChanged(
        self,
        current: QModelIndex | QPersistentModelIndex,
        previous: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Select what the person moved to."""
        super().currentChanged(current, previous)
        index = self.measure_model.index_of_score
        if not current.isValid() or index is None or not self.hasFocus():
            return
        selection = index.selection_of(self.measure_model.rows[current.row()].element_id)
        if selection is not None:
            self._desk.select(selection)

    def _on_reset(self) -> None:
        number = self.measure_model.measure_number
        self.setAccessibleName(f"Measure {number}" if number else "The current measure")
        self._follow()

    def _follow(self) -> None:
        """Stand on the row of what is selected."""
        selection = self._desk.selection
        element_id = selection.element_id if selection else None
        for number, row in enumerate(self.measure_model.rows):
            if row.element_id == element_id:
                index = self.measure_model.index(number)
                if index != self.currentIndex():
                    self.setCurrentIndex(index)
                return
