"""What a window remembers from one day to the next, in a small file beside the notebook."""

from __future__ import annotations

import json
from fractions import Fraction

from PySide6.QtCore import QByteArray, QSettings

from app.desk.selection import Selection
from core.notebook.values import AnchorKind
from core.score.places import Passage, Place


class Remembered:
    """The settings, by name and type; a damaged entry is as good as none."""

    def __init__(self, settings: QSettings) -> None:
        self._settings = settings

    @property
    def geometry(self) -> QByteArray | None:
        """As ``QWidget.saveGeometry`` gives it."""
        value = self._settings.value("window/geometry")
        return value if isinstance(value, QByteArray) else None

    @geometry.setter
    def geometry(self, value: QByteArray) -> None:
        self._settings.setValue("window/geometry", value)

    def is_folded(self, panel: str) -> bool:
        """Whether the person folded a panel ("shelf", "here", "measure")."""
        return str(self._settings.value(f"folded/{panel}", "false")) == "true"

    def fold(self, panel: str, is_folded: bool) -> None:
        """Remember that a panel is folded, or not."""
        self._settings.setValue(f"folded/{panel}", "true" if is_folded else "false")

    def number(self, name: str) -> int:
        """A whole number; 0 where there is none."""
        text = str(self._settings.value(name, "0"))
        return int(text) if text.isdecimal() else 0

    def set_number(self, name: str, value: int) -> None:
        """Remember a whole number."""
        self._settings.setValue(name, str(value))

    @property
    def folder(self) -> str:
        """Where files were brought in from last."""
        return str(self._settings.value("files/folder", ""))

    @folder.setter
    def folder(self, value: str) -> None:
        self._settings.setValue("files/folder", value)

    @property
    def selection(self) -> Selection | None:
        """What was selected in the piece that was open."""
        try:
            return _selection(json.loads(str(self._settings.value("desk/selection", ""))))
        except (ValueError, TypeError, KeyError):
            return None

    @selection.setter
    def selection(self, value: Selection | None) -> None:
        text = "" if value is None else json.dumps(_table(value))
        self._settings.setValue("desk/selection", text)

    def save(self) -> None:
        """Write the file now."""
        self._settings.sync()


def _table(selection: Selection) -> dict[str, object]:
    start, end = selection.passage.start, selection.passage.end
    return {
        "kind": selection.kind.value,
        "start": [start.measure_index, str(start.offset_quarters), start.staff, start.voice],
        "end": [end.measure_index, str(end.offset_quarters), end.staff, end.voice],
        "note": start.note_id,
        "element": selection.element_id,
    }


def _selection(table: object) -> Selection:
    if not isinstance(table, dict):
        raise TypeError(f"a selection is a table, not {table!r}")
    note = table.get("note")
    start, end = _place(table["start"], note), _place(table["end"], None)
    element = table.get("element")
    passage = Passage.at(start) if start.moment == end.moment else Passage(start=start, end=end)
    return Selection(
        kind=AnchorKind(str(table["kind"])),
        passage=passage,
        element_id=None if element is None else str(element),
    )


def _place(values: object, note_id: object) -> Place:
    if not isinstance(values, list):
        raise TypeError(f"a place is a list, not {values!r}")
    index, offset, staff, voice = values
    return Place(
        measure_index=int(index),
        offset_quarters=Fraction(offset),
        staff=staff,
        voice=voice,
        note_id=None if note_id is None else str(note_id),
    )
