"""What stands between the notes of music21: keys, metres, clefs, directions, slurs, endings."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from core.score.formats.drafts import Barline, Change, Clef, DraftMeasure, Event, Sign
from core.score.formats.note_shapes import TYPES

_MODES = frozenset(("major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "aeolian",
                    "ionian", "locrian"))  # fmt: skip
_NUMBERS = 6
"""MusicXML tells spans that overlap apart by numbers up to here."""
_NAMES: dict[type, frozenset[str]] = {}


def class_names(element: Any) -> frozenset[str]:
    """Names of an object's class and all above it; worked out once a class."""
    kind: type = type(element)
    names = _NAMES.get(kind)
    if names is None:
        names = _NAMES[kind] = frozenset(parent.__name__ for parent in kind.__mro__)
    return names


def change_of(element: Any, onset: Fraction, names: frozenset[str]) -> Change | None:
    """A key, metre or clef; None for anything else."""
    if "Clef" in names:
        clef = _clef(element)
        return None if clef is None else Change(onset, 1, clef=clef)
    if "KeySignature" in names:
        if element.sharps is None:
            return None
        mode = element.mode if "Key" in names and element.mode in _MODES else ""
        return Change(onset, 0, key=(int(element.sharps), mode))
    if "SenzaMisuraTimeSignature" in names:
        return Change(onset, 0, metre=("", ""))
    if "TimeSignature" in names:
        return Change(onset, 0, metre=_metre(element))
    return None


def _clef(clef: Any) -> Clef | None:
    sign = clef.sign
    if sign == "percussion":
        return Clef("percussion", None)
    if sign not in ("G", "F", "C"):
        return None
    return Clef(sign, clef.line, int(clef.octaveChange or 0))


def _metre(signature: Any) -> tuple[str, str]:
    beats, _, beat_type = str(signature.ratioString).rpartition("/")
    if "/" in beats:
        return str(signature.numerator), str(signature.denominator)
    return beats.replace(" ", ""), beat_type


def first_of_one_kind(changes: list[Change]) -> list[Change]:
    """One key, one metre and one clef an onset.

    Where a key signature and a key stand together (Humdrum has both), the signature is what is
    printed, and the key adds its mode where the two agree.
    """
    kept: dict[tuple[Fraction, str], Change] = {}
    for change in changes:
        kind = "key" if change.key else "metre" if change.metre else "clef"
        place = change.onset, kind
        first = kept.get(place)
        if first is None:
            kept[place] = change
        elif first.key and change.key and first.key[0] == change.key[0]:
            kept[place] = first if first.key[1] else change
    return list(kept.values())


def sign_of(element: Any, onset: Fraction, names: frozenset[str]) -> list[Sign]:
    """A direction as signs; nothing for what is none."""
    if "Dynamic" in names:
        return [Sign(onset, 1, "dynamics", str(element.value))]
    if "TempoIndication" in names:
        return _tempo(element, onset, names)
    if "RehearsalMark" in names:
        return [Sign(onset, 1, "rehearsal", str(element.content))]
    if "TextExpression" in names:
        return [Sign(onset, 1, "words", str(element.content))] if element.content else []
    if "Segno" in names:
        return [Sign(onset, 1, "segno", "")]
    if "Coda" in names:
        return [Sign(onset, 1, "coda", "")]
    if "RepeatExpression" in names:
        words = element.getText()
        return [Sign(onset, 1, "words", str(words))] if words else []
    return []


def _tempo(element: Any, onset: Fraction, names: frozenset[str]) -> list[Sign]:
    signs = []
    if "MetronomeMark" in names:
        if element.text and not element.textImplicit:
            signs.append(Sign(onset, 1, "words", str(element.text)))
        if element.number is not None and not element.numberImplicit:
            referent = element.referent
            if referent.type in TYPES:
                number = f"{float(element.number):g}"
                text = f"{referent.type}|{referent.dots}|{number}"
                signs.append(Sign(onset, 1, "metronome", text))
    elif "TempoText" in names and element.text:
        signs.append(Sign(onset, 1, "words", str(element.text)))
    return signs


@dataclass(slots=True)
class Spans:
    """What reaches over notes or measures, by the identity of music21's objects."""

    slurs: dict[int, tuple[tuple[int, str], ...]] = field(default_factory=dict)
    wedges: dict[int, list[tuple[str, int, bool]]] = field(default_factory=dict)
    endings: dict[int, list[tuple[str, str]]] = field(default_factory=dict)

    def wedge_signs(self, element: Any, event: Event) -> list[Sign]:
        """The wedges that begin or end with a note."""
        return [
            Sign(
                event.onset if is_start else event.onset + event.quarters,
                1,
                "wedge",
                kind if is_start else "stop",
                number,
            )
            for kind, number, is_start in self.wedges[id(element)]
        ]

    def put_endings(self, container: Any, measure: DraftMeasure) -> None:
        """Write an ending's start and stop into a measure's barlines."""
        for number, edge in self.endings.get(id(container), ()):
            if edge == "start":
                measure.left = measure.left or Barline()
                measure.left.endings.append((number, "start"))
            else:
                measure.right = measure.right or Barline()
                measure.right.endings.append((number, "stop"))


def spans_of(score: Any) -> Spans:
    """All spans of a score and its parts."""
    spans = Spans()
    slurs: dict[int, list[tuple[int, str]]] = defaultdict(list)
    wedges: dict[int, list[tuple[str, int, bool]]] = defaultdict(list)
    found = [e for holder in (score, *score.parts) for e in holder.elements if _is_span(e)]
    slur_count = wedge_count = 0
    for span in found:
        names, first, last = class_names(span), span.getFirst(), span.getLast()
        if first is None or last is None:
            continue
        if "RepeatBracket" in names:
            printed = str(span.number).replace("-", ",") if span.number else "1"
            spans.endings.setdefault(id(first), []).append((printed, "start"))
            spans.endings.setdefault(id(last), []).append((printed, "stop"))
        elif "Slur" in names and first is not last:
            number = slur_count % _NUMBERS + 1
            slur_count += 1
            slurs[id(first)].append((number, "start"))
            slurs[id(last)].append((number, "stop"))
        elif "DynamicWedge" in names:
            kind = "crescendo" if "Crescendo" in names else "diminuendo"
            number = wedge_count % _NUMBERS + 1
            wedge_count += 1
            wedges[id(first)].append((kind, number, True))
            wedges[id(last)].append((kind, number, False))
    spans.slurs = {key: tuple(marks) for key, marks in slurs.items()}
    spans.wedges = dict(wedges)
    return spans


def _is_span(element: Any) -> bool:
    return "Spanner" in class_names(element)
