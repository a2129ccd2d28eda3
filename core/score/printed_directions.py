"""What a ``<direction>`` shows, as text.

Conventions: white space is normalised; words keep their spelling. A direction has one kind,
that of its first type; the texts of all its types are joined by a space.

Source: MusicXML 4.0, ``direction-type``.
"""

from __future__ import annotations

from lxml import etree

_TEXT_OF_ITS_OWN = {"words", "rehearsal"}
_BEAT_UNITS = {"beat-unit", "metronome-type"}


def kind_and_text(direction: etree._Element) -> tuple[str, str]:
    """Kind and printed text of a direction; kind "words" and no text when it shows nothing."""
    kind, texts = "", []
    for direction_type in direction.iterchildren("direction-type"):
        for sign in direction_type:
            kind = kind or sign.tag
            if text := _printed(sign):
                texts.append(text)
    return kind or "words", " ".join(texts)


def sign_type(direction: etree._Element) -> str:
    """The ``type`` of the first sign ("start", "stop", "crescendo" ...); empty without one."""
    return next((s.get("type", "") for s in direction.iterfind("direction-type/*")), "")


def words_of(direction: etree._Element) -> str:
    """The words alone, of all types, joined by a space."""
    found = direction.iterfind("direction-type/words")
    return " ".join(filter(None, (squeezed(words.text) for words in found)))


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
    """ "dotted quarter = 46", "quarter = dotted half"; the relation between note groups alike."""
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
