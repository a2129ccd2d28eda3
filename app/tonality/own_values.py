"""What a person says instead of a finding, read from what was typed.

Keys and scales are held against the table of scales, so that every view can colour and name
them; everything else is kept in the person's words.
"""

from __future__ import annotations

import re

from app.tonality.finding_words import MODES
from core.analysis.keys import Key
from core.errors import InvalidEntryError
from core.notebook.judgements import judged_value
from core.notebook.values import JudgedValue

FIELD = "own value"
KEY_WORDS = frozenset({"key", "scale"})
"""One of them in the kind of a finding: its own value is a key or a scale ("global key")."""
KEY_RULE = 'a key is a letter, its accidental and a mode, as in "G minor", "Bb major", "F# dorian"'
_KEY = re.compile(
    r"([a-g])\s*(##|#|bb|b|♯|♭|[- ]?(?:sharp|flat)\b)?[\s-]+(.+)",
    re.IGNORECASE,
)
_ACCIDENTALS = {"♯": "#", "♭": "b", "sharp": "#", "flat": "b"}
_LETTERS = "FCGDAEB"
_SCALES = frozenset({"major", "minor", "natural minor", "harmonic minor", "melodic minor"}) | MODES


def own_value(kind: str, text: str) -> JudgedValue | None:
    """What was typed as a value; None for nothing ("not so, and I don't say what").

    Parameters
    ----------
    kind : str
        ``Finding.kind``.
    text : str

    Raises
    ------
    InvalidEntryError
        It is no key where one is wanted.
    """
    words = " ".join(text.split())
    if not words:
        return None
    return key_value(words) if KEY_WORDS & set(kind.split()) else JudgedValue(text=words)


def key_value(text: str) -> JudgedValue:
    """A typed key or scale in the words of the command line.

    Examples
    --------
    >>> key_value("b flat  Major").text, key_value("g dorian").text
    ('Bb major', 'G dorian')

    Raises
    ------
    InvalidEntryError
        It is none.
    """
    found = _KEY.fullmatch(text.strip())
    scale = " ".join(found[3].casefold().split()) if found else ""
    if found is None or scale not in _SCALES:
        raise InvalidEntryError(FIELD, text, KEY_RULE)
    typed = (found[2] or "").strip(" -").casefold()
    accidental = _ACCIDENTALS.get(typed, typed)
    tonic = f"{found[1].upper()}{accidental}"
    if scale in ("major", "minor"):
        fifths = _LETTERS.index(found[1].upper()) - 1 + 7 * _alter(accidental)
        return judged_value(Key(tonic=fifths, mode="major" if scale == "major" else "minor"))
    return JudgedValue(text=f"{tonic} {scale}")


def _alter(accidental: str) -> int:
    return accidental.count("#") - accidental.count("b")
