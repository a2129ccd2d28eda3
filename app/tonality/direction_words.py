"""Printed directions as findings, and what is said of them: "cédez: slow down"."""

from __future__ import annotations

import re
from fractions import Fraction

from core.directions.meaning import Meaning
from core.notebook.analyses import Analysis, PrintedDirection
from core.score.findings import Finding
from core.score.places import Passage, Place
from core.takes.tempo import without_mark

DIRECTION_KIND = "direction"
_LETTERS = re.compile(r"[pmfsrz]+")
"""Dynamics in letters: a pianist reads them without being told."""
_ABOUT = {
    "tempo change": "changing tempo",
    "dynamic change": "changing dynamics",
    "articulation touch": "touch",
    "hands technique": "the hands",
    "structure navigation": "the way through the piece",
    "page instruction": "the page",
}
"""Categories of the lexicon as a reader says them, where that is otherwise."""
LANGUAGES = {
    "it": "Italian",
    "de": "German",
    "fr": "French",
    "en": "English",
    "la": "Latin",
    "es": "Spanish",
    "pt": "Portuguese",
    "mix": "In several languages",
}


def directions_found(analysis: Analysis) -> tuple[Finding[Meaning], ...]:
    """The words of a score that can be told, each where it begins.

    Their evidence is the printed words themselves.
    """
    return tuple(
        Finding(
            kind=DIRECTION_KIND,
            passage=_passage(direction, analysis),
            value=direction.meaning,
            confidence=direction.meaning.confidence,
            evidence=direction.ids,
        )
        for direction in analysis.directions
        if direction.meaning is not None and _is_told(direction.meaning)
    )


def meaning_title(meaning: Meaning) -> str:
    """The words, and what they mean or that they have no standard meaning.

    Examples
    --------
    >>> meaning_title(Meaning(text="cédez", translation="slow down", is_known=True))
    'cédez: slow down'
    >>> meaning_title(Meaning(text="come un'onda", translation="like a wave"))
    "come un'onda: no standard meaning; literally “like a wave”"
    >>> meaning_title(Meaning(text="zart federnd", translation="tenderly, “federnd”"))
    'zart federnd: no standard meaning; literally ‘tenderly, “federnd”’'
    """
    words = without_mark(meaning.text)
    if meaning.is_known:
        return f"{words}: {meaning.translation}" if meaning.translation else words
    literal = _quoted(meaning.translation or "", words)
    return f"{words}: no standard meaning{literal and f'; literally {literal}'}"


def _quoted(literal: str, words: str) -> str:
    """A literal translation in quotes; empty where it is only the words themselves, quoted."""
    if not literal or literal.strip("“”") == words:
        return ""
    return f"‘{literal}’" if "“" in literal else f"“{literal}”"


def meaning_why(meaning: Meaning) -> str:
    """Language, what the words are about, and the words written out where they are abbreviated.

    Examples
    --------
    >>> meaning_why(Meaning(text="cresc.", language="it", categories=("dynamic change",),
    ...                     normal_form="crescendo"))
    'Italian, about changing dynamics. Written out: crescendo.'
    """
    language = LANGUAGES.get(meaning.language or "", "")
    about = " and ".join(_ABOUT.get(category, category) for category in meaning.categories[:2])
    said = ", ".join(filter(None, (language, about and f"about {about}")))
    sentences = [f"{said[:1].upper()}{said[1:]}."] if said else []
    words, normal = without_mark(meaning.text), meaning.normal_form or ""
    if normal and _folded(normal) != _folded(words):
        sentences.append(f"Written out: {normal}.")
    return " ".join(sentences)


def other_meaning(meaning: Meaning) -> str:
    """What else it may mean, as a sentence; empty where nothing is known."""
    others = [other.translation for other in meaning.alternatives if other.translation]
    return f"Also: {'; '.join(others)}." if others else ""


def _is_told(meaning: Meaning) -> bool:
    words = without_mark(meaning.text)
    return bool(words) and _LETTERS.fullmatch(words) is None


def _folded(words: str) -> str:
    return words.casefold().replace("’", "'")


def _passage(direction: PrintedDirection, analysis: Analysis) -> Passage:
    measure = direction.measure_index
    offset = direction.onset_quarters - analysis.measure_onsets_quarters[measure]
    return Passage.at(Place(measure_index=measure, offset_quarters=max(offset, Fraction(0))))
