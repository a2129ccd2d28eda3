"""Text without what print and typing add: case, accents, kinds of dash and apostrophe.

Two spellings that a reader takes for the same word have one folded form; all words of the
lexicon are looked up by it.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

_LETTERS = str.maketrans(
    {
        "ß": "ss", "œ": "oe", "æ": "ae", "ø": "o", "°": "o", "º": "o", "ª": "a",
        "’": "'", "‘": "'", "`": "'", "´": "'",
        "‐": "-", "‑": "-", "–": "-", "—": "-", "_": "-",
    }
)  # fmt: skip


@lru_cache(maxsize=8192)
def folded(word: str) -> str:
    """Lower case, without accents.

    Examples
    --------
    >>> folded("Più"), folded("Mäßig"), folded("1º")
    ('piu', 'massig', '1o')
    """
    lowered = word.lower().translate(_LETTERS)
    if lowered.isascii():
        return lowered
    parts = unicodedata.normalize("NFD", lowered)
    return "".join(sign for sign in parts if not unicodedata.combining(sign))


def without_controls(text: str) -> str:
    """The text composed (NFC), each stretch of control signs and white space one space."""
    shown = (
        " " if unicodedata.category(sign)[0] in "CZ" else sign
        for sign in unicodedata.normalize("NFC", text)
    )
    return " ".join("".join(shown).split())
