"""Boxes of the form line in words, for a screen reader and for tool tips."""

from __future__ import annotations

from app.desk import place_names
from app.form.form_parts import Box
from app.tonality.signs import spoken, with_signs
from core.score.places import Passage
from core.score.score import Score

_PRIMES = ("", " prime", " double prime", " triple prime")


def statement_words(score: Score, box: Box, key_name: str) -> str:
    """A box as "A, 2nd statement, measures 1 to 4, G minor"."""
    parts = [label_words(box.label)]
    if box.ordinal:
        parts.append(f"{box.ordinal} statement")
    if box.statement is not None:
        parts.append(measures_words(score, box.statement.passage))
    parts += [part for part in (box.relation, key_words(key_name)) if part]
    return ", ".join(parts)


def label_words(label: str) -> str:
    """A letter with its primes, which screen readers pass over.

    Examples
    --------
    >>> label_words("A''"), label_words("B")
    ('A double prime', 'B')
    """
    letter = label.rstrip("'")
    primes = len(label) - len(letter)
    return letter + (_PRIMES[primes] if primes < len(_PRIMES) else f" with {primes} primes")


def key_words(name: str) -> str:
    """A key with its accidental as a word.

    Examples
    --------
    >>> key_words("Bb major"), key_words("F# minor"), key_words("G Dorian")
    ('B flat major', 'F sharp minor', 'G Dorian')
    """
    return spoken(with_signs(name))


def measures_words(score: Score, passage: Passage) -> str:
    """A passage as "measures 1 to 4"; with its beats where it begins or ends inside one."""
    name = place_names.passage_name(score, passage)
    is_range = name.startswith("m. ") and " to " in name and "beat" not in name
    return name.replace("m. ", "measures " if is_range else "measure ")
