"""ABC: one tune into a draft.

Conventions: music21 parses. A file of several tunes is a book (``tune_books``), each tune of
which is a score by itself. Beams follow the beats of the metre, since music21 keeps no trace of
how the tune's notes were spaced.

Source: C. Walshaw et al., The ABC Music Standard 2.1, 2011.
"""

from __future__ import annotations

import re

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.formats.abc_parsing import parse_abc
from core.score.formats.beams import beamed_by_beats, beat_of
from core.score.formats.drafts import Draft
from core.score.formats.foreign_text import parsed, refuse_metre, refuse_number, text_of
from core.score.formats.streams import draft_of, joined
from core.score.formats.tune_books import tunes_in

KIND = "ABC"

_BRACE = re.compile(r"^%%(?:score|staves)[^\n]*\{\s*(\S+)\s+\|?\s*(\S+)\s*\}", re.MULTILINE)

_NO_MUSIC = re.compile(r"^[ \t]*(?:[A-JN-PR-UW-Za-z+]:|%).*|%.*|\"[^\"]*\"|![^!]*!")
"""Fields that say no duration, remarks, words and decorations."""
_LONG_NUMBER = re.compile(r"[A-Ga-gxyzXZ\]',/(=](\d{4,})")
"""A duration, tuplet or tempo; other numbers are strays that nobody reads."""
_METRE = re.compile(r"M:([^\]]*)")

_DYNAMICS = re.compile(r"[!+](?:p{1,4}|m?[pf]|f{1,4}|sfz|(?:de|dim|c)\w*[()]|[<>][()])[!+]")


def read_abc(data: bytes, *, name: str) -> Draft:
    """Read one tune.

    Raises
    ------
    UnreadableFileError
        No text, without a key or music, or nothing that music21 can read.
    UnsupportedScoreError
        A book of several tunes.
    """
    count = len(tunes_in(data))
    if count > 1:
        raise UnsupportedScoreError(
            name,
            f"It is a book of {count} tunes, and each is a score by itself. Add the number of "
            f"one to the file's name, from #1 to #{count}.",
        )
    text, guesses = text_of(data, name=name, kind=KIND)
    _refuse_without_music(text, name)
    _refuse_absurd_numbers(text, name)
    score, stumbles = parsed(text, parse_abc, kind=KIND, name=name)
    draft = draft_of(score)
    draft.guesses[:0] = guesses
    draft.losses[:0] = stumbles
    draft.composer = draft.composer or _field(text, "C")
    _leave_out_headers(draft)
    _count_from_one(draft)
    if len(draft.parts) == 2 and _BRACE.search(text):
        upper, lower = draft.parts
        if len(upper.measures) == len(lower.measures):
            draft.parts = [joined(upper, lower)]
    if _DYNAMICS.search(text):
        draft.losses.append("Dynamics are left out: they are not read from ABC yet.")
    _beam(draft)
    return draft


def _refuse_without_music(text: str, name: str) -> None:
    key = re.search(r"^[ \t]*K:", text, re.MULTILINE)
    if key is None:
        reason = (
            "Its tune has no key (K:), with which the music begins. Get a whole copy, or add "
            "one; K:none is enough."
        )
        raise UnreadableFileError(name, reason, f"line {text.rstrip().count(chr(10)) + 1}")


def _refuse_absurd_numbers(text: str, name: str) -> None:
    for number, line in enumerate(text.split("\n"), 1):
        music = _NO_MUSIC.sub("", line)
        for found in _LONG_NUMBER.findall(music):
            refuse_number(found, line=number, name=name)
        for metre in _METRE.findall(music):
            refuse_metre(metre, line=number, name=name)


def _field(text: str, letter: str) -> str:
    found = re.search(rf"^[ \t]*{letter}:([^%\n]*)", text, re.MULTILINE)
    return " ".join(found[1].split()) if found else ""


def _leave_out_headers(draft: Draft) -> None:
    """music21 makes parts of the header's ``V:`` lines too; the key may have gone to one."""
    played = [part for part in draft.parts if any(m.voices for m in part.measures)]
    changes = [c for p in draft.parts for m in p.measures[:1] for c in m.changes if c.key]
    for part in played:
        first = part.measures[0]
        if changes and not any(change.key for change in first.changes):
            first.changes.append(changes[0])
    draft.parts = played


def _count_from_one(draft: Draft) -> None:
    """music21 counts from 0 where several voices begin without a pickup."""
    for part in draft.parts:
        if part.measures[0].number == "0" and not part.measures[0].is_implicit:
            for index, measure in enumerate(part.measures, 1):
                measure.number = str(index)


def _beam(draft: Draft) -> None:
    for part in draft.parts:
        metre = ("4", "4")
        for measure in part.measures:
            metre = next((c.metre for c in measure.changes if c.metre and c.metre[0]), metre)
            beat = beat_of(*metre)
            # A pickup ends where its measure would, so its beats are counted from the end.
            late = -measure.quarters % beat if measure.is_implicit else beat * 0
            for place, events in measure.voices.items():
                moved = [event._replace(onset=event.onset + late) for event in events]
                beamed = beamed_by_beats(moved, beat)
                measure.voices[place] = [e._replace(onset=e.onset - late) for e in beamed]
