"""The printed directions of a score, and what each shows, as text.

Conventions: white space is normalised; words keep their spelling. A direction has one kind,
that of its first type; the texts of all its types are joined by a space.

Source: MusicXML 4.0, ``direction-type``.
"""

from __future__ import annotations

from typing import NamedTuple

from lxml import etree

from core.score.events import Events, Indices, UnreadableTextError
from core.score.score import RawDirection
from core.score.timing import Timing, in_fine_divisions

_TEXT_OF_ITS_OWN = {"words", "rehearsal"}
_BEAT_UNITS = {"beat-unit", "metronome-type"}


class Direction(NamedTuple):
    """A direction as read, with an onset local to its measure; then its words and signs."""

    id: str
    measure_index: int
    onset: int
    part: int
    staff: int
    kind: str
    text: str
    placement: str | None
    words: str
    signs: tuple[str, ...]

    def placed(self, measure_onset: int) -> RawDirection:
        """With the onset in the whole score; before its start there is nothing."""
        onset = max(measure_onset + self.onset, 0)
        return RawDirection(
            id=self.id,
            measure_index=self.measure_index,
            onset=onset,
            part=self.part,
            staff=self.staff,
            kind=self.kind,
            text=self.text,
            placement=self.placement,
        )


def read_directions(
    events: Events, timing: Timing, staves: Indices, fineness: int
) -> list[Direction]:
    """All directions in the order of the file.

    Parameters
    ----------
    staves : shape (events,), counted through the whole score.
    fineness : int, of the common division.

    Raises
    ------
    UnreadableFileError
        An offset is no number.
    """
    where = events.of("direction")
    columns = (events.measures, timing.onsets, events.parts, staves)
    placed = zip(*[column[where].tolist() for column in columns], strict=True)
    directions = []
    for (event, element), (measure, onset, part, staff) in zip(
        events.elements("direction"), placed, strict=True
    ):
        shown, offset = [], 0
        for child in element:
            tag = child.tag
            if tag == "direction-type":
                shown += child
            elif tag == "offset":
                offset = _offset(events, timing, event, child, fineness)
        signs = tuple([sign.tag for sign in shown])
        texts = [_printed(sign) for sign in shown]
        words = [text for text, sign in zip(texts, signs, strict=True) if sign == "words"]
        directions.append(
            Direction(
                element.get("id", ""),
                measure,
                onset + offset,
                part,
                staff,
                signs[0] if signs else "words",
                " ".join(filter(None, texts)),
                element.get("placement"),
                " ".join(words),
                signs,
            )
        )
    return directions


def _offset(
    events: Events, timing: Timing, event: int, offset: etree._Element, fineness: int
) -> int:
    try:
        return in_fine_divisions(offset.text, fineness) * int(timing.scale[event])
    except UnreadableTextError as error:
        events.fail(event, str(error))


def squeezed(text: str | None) -> str:
    """Text with its white space normalised."""
    return " ".join((text or "").split())


def _printed(sign: etree._Element) -> str:
    tag = sign.tag
    if tag in _TEXT_OF_ITS_OWN:
        return squeezed(sign.text)
    if tag == "dynamics":
        return "".join(
            squeezed(mark.text) if mark.tag == "other-dynamics" else mark.tag for mark in sign
        )
    if tag == "wedge":
        return sign.get("type", "") if sign.get("type") in ("crescendo", "diminuendo") else ""
    if tag == "metronome":
        return _metronome(sign)
    return squeezed(sign.text) if tag == "other-direction" else ""


def _metronome(metronome: etree._Element) -> str:
    """As "dotted quarter = 46", "quarter = dotted half"; relations of note groups alike."""
    sides, dots = [], 0
    for element in reversed(list(metronome.iter())):
        tag = element.tag
        if tag in ("beat-unit-dot", "metronome-dot"):
            dots += 1
        elif tag in _BEAT_UNITS:
            sides.append("dotted " * (dots == 1) + "double-dotted " * (dots > 1))
            sides[-1] += squeezed(element.text)
            dots = 0
        elif tag == "per-minute":
            sides.append(squeezed(element.text))
        elif tag == "metronome-relation":
            sides.append("=")
    sides.reverse()
    shown = " ".join(sides) if "=" in sides else " = ".join(sides)
    return f"({shown})" if metronome.get("parentheses") == "yes" else shown
