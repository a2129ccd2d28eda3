"""Repeats, endings and jumps: what barlines, sounds and printed words say of a measure.

Conventions: signs of all parts are laid together, measure by measure. Nothing is played here;
``playing_order`` reads the signs as a performer would.

Source: MusicXML 4.0 (``barline``, ``repeat``, ``ending``, ``sound``); the words of jumps are
common practice in Italian, with the English and German forms that printed music has.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache

from lxml import etree

from core.score.events import Events, Indices
from core.score.printed_directions import Direction

SEGNO_GLYPHS, CODA_GLYPHS = "\U0001d10b\ue047", "\U0001d10c\ue048"
"""Unicode's signs and those of SMuFL 1.4 (private use area)."""

_HINTS = ("capo", "coda", "fine", "segno", "d.", "dc", "ds", "§", *SEGNO_GLYPHS, *CODA_GLYPHS)
"""Words without any of these are no signs; most scores never need the patterns below."""
_DA_CAPO = r"\bda\s*capo\b|\bd\.\s*c\b|\bdc\b"
_DAL_SEGNO = rf"\bdal?\s*(segno\b|[{SEGNO_GLYPHS}§])|\bd\.\s*s\b|\bds\b"
_TO_CODA = (
    r"\b(to|zur|zum)\s+(the\s+)?coda\b|^\W*(al|alla|à la)\s+coda\W*$"
    rf"|\b(to|al|alla|zur)\s*[{CODA_GLYPHS}]"
)
_CODA = rf"^\W*coda\W*$|^[\s{CODA_GLYPHS}]*[{CODA_GLYPHS}][\s{CODA_GLYPHS}]*$"
_FINE = r"^\W*fine\W*$"
_SEGNO = rf"^\W*segno\W*$|^\s*[{SEGNO_GLYPHS}]\s*$"

_SIGNS_IN_WORDS = (
    (_DA_CAPO, "dacapo"),
    (_DAL_SEGNO, "dalsegno"),
    (_TO_CODA, "has_to_coda"),
    (_CODA, "has_coda"),
    (_FINE, "has_fine"),
    (_SEGNO, "has_segno"),
)
"""Asked from the top: "D.C. al Fine" is a jump, and no end."""


@lru_cache(maxsize=4096)
def _sign_in_words(text: str) -> str:
    lowered = text.lower()
    if not any(hint in lowered for hint in _HINTS):
        return ""
    found = (sign for pattern, sign in _SIGNS_IN_WORDS if re.search(pattern, text, re.IGNORECASE))
    return next(found, "")


@dataclass(slots=True)
class MeasureSigns:
    """The signs of one measure position, gathered over all parts."""

    repeat_start: bool = False
    repeat_end: bool = False
    repeat_times: int = 2
    ending: tuple[int, ...] = ()
    ending_stops: bool = False
    jump: str | None = None
    jump_target: str = ""
    has_segno: bool = False
    has_coda: bool = False
    has_fine: bool = False
    has_to_coda: bool = False
    has_bare_coda_sign: bool = False
    barline: str = ""


