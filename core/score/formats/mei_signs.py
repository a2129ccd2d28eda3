"""What stands between the notes in MEI: clefs, keys, metres, barlines and directions.

Source: MEI Guidelines 5.0, 2023: ``scoreDef``, ``staffDef``, ``keySig``, ``meterSig``, ``clef``,
``data.BARRENDITION``, and the control events ``dynam``, ``dir``, ``tempo``, ``hairpin`` ...
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from lxml import etree

from core.score.formats.drafts import Barline, Change, Clef, Sign
from core.score.formats.mei_notes import TYPE_OF_DURATION, Attached, contents, tag_of, text_in

_START = Fraction(0)
_SYMBOLS = {"common": ("4", "4"), "cut": ("2", "2"), "open": ("", "")}
_LEFT = {"rptstart": "forward", "rptboth": "forward"}
_RIGHT = {"rptend": "backward", "rptboth": "backward"}
_STYLES = {
    "dashed": "dashed", "dotted": "dotted", "dbl": "light-light", "end": "light-heavy",
    "invis": "none", "heavy": "heavy", "dblheavy": "heavy-heavy",
}  # fmt: skip
_PRIVATE = re.compile("[\ue000-\uf8ff\U0001d100-\U0001d1ff]")
_NUMBER = re.compile(r"[(]?\s*=\s*(?:c(?:a|irca)?\.?\s*)?\d[\d.\s\u2013-]*[)]?")
_ORNAMENTS = {
    "fermata": ("fermata", {}),
    "trill": ("ornaments/trill-mark", {}),
    "mordent": ("ornaments/mordent", {"upper": "ornaments/inverted-mordent"}),
    "turn": ("ornaments/turn", {"lower": "ornaments/inverted-turn"}),
    "breath": ("articulations/breath-mark", {}),
    "caesura": ("articulations/caesura", {}),
    "arpeg": ("arpeggiate", {}),
}
"""Marks of notes that stand apart from them: what they usually are, and by ``form``."""
_PEDALS = {"down": "start", "up": "stop", "bounce": "change"}
_FUNCTIONS = {"segno": "segno", "coda": "coda"}
_WORDS_OF_FUNCTION = {"fine": "Fine", "daCapo": "D.C.", "dalSegno": "D.S."}


def changes_in(definition: etree._Element, staff: int) -> Iterator[Change]:
    """The clef, key and metre of a ``scoreDef`` or ``staffDef``, or that such an element is."""
    inside = dict(contents(definition))
    tag = tag_of(definition)
    clef = definition if tag == "clef" else inside.get("clef")
    found = _clef(clef, "") if clef is not None else _clef(definition, "clef.")
    if found is not None:
        yield Change(_START, staff, clef=found)
    key = definition if tag == "keySig" else inside.get("keySig")
    signature = _key(key, definition)
    if signature is not None:
        yield Change(_START, staff, key=signature)
    metre = _metre(definition if tag == "meterSig" else inside.get("meterSig"), definition)
    if metre is not None:
        yield Change(_START, staff, metre=metre)


def _clef(element: etree._Element, prefix: str) -> Clef | None:
    shape, line = element.get(f"{prefix}shape"), element.get(f"{prefix}line", "")
    if shape == "perc":
        return Clef("percussion", None)
    if shape == "GG":
        return Clef("G", 2, -1)
    if shape not in ("G", "F", "C"):
        return None
    octaves = {"8": 1, "15": 2}.get(element.get(f"{prefix}dis", ""), 0)
    if element.get(f"{prefix}dis.place") == "below":
        octaves = -octaves
    usual = {"G": 2, "F": 4, "C": 3}[shape]
    return Clef(shape, int(line) if line.isdecimal() else usual, octaves)


def _key(element: etree._Element | None, definition: etree._Element) -> tuple[int, str] | None:
    said, mode = None, ""
    if element is not None:
        said, mode = element.get("sig"), element.get("mode", "")
    said = said or definition.get("keysig") or definition.get("key.sig")
    mode = mode or definition.get("key.mode", "")
    found = re.fullmatch(r"(\d{1,2})([sf]?)", said or "")
    if found is None:
        return None
    fifths = int(found[1])
    return -fifths if found[2] == "f" else fifths, mode if mode in ("major", "minor") else ""


def _metre(element: etree._Element | None, definition: etree._Element) -> tuple[str, str] | None:
    said, prefix = (definition, "meter.") if element is None else (element, "")
    count, unit = said.get(f"{prefix}count", ""), said.get(f"{prefix}unit", "")
    symbol = said.get(f"{prefix}sym", "")
    if re.fullmatch(r"\d{1,3}(\s*\+\s*\d{1,3})*", count) and unit.isdecimal() and int(unit):
        return count.replace(" ", ""), unit
    return _SYMBOLS.get(symbol)


def barlines_of(measure: etree._Element) -> tuple[Barline | None, Barline | None]:
    """The left and the right barline, as far as they say something."""
    left, right = measure.get("left", ""), measure.get("right", "")
    first = Barline(style="heavy-light", repeat="forward") if left in _LEFT else None
    if right in _RIGHT:
        return first, Barline(style="light-heavy", repeat="backward")
    return first, Barline(style=_STYLES[right]) if right in _STYLES else None


def attached_in(music: etree._Element) -> Attached:
    """Slurs, ties and ornaments of the whole piece, which name their notes by id."""
    attached = Attached()
    slurs = 0
    for element in music.iter("{*}tie", "{*}slur", *(f"{{*}}{tag}" for tag in _ORNAMENTS)):
        tag = tag_of(element)
        start, end = _named(element, "startid"), _named(element, "endid")
        if tag == "tie":
            attached.ties.setdefault(start, set()).add("start")
            attached.ties.setdefault(end, set()).add("stop")
        elif tag == "slur":
            if start and end and start != end:
                number = slurs % 6 + 1
                slurs += 1
                attached.slurs.setdefault(start, []).append((number, "start"))
                attached.slurs.setdefault(end, []).append((number, "stop"))
        else:
            targets = [start, *(one.lstrip("#") for one in element.get("plist", "").split())]
            for target in filter(None, targets):
                usual, by_form = _ORNAMENTS[tag]
                mark = by_form.get(element.get("form", ""), usual)
                attached.marks.setdefault(target, []).append(mark)
    return attached


def _named(element: etree._Element, attribute: str) -> str:
    return str(element.get(attribute, "")).lstrip("#")


def signs_of(tag: str, element: etree._Element, onset: Fraction, staff: int) -> list[Sign]:
    """A control event as signs; a hairpin's end is not among them."""
    text = text_in(element)
    if tag == "dynam":
        return [Sign(onset, staff, "dynamics" if _is_mark(text) else "words", text)] if text else []
    if tag == "dir" and text:
        return [Sign(onset, staff, "words", _PRIVATE.sub("", text).strip() or text)]
    if tag == "reh" and text:
        return [Sign(onset, staff, "rehearsal", text)]
    if tag == "tempo":
        return _tempo(element, text, onset, staff)
    if tag == "hairpin":
        kind = "diminuendo" if element.get("form") == "dim" else "crescendo"
        return [Sign(onset, staff, "wedge", kind)]
    if tag == "pedal":
        moved = _PEDALS.get(element.get("dir", ""))
        return [Sign(onset, staff, "pedal", moved)] if moved else []
    if tag == "repeatMark":
        function = element.get("func", "")
        if function in _FUNCTIONS:
            return [Sign(onset, staff, _FUNCTIONS[function], "")]
        words = text or _WORDS_OF_FUNCTION.get(function, "")
        return [Sign(onset, staff, "words", words)] if words else []
    return []


def _is_mark(text: str) -> bool:
    return re.fullmatch(r"[pf]{1,6}|m[pf]|s?f+z?p{0,2}|r?fz?|n", text) is not None


def _tempo(element: etree._Element, text: str, onset: Fraction, staff: int) -> list[Sign]:
    signs = []
    words = " ".join(_NUMBER.sub("", _PRIVATE.sub("", text)).split())
    if words:
        signs.append(Sign(onset, staff, "words", words))
    unit = TYPE_OF_DURATION.get(element.get("mm.unit", ""))
    number = element.get("mm", "")
    if unit and re.fullmatch(r"\d{1,4}(\.\d+)?", number):
        dots = element.get("mm.dots", "0")
        dots = dots if dots in ("1", "2") else "0"
        signs.append(Sign(onset, staff, "metronome", f"{unit}|{dots}|{number}"))
    return signs
