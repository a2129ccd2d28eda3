"""The elements of all measures as one flat stream, in columns.

Conventions: an *event* is a part, a measure, or anything directly in a measure that has a place
in time; a *detail* is a child that says something of the event before it. Both are met in
document order in a single walk, since asking each note for each of its children by name costs
several times what parsing the file did. The walk keeps the texts of details that have one, and
the elements of whatever has only a few of its kind (directions, attributes, barlines, ties).

Source: MusicXML 4.0 (``measure`` and the elements in it).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import islice
from typing import NoReturn, TypeVar

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from core.errors import UnreadableFileError
from core.score.looks_like import EXPORT
from core.score.quoting import shown

Indices = NDArray[np.int64]
Mask = NDArray[np.bool_]
T = TypeVar("T")

_PARTS, _MEASURES = etree.XPath("count(part)"), etree.XPath("count(part/measure)")

_EVENT_TAGS = ("part", "measure", "note", "backup", "forward", "attributes", "direction",
               "barline", "sound", "harmony", "figured-bass")  # fmt: skip
_TEXT_TAGS = ("step", "alter", "octave", "duration", "voice", "staff")
_DETAIL_TAGS = (*_TEXT_TAGS, "chord", "grace", "cue", "rest", "unpitched", "tie", "tied")
_FETCHED = ("part", "measure", "attributes", "direction", "barline", "sound", "rest",
            "unpitched", "tie", "tied")  # fmt: skip
_CODES = {tag: code for code, tag in enumerate((*_EVENT_TAGS, *_DETAIL_TAGS))}

TOLD_ONE_BY_ONE = 20
"""Oddities of one kind that are told with their places."""


class UnreadableTextError(Exception):
    """A text of the file can't be read; its one argument says why, as the start of a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Events:
    """Events and their details.

    Parameters
    ----------
    root : lxml element, ``score-partwise``.
    name : str
        The file as the person named it, for errors.
    kinds : int8, shape (events,): the event's tag as a number; see ``of``.
    parts : int64, shape (events,): position of the part, from 0.
    measures : int64, shape (events,): position of the measure in its part, from 0.
    measure_events : int64, shape (events,): the event that is the measure around it.
    ids : list of str, of the notes, in document order.
    codes, owners : of events and details alike, in document order.
    texts, fetched : texts and elements by tag, in document order.
    """

    root: etree._Element
    name: str
    kinds: NDArray[np.int8]
    parts: Indices
    measures: Indices
    measure_events: Indices
    ids: list[str]
    codes: NDArray[np.int8]
    owners: Indices
    texts: dict[str, list[str | None]]
    fetched: dict[str, list[etree._Element]]

    def __len__(self) -> int:
        return len(self.kinds)

    def are(self, tag: str) -> Mask:
        """Whether each event has that tag."""
        return np.equal(self.kinds, _CODES[tag])

    def of(self, tag: str) -> Indices:
        """Indices of the events with that tag."""
        return np.flatnonzero(self.are(tag))

    def elements(self, tag: str) -> list[tuple[int, etree._Element]]:
        """Events with that tag, each with its element."""
        return list(zip(self.of(tag).tolist(), self.fetched[tag], strict=True))

    def with_detail(self, tag: str) -> Mask:
        """Whether each event has such a detail."""
        mask = np.zeros(len(self), dtype=np.bool_)
        mask[self.owners[self.codes == _CODES[tag]]] = True
        return mask

    def details(self, tag: str, meaning: Callable[[str | None], T]) -> tuple[Indices, list[T]]:
        """Events that have such a detail, and what its texts mean.

        Parameters
        ----------
        meaning : function of a text; asked once for each different text. Raises
            ``UnreadableTextError`` for one that has none.

        Raises
        ------
        UnreadableFileError
            A text has no meaning; it names measure and line.
        """
        owners = self.owners[self.codes == _CODES[tag]]
        known: dict[str | None, T] = {}
        found = self.texts[tag]
        for text in dict.fromkeys(found):
            try:
                known[text] = meaning(text)
            except UnreadableTextError as error:
                self.fail(int(owners[found.index(text)]), str(error))
        return owners, list(map(known.__getitem__, found))

    def detail_elements(self, tag: str) -> list[tuple[int, etree._Element]]:
        """Events that have such a detail, each with the detail's element."""
        owners = self.owners[self.codes == _CODES[tag]]
        return list(zip(owners.tolist(), self.fetched[tag], strict=True))

    def element(self, event: int) -> etree._Element:
        """The element of one event; it walks there, so for messages only."""
        return next(islice(self.root.iter(*_EVENT_TAGS), event, None))

    def told(self, events: Indices, sentence: str) -> list[str]:
        """Oddities with their places: "Measure 7, part P1: ...", the first few one by one."""
        if not len(events):
            return []
        numbers = {event: shown(e.get("number")) or "?" for event, e in self.elements("measure")}
        told = [
            f"Measure {numbers[int(self.measure_events[event])]}, part P{self.parts[event] + 1}: "
            f"{sentence}"
            for event in events[:TOLD_ONE_BY_ONE].tolist()
        ]
        more = len(events) - TOLD_ONE_BY_ONE
        return told if more <= 0 else [*told, f"In {more} more places: {sentence}"]

    def fail(self, event: int, what: str) -> NoReturn:
        """Refuse the file at an event; ``what`` is the start of a sentence."""
        number = shown(self.element(int(self.measure_events[event])).get("number"))
        place = f"measure {number or '?'} of part P{int(self.parts[event]) + 1}"
        if line := self.element(event).sourceline:
            place += f", line {line}"
        raise UnreadableFileError(self.name, f"{what}. {EXPORT}", place)