@dataclass(slots=True)
class Signs:
    """The signs of all measures, by measure index."""

    by_measure: list[MeasureSigns] = field(default_factory=list)
    oddities: list[str] = field(default_factory=list)

    def at(self, measure_index: int) -> MeasureSigns:
        """The signs of a measure, made when first asked for."""
        while len(self.by_measure) <= measure_index:
            self.by_measure.append(MeasureSigns())
        return self.by_measure[measure_index]

    def read_barline(self, barline: etree._Element, measure_index: int, cursor: int) -> None:
        """Take in a ``<barline>`` met at ``cursor`` ticks of its measure."""
        location = barline.get("location")
        if location is None:
            forward = barline.find("repeat[@direction='forward']") is not None
            location = "left" if forward and cursor == 0 else "right"
        here = self.at(measure_index)
        for child in barline:
            tag = child.tag
            if tag == "bar-style" and location == "right":
                here.barline = here.barline or (child.text or "").strip()
            elif tag == "repeat":
                self._read_repeat(child, location, measure_index)
            elif tag == "ending":
                self._read_ending(child, measure_index)
            elif tag == "segno":
                here.has_segno = True
            elif tag == "coda" and location == "right":
                here.has_to_coda = True
            elif tag == "coda":
                here.has_coda = True

    def _read_repeat(self, repeat: etree._Element, location: str, measure_index: int) -> None:
        forward = repeat.get("direction") == "forward"
        if location == "middle":
            edge = "start" if forward else "end"
            self.oddities.append(
                f"Measure position {measure_index + 1}: a repeat sign inside the measure is "
                f"read as at its {edge}."
            )
        if forward:
            self.at(measure_index + (location == "right")).repeat_start = True
            return
        closed = self.at(max(measure_index - (location == "left"), 0))
        closed.repeat_end = True
        times = (repeat.get("times") or "").strip()
        if times.isdecimal() and len(times) < 4:
            closed.repeat_times = max(int(times), 1)

    def _read_ending(self, ending: etree._Element, measure_index: int) -> None:
        here = self.at(measure_index)
        if ending.get("type") != "start":
            here.ending_stops = True
            return
        numbers = _ending_numbers(ending.get("number", "")) or _ending_numbers(ending.text or "")
        if numbers:
            here.ending = numbers
        else:
            self.oddities.append(
                f"Measure position {measure_index + 1}: an ending without a number is left out."
            )

    def read_sound(self, sound: etree._Element, measure_index: int) -> None:
        """Take in the jumps of a ``<sound>``."""
        attributes = sound.attrib
        if not attributes:
            return
        here = self.at(measure_index)
        if attributes.get("dacapo") == "yes":
            here.jump = "dacapo"
        if "dalsegno" in attributes:
            here.jump, here.jump_target = "dalsegno", attributes["dalsegno"].strip()
        if "segno" in attributes:
            here.has_segno = True
        here.has_fine |= attributes.get("fine", "no") != "no"
        here.has_to_coda |= "tocoda" in attributes
        here.has_coda |= "coda" in attributes
        here.repeat_start |= attributes.get("forward-repeat") == "yes"

    def read_direction(self, direction: Direction) -> None:
        """Take in the words and signs of a direction ("To" and a coda sign are one jump)."""
        here, words = self.at(direction.measure_index), direction.words
        if "coda" in direction.signs and words and "coda" not in words.lower():
            words += " coda"
        meaning = _sign_in_words(words) if words else ""
        if meaning in ("dacapo", "dalsegno"):
            here.jump = here.jump or meaning
        elif meaning:
            setattr(here, meaning, True)
        elif "coda" in direction.signs:
            here.has_bare_coda_sign = True
        if "segno" in direction.signs and meaning != "dalsegno":
            here.has_segno = True

    def settle(self, measure_count: int) -> None:
        """Decide what needs the whole score: coda signs without words, stray signs."""
        self.at(max(measure_count - 1, 0))
        if any(signs.repeat_start for signs in self.by_measure[measure_count:]):
            self.oddities.append("A repeat starts after the last measure; it is left out.")
        del self.by_measure[measure_count:]
        if sum(signs.has_segno for signs in self.by_measure) <= 1:
            for signs in self.by_measure:
                signs.jump_target = ""
        self._settle_codas()

    def _settle_codas(self) -> None:
        """A bare coda sign is where the coda starts; an earlier one is where one leaves for it."""
        signs = self.by_measure
        bare = [s for s in signs if s.has_bare_coda_sign and not (s.has_coda or s.has_to_coda)]
        if not bare:
            return
        if any(s.has_to_coda for s in signs):
            for s in bare:
                s.has_coda = True
            return
        last_coda = max((i for i, s in enumerate(signs) if s.has_coda or s in bare), default=0)
        for index, s in enumerate(signs):
            if any(s is other for other in bare):
                s.has_to_coda, s.has_coda = index < last_coda, index == last_coda


def read_signs(events: Events, onsets: Indices, directions: list[Direction]) -> Signs:
    """Gather the signs of all parts.

    Parameters
    ----------
    onsets : shape (events,), ticks, local to the measures.
    directions : list of Direction
    """
    signs = Signs()
    for event, barline in events.elements("barline"):
        signs.read_barline(barline, int(events.measures[event]), int(onsets[event]))
    for event, sound in events.elements("sound"):
        signs.read_sound(sound, int(events.measures[event]))
    for direction in directions:
        signs.read_direction(direction)
    return signs


def spread_endings(by_measure: list[MeasureSigns]) -> list[tuple[tuple[int, ...], bool, bool]]:
    """Lay each ending over its measures.

    An ending without a stop reaches to the next repeat sign or ending, or is one measure long.

    Returns
    -------
    list of (numbers, starts, stops), one a measure
    """
    spread: list[tuple[tuple[int, ...], bool, bool]] = [((), False, False)] * len(by_measure)
    for first, signs in enumerate(by_measure):
        if not signs.ending:
            continue
        last = _last_of_ending(by_measure, first)
        for index in range(first, last + 1):
            spread[index] = (signs.ending, index == first, index == last)
    return spread


def _last_of_ending(by_measure: list[MeasureSigns], first: int) -> int:
    for index in range(first, len(by_measure)):
        if index > first and by_measure[index].ending:
            return index - 1
        if by_measure[index].ending_stops or by_measure[index].repeat_end:
            return index
    return first


def _ending_numbers(text: str) -> tuple[int, ...]:
    """Numbers of an ending as printed: "1, 2", "1.-3."."""
    numbers: list[int] = []
    for first, last in re.findall(r"(\d{1,3})\.?(?:\s*[-\u2013]\s*(\d{1,3}))?", text):
        numbers.extend(range(int(first), int(last or first) + 1))
    return tuple(dict.fromkeys(numbers))
