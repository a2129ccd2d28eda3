"""A direction cut into words, numbers and punctuation marks.

Conventions: metronome marks are taken out, since they are not words; syllables that print pulls
apart ("cre - - scen - - do") are one word again where the lexicon knows it.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from core.directions.folding import folded, without_controls
from core.directions.lexicon import lexicon
from core.directions.morphology import senses_of

_UNIT = r"(?:dotted\s+)?(?:quarter|half|eighth|whole|sixteenth|32nd)(?:\s+note)?"
_METRONOME = rf"""[(\[]?\s*
    (?:m\.?\s?m\.?\s*)?
    (?:[(\[]?\s*{_UNIT}\s*[)\]]?|[♩♪𝅗𝅥𝅘𝅥𝅮𝆑]+)?\s*\.?\s*
    (?:=\s*(?:ca?\.?|circa|about)?\s*\d+(?:\s*[-–]\s*\d+)?
      |(?:\bca?\.?|\bcirca|\babout)\s*\d+(?:\s*[-–]\s*\d+)?|-\s?\d{{2,3}}(?=\s*\))|[♩♪])
    \s*[)\]]?"""
"""In verbose form; the pattern is made where there may be one."""
_MARKS_OF_TEMPO = "=♩♪"
_EMPTY_BRACKETS = re.compile(r"\(\s*(?:about|ca?\.)?\s*[.=]*\s*\)")
_TOKEN = re.compile(
    r"(?P<number>\d+(?:\.?\s?(?:er|re|mo|ma|da|[oe°ºª]|st|nd|rd|th|va|vb)(?!\w))?\.?)"
    r"|(?P<word>[^\W\d_]+[°ºª]?'?(?:[^\W\d_](?=\.))?\.?)"
    r"|(?P<mark>[-,;:()\"*/&+=»«“”?!\[\]])",
    re.IGNORECASE,
)
_LONGEST_MARK = 60
"""Signs of a metronome mark, at most."""
_LONGEST_JOIN = 6
"""Pieces that one word is printed in, at most."""


class Token(NamedTuple):
    """A word, a number ("1º") or a mark; ``is_cut`` where a full stop followed."""

    printed: str
    folded: str
    kind: str
    is_cut: bool = False


def is_metronome_mark(text: str) -> bool:
    """Whether a metronome mark is all that is printed."""
    if len(text) > _LONGEST_MARK or not _may_hold_metronome_mark(text):
        return False
    return not _without_metronome_marks(text, "").strip(" ().[]~")


def _may_hold_metronome_mark(text: str) -> bool:
    return any(sign.isdigit() or sign in _MARKS_OF_TEMPO for sign in text)


def _without_metronome_marks(text: str, instead: str) -> str:
    if not _may_hold_metronome_mark(text):
        return text
    return re.sub(_METRONOME, instead, text, flags=re.IGNORECASE | re.VERBOSE)


def tokens_of(text: str) -> list[Token]:
    """The tokens of a direction, split words joined."""
    words = _EMPTY_BRACKETS.sub(" ", _without_metronome_marks(without_controls(text), " "))
    found = []
    for match in _TOKEN.finditer(words.replace("–", "-").replace("—", "-").replace("’", "'")):
        kind = str(match.lastgroup)
        printed = match.group()
        bare = printed.rstrip(".")
        key = folded(bare).replace(" ", "").rstrip("'")
        if match.lastgroup == "number":
            key = key.replace(".", "")
        found.append(Token(bare, key, kind, printed != bare))
    return _without_dashes(_joined_initials(_joined_syllables(found)))


def _joined_initials(tokens: list[Token]) -> list[Token]:
    """Such as "m. d.", which is one abbreviation, "d.c.al" two tokens."""
    known = lexicon().abbreviations
    found: list[Token] = []
    position = 0
    while position < len(tokens):
        pair = tokens[position : position + 2]
        if len(pair) == 2 and all(len(t.folded) == 1 and t.kind == "word" for t in pair):
            key = f"{pair[0].folded}.{pair[1].folded}"
            if key in known and pair[0].is_cut:
                printed = f"{pair[0].printed}.{pair[1].printed}"
                found.append(Token(printed, key, "word", True))
                position += 2
                continue
        found.append(tokens[position])
        position += 1
    return found


def _joined_syllables(tokens: list[Token]) -> list[Token]:
    found: list[Token] = []
    position = 0
    while position < len(tokens):
        length, word = _longest_word(tokens, position)
        if length > 1:
            last = tokens[position + length - 1]
            found.append(Token(word, folded(word), "word", last.is_cut))
        else:
            found.append(tokens[position])
        position += length
    return found


def _longest_word(tokens: list[Token], start: int) -> tuple[int, str]:
    """How many tokens from ``start`` on make one known word, and that word."""
    best, best_word = 1, tokens[start].printed
    pieces = ""
    fragments = dashes = 0
    is_all_known = True
    for position in range(start, min(start + 3 * _LONGEST_JOIN, len(tokens))):
        token = tokens[position]
        if token.printed == "-":
            dashes += 1
            continue
        if token.kind != "word" or (fragments and tokens[position - 1].is_cut):
            break
        pieces += token.printed
        fragments += 1
        if fragments > _LONGEST_JOIN:
            break
        is_all_known = is_all_known and bool(senses_of(token.folded))
        if fragments > 1 and (dashes or not is_all_known) and senses_of(folded(pieces)):
            best, best_word = position - start + 1, pieces
    if tokens[start].kind != "word":
        return 1, tokens[start].printed
    return best, best_word


def _without_dashes(tokens: list[Token]) -> list[Token]:
    return [token for token in tokens if token.printed != "-"]
