"""Text without what print and typing add: case, accents, kinds of dash and apostrophe.

Two spellings that a reader takes for the same word have one folded form; all words of the
lexicon are looked up by it.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_LETTERS = {
    "ß": "ss", "œ": "oe", "æ": "ae", "ø": "o", "°": "o", "º": "o", "ª": "a",
    "’": "'", "‘": "'", "`": "'", "´": "'",
    "‐": "-", "‑": "-", "–": "-", "—": "-", "_": "-",
}  # fmt: skip
_ACCENTS = re.compile("[\u0300-\u036f]")


@lru_cache(maxsize=8192)
def folded(word: str) -> str:
    """Lower case, without accents.

    Examples
    --------
    >>> folded("Più"), folded("Mäßig"), folded("1º")
    ('piu', 'massig', '1o')
    """
    return folded_page(word)


def folded_page(text: str) -> str:
    """As ``folded``, for a text of any length that is folded but once."""
    lowered = text.lower()
    # One pass a sign is faster than one of ``translate`` for all of them.
    for sign, plain in _LETTERS.items():
        if sign in lowered:
            lowered = lowered.replace(sign, plain)
    if lowered.isascii():
        return lowered
    return _ACCENTS.sub("", unicodedata.normalize("NFD", lowered))


def without_controls(text: str) -> str:
    """The text composed (NFC), each stretch of control signs and white space one space."""
    shown = (
        " " if unicodedata.category(sign)[0] in "CZ" else sign
        for sign in unicodedata.normalize("NFC", text)
    )
    return " ".join("".join(shown).split())
