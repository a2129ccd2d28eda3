"""The current place in words of its form: "A, 1st and 2nd statement", "G Dorian"."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import TypeVar

from PySide6.QtCore import QObject, QTimer, Signal

from app.form.form_model import FormModel
from app.form.form_parts import Box, KeySegment
from app.form.played_time import Stretch
from app.tonality.signs import with_signs
from core.score.statements import Statement, ordinal

QUIET_MS = 40
"""While the place changes faster than that, nothing is said anew."""
MOST_LISTED = 3


class PlaceWords(QObject):
    """Statements and key of the current place.

    Attributes
    ----------
    statements, key : str
        Empty where nothing is selected, or nothing known.
    """

    changed = Signal()

    def __init__(self, form: FormModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._form = form
        self.statements = self.key = ""
        self._waiting = QTimer(self)
        self._waiting.setSingleShot(True)
        self._waiting.setInterval(QUIET_MS)
        self._waiting.timeout.connect(self._tell)
        for signal in (
            form.here_changed,
            form.statement_changed,
            form.boxes_changed,
            form.keys_changed,
        ):
            # A change while it waits makes it wait anew: that is all that scrolling costs.
            signal.connect(self._waiting.start)

    def _tell(self) -> None:
        said = statement_words(self._form), key_words(self._form)
        if said != (self.statements, self.key):
            self.statements, self.key = said
            self.changed.emit()


def statement_words(form: FormModel) -> str:
    """Which statements hold the current place: "A, 1st and 2nd statement", "A′ to C"."""
    if form.statement is not None:
        boxes = [box for box in form.boxes if box.statement == form.statement]
    else:
        boxes = [box for stretch in form.here for box in _touched(form.boxes, stretch)]
    labels = {box.statement: _primed(box.label) for box in boxes if box.statement is not None}
    if not labels:
        return ""
    found = list(labels)
    if len({statement.section for statement in found}) == 1:
        return _named(labels[found[0]], found)
    written = sorted(found, key=lambda statement: statement.passage.start.moment)
    ends = (labels[written[0]], labels[written[-1]])
    return " to ".join(filter(None, ends))


def key_words(form: FormModel) -> str:
    """The key of the current place: "G Dorian"; from the first to the last of several."""
    if not form.here:
        return ""
    stretch = form.here[0]
    if form.statement is not None and form.time is not None:
        own = form.time.stretch_of(form.statement)
        inside = (each for each in form.here if own.start <= each.start <= own.end)
        stretch = next(inside, stretch)
    names = [segment.name for segment in _touched(form.keys, stretch)]
    if not names:
        return ""
    ends = (names[0],) if names[0] == names[-1] else (names[0], names[-1])
    return with_signs(" to ".join(ends))


_PartT = TypeVar("_PartT", Box, KeySegment)


def _touched(parts: Sequence[_PartT], stretch: Stretch) -> Sequence[_PartT]:
    """Those that sound in a stretch, or at a point."""
    first = bisect_right(parts, stretch.start, key=lambda part: part.end)
    is_point = stretch.end == stretch.start
    find = bisect_right if is_point else bisect_left
    return parts[first : find(parts, stretch.end, key=lambda part: part.start)]


def _named(label: str, soundings: Sequence[Statement]) -> str:
    """Soundings of one section."""
    if soundings[0].count == 1:
        return label
    numbers = f"{_listed([each.number for each in soundings])} statement"
    return f"{label}, {numbers}" if label else numbers


def _primed(label: str) -> str:
    return label.replace("'", "\N{PRIME}")


def _listed(numbers: Sequence[int]) -> str:
    """Numbers as "1st and 2nd"; more than three in a row as "1st to 5th"."""
    if len(numbers) > MOST_LISTED and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"{ordinal(numbers[0])} to {ordinal(numbers[-1])}"
    words = [ordinal(number) for number in numbers]
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))
