"""Humdrum: the ``**kern`` spines of a file into a draft.

Conventions: music21 parses. Spines stand from the lowest staff to the highest, so the last one
is the first part. Slurs, and the order of sections in an expansion list (``*>[A,B]``), are not
taken.

Source: D. Huron, The Humdrum Toolkit: Reference Manual, 1994 (spines, ``**kern``, reference
records); the tandem interpretations ``*part`` and ``*staff`` of its later practice.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from core.errors import UnreadableFileError
from core.score.formats.drafts import Draft
from core.score.formats.foreign_text import (
    CHECK,
    parsed,
    refuse_metre,
    refuse_number,
    text_of,
)
from core.score.formats.humdrum_parsing import parse_humdrum
from core.score.formats.streams import draft_of, joined

KIND = "Humdrum"

_KEYBOARDS = ("piano", "fort", "cemba", "hpsd", "clavi", "organ", "keyb", "klav", "celst", "harm")
"""How the instruments (``*I...``) of one player at two staves begin."""
_NO_KERN = f"It holds no **kern spine, so no notes. {CHECK}"
_METRE = re.compile(r"(?:^|\t)\*M([^M\t][^\t]*)")
_LONG_NUMBER = re.compile(r"\d{5,}")


@dataclass(slots=True)
class _Spine:
    """What a ``**kern`` spine says of itself before its first note."""

    column: int
    part: str = ""
    staff: str = ""
    instrument: str = ""
    clef: str = ""


def read_humdrum(data: bytes, *, name: str) -> Draft:
    """Read a Humdrum file.

    Raises
    ------
    UnreadableFileError
        No ``**kern`` in it, broken off, uneven columns, or nothing that music21 can read.
    """
    text, guesses = text_of(data, name=name, kind=KIND)
    lines = text.split("\n")
    spines = _spines(lines, name)
    _refuse_absurd_numbers(lines, name)
    score, stumbles = parsed(text, parse_humdrum, kind=KIND, name=name)
    draft = draft_of(score)
    draft.composer = _as_spoken(draft.composer)
    draft.guesses[:0] = guesses
    draft.losses[:0] = stumbles
    _join_staves(draft, spines)
    _tempo_once(draft)
    if _has(lines, "("):
        draft.losses.append("Slurs are left out: they are not read from Humdrum yet.")
    if "*>[" in text or "*>norep[" in text:
        draft.losses.append(
            "The order in which its sections are played (*>[...]) is left out; repeat signs count."
        )
    return draft


def _refuse_absurd_numbers(lines: list[str], name: str) -> None:
    for number, line in enumerate(lines, 1):
        if line[:1] not in "!*=":
            for found in _LONG_NUMBER.findall(line):
                refuse_number(found, line=number, name=name)
        elif line[:1] == "*":
            for metre in _METRE.findall(line):
                refuse_metre(metre, line=number, name=name)


def _has(lines: list[str], sign: str) -> bool:
    return any(sign in line and line[:1] not in "!*=" for line in lines)


def _spines(lines: list[str], name: str) -> list[_Spine]:
    """The ``**kern`` spines, as their first lines describe them; all columns are counted.

    Raises
    ------
    UnreadableFileError
        As ``read_humdrum``.
    """
    spines: list[_Spine] = []
    width, in_header = 0, True
    for number, line in enumerate(lines, 1):
        if not line or line.startswith("!!"):
            continue
        tokens = line.split("\t")
        if not spines:
            spines, width = _kern_spines(tokens, name, number), len(tokens)
            continue
        if not width and tokens[0].startswith("**"):
            reason = "A second piece begins here. Split the file, and bring each in by itself."
            raise UnreadableFileError(name, reason, f"line {number}")
        if len(tokens) != width:
            reason = f"It has {len(tokens)} columns where {width} spines run. {CHECK}"
            if number >= len(lines) - 1:
                reason = "The file breaks off before its end. Get a whole copy."
            raise UnreadableFileError(name, reason, f"line {number}")
        if line.startswith("*"):
            width = _width_after(tokens)
            in_header = in_header and width == len(tokens)
            if in_header:
                _describe(spines, tokens)
        elif line[0] not in "!=":
            in_header = False
    if not spines:
        raise UnreadableFileError(name, _NO_KERN)
    if width:
        reason = "The file breaks off before its end (its spines don't end). Get a whole copy."
        raise UnreadableFileError(name, reason, f"line {len(lines)}")
    return spines


def _kern_spines(tokens: list[str], name: str, number: int) -> list[_Spine]:
    if not tokens[0].startswith("**"):
        reason = f"Its first record is no exclusive interpretation (**kern). {CHECK}"
        raise UnreadableFileError(name, reason, f"line {number}")
    kern = [_Spine(column) for column, token in enumerate(tokens) if token == "**kern"]
    if not kern:
        raise UnreadableFileError(name, _NO_KERN, f"line {number}")
    return kern


def _width_after(tokens: list[str]) -> int:
    """How many columns the next record has."""
    width, is_joining = 0, False
    for token in tokens:
        joins = token == "*v"
        if not (joins and is_joining):
            width += {"*^": 2, "*+": 2, "*-": 0}.get(token, 1)
        is_joining = joins
    return width


def _describe(spines: list[_Spine], tokens: list[str]) -> None:
    for spine in spines:
        token = tokens[spine.column]
        if token.startswith("*part"):
            spine.part = token
        elif token.startswith("*staff"):
            spine.staff = token
        elif token.startswith("*clef"):
            spine.clef = spine.clef or token[5:6]
        elif token.startswith("*I") and token[2:3].islower():
            spine.instrument = token[2:]


def _join_staves(draft: Draft, spines: list[_Spine]) -> None:
    """Make one part of two neighbouring spines of one keyboard."""
    if len(draft.parts) != len(spines):
        return
    upwards = spines[::-1]
    parts, index = [], 0
    while index < len(upwards):
        part = draft.parts[index]
        if index + 1 < len(upwards):
            lower = draft.parts[index + 1]
            belong, is_guess = _belong(upwards[index], upwards[index + 1], count=len(spines))
            if belong and len(part.measures) == len(lower.measures):
                if is_guess:
                    draft.guesses.append(
                        "Its two spines, with treble and bass clef, are taken as the two staves "
                        "of one keyboard part."
                    )
                part, index = joined(part, lower), index + 1
        parts.append(part)
        index += 1
    draft.parts = parts


def _belong(upper: _Spine, lower: _Spine, *, count: int) -> tuple[bool, bool]:
    """Whether two neighbours are one part, and whether that is a guess."""
    if upper.part or lower.part:
        return upper.part == lower.part, False
    is_keyboard = upper.instrument.startswith(_KEYBOARDS)
    if upper.instrument or lower.instrument:
        return is_keyboard and upper.instrument == lower.instrument, False
    if upper.staff and lower.staff and count == 2:
        return True, True
    return count == 2 and (upper.clef, lower.clef) == ("G", "F"), True


def _tempo_once(draft: Draft) -> None:
    """Each spine says the tempo; the first part's is enough."""
    for part in draft.parts[1:]:
        for measure in part.measures:
            measure.signs = [sign for sign in measure.signs if sign.kind != "metronome"]


def _as_spoken(composer: str) -> str:
    """Reference records have "Last, First".

    Examples
    --------
    >>> _as_spoken("Nemo, Anna"), _as_spoken("Nemo")
    ('Anna Nemo', 'Nemo')
    """
    last, comma, first = composer.partition(", ")
    return f"{first} {last}" if comma and "," not in first else composer