def read_events(root: etree._Element, *, name: str, note_ids: list[str] | None = None) -> Events:
    """Walk a canonical tree once.

    Parameters
    ----------
    note_ids : list of str or None
        In the order of the file, where they are known already.

    Raises
    ------
    UnreadableFileError
        Music stands outside any measure, or measures within others.
    """
    codes, texts, fetched = _walked(root)
    code = np.frombuffer(codes, dtype=np.int8)
    is_event = code < len(_EVENT_TAGS)
    kinds = code[is_event]
    is_part, is_measure = kinds == _CODES["part"], kinds == _CODES["measure"]
    parts, ordinals = np.cumsum(is_part) - 1, np.cumsum(is_measure)
    measures = ordinals - np.append(ordinals[is_part], 0)[parts] - 1
    if np.any(parts < 0) or np.any((measures < 0) & ~is_part):
        raise UnreadableFileError(name, f"It has music outside any measure. {EXPORT}")
    ids = note_ids or [note.get("id", "") for note in root.iterfind("part/measure/note")]
    if len(ids) != np.count_nonzero(kinds == _CODES["note"]):
        raise UnreadableFileError(name, f"It has notes where none can stand. {EXPORT}")
    if (_PARTS(root), _MEASURES(root)) != (np.count_nonzero(is_part), np.count_nonzero(is_measure)):
        raise UnreadableFileError(name, f"It has measures where none can stand. {EXPORT}")
    return Events(
        root=root,
        name=name,
        kinds=kinds,
        parts=parts,
        measures=measures,
        measure_events=np.maximum.accumulate(np.where(is_measure, np.arange(len(kinds)), 0)),
        ids=ids,
        codes=code,
        owners=np.cumsum(is_event) - 1,
        texts=texts,
        fetched=fetched,
    )


def _walked(
    root: etree._Element,
) -> tuple[bytearray, dict[str, list[str | None]], dict[str, list[etree._Element]]]:
    """Codes of events and details, and what is kept of them; every reading waits for this loop."""
    codes = bytearray()
    texts: dict[str, list[str | None]] = {tag: [] for tag in _TEXT_TAGS}
    fetched: dict[str, list[etree._Element]] = {tag: [] for tag in _FETCHED}
    add_code = codes.append
    add_text = {tag: found.append for tag, found in texts.items()}
    fetch = {tag: found.append for tag, found in fetched.items()}
    kept = {tag: (code, add_text.get(tag), fetch.get(tag)) for tag, code in _CODES.items()}
    for element in root.iter(*_CODES):
        code, add, keep = kept[element.tag]
        add_code(code)
        if add:
            add(element.text)
        elif keep:
            keep(element)
    return codes, texts, fetched
