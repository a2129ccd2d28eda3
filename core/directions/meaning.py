"""The values of this room: what a direction means."""

from __future__ import annotations

from dataclasses import dataclass

CATEGORIES = (
    "tempo",
    "tempo change",
    "dynamics",
    "dynamic change",
    "articulation touch",
    "character",
    "hands technique",
    "pedal",
    "structure navigation",
    "page instruction",
)
TARGET_LANGUAGES = ("en", "de", "fr", "es")
"""Languages that a direction can be translated into."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rewording:
    """What a direction may mean as well: normal form and translation."""

    normal_form: str
    translation: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What printed words mean.

    Parameters
    ----------
    text : str
        As printed.
    language : str or None
        "it", "de", "fr", "en", "la", "es", "pt", "mix", or None where it can't be told.
    categories : tuple of str
        Of ``CATEGORIES``, the main one first; empty where nothing was understood.
    normal_form : str or None
        Abbreviations written out and slips mended; None where nothing was understood.
    translation : str or None
        Composed from the parts. Literal where ``is_known`` is False, with words that were not
        understood in quotation marks; None where nothing was understood.
    translation_language : str
        What the translation is written in: the language asked for, or "en" where a word has no
        rendering in it yet.
    is_known : bool
        Whether the words have a standard meaning.
    alternatives : tuple of Rewording
        Other meanings, the likeliest first.
    confidence : float
        0 to 1; below 0.7 a word was guessed.
    """

    text: str
    language: str | None = None
    categories: tuple[str, ...] = ()
    normal_form: str | None = None
    translation: str | None = None
    translation_language: str = "en"
    is_known: bool = False
    alternatives: tuple[Rewording, ...] = ()
    confidence: float = 0.0
