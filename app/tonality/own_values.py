"""What a person says instead of a finding, read from what was typed.

Keys and scales are held against the table of scales, so that every view can colour and name
them; everything else is kept in the person's words.
"""

from __future__ import annotations

import re

from core.analysis.keys import Key
from core.analysis.scales import DEGREE_WORDS, ScaleInUse, scale_table
from core.errors import InvalidEntryError
from core.notebook.judgements import judged_value
from core.notebook.values import JudgedValue

FIELD = "own value"
KEY_WORDS = frozenset({"key", "scale"})
"""One of them in the kind of a finding: its own value is a key or a scale ("global key")."""
KEY_RULE = 'a key is a letter, its accidental and a mode, as in "G minor", "Bb major", "F# Dorian"'
_KEY = re.compile(
    r"([a-g])\s*(##|#|bb|b|♯|♭|[- ]?(?:sharp|flat)\b)?[\s-]+(.+)",
    re.IGNORECASE,
)
_ACCIDENTALS = {"♯": "#", "♭": "b", "sharp": "#", "flat": "b"}
_LETTERS = "FCGDAEB"
_OTHER_NAMES = {
    "ionian": "major",
    "aeolian": "natural minor",
    "whole tone": "whole-tone",
    "pentatonic": "major pentatonic",
}
_DEGREES = {words: degree for degree, words in DEGREE_WORDS.items()}


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
    """A typed key or scale as a value.

    Examples
    --------
    >>> key_value("b flat  Major").text, key_value("g dorian").text
    ('Bb major', 'G Dorian')
    >>> key_value("d harmonic minor with #4").text
    'D harmonic minor with raised fourth'

    Raises
    ------
    InvalidEntryError
        It is none.
    """
    found = _KEY.fullmatch(text.strip())
    if found is None:
        raise InvalidEntryError(FIELD, text, KEY_RULE)
    typed = (found[2] or "").strip(" -").casefold()
    accidental = _ACCIDENTALS.get(typed, typed)
    fifths = _LETTERS.index(found[1].upper()) - 1 + 7 * _alter(accidental)
    scale, _, altered = " ".join(found[3].casefold().split()).partition(" with ")
    if scale in ("major", "minor") and not altered:
        return judged_value(Key(tonic=fifths, mode="major" if scale == "major" else "minor"))
    name = _OTHER_NAMES.get(scale, scale)
    degrees = [_degree(words) for words in altered.split(" and ")] if altered else []
    if name not in scale_table() or None in degrees:
        raise InvalidEntryError(FIELD, text, KEY_RULE)
    known = tuple(degree for degree in degrees if degree is not None)
    return judged_value(ScaleInUse(tonic=fifths, scale=name, altered=known))


def _degree(words: str) -> str | None:
    """A degree by its name or as it is written; None for neither."""
    typed = words.replace("♯", "#").replace("♭", "b").strip()
    return typed if typed in DEGREE_WORDS else _DEGREES.get(typed)


def _alter(accidental: str) -> int:
    return accidental.count("#") - accidental.count("b")
