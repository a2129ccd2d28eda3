"""The lexicon: words and set phrases of music, read once from ``resources/lexicon``.

Conventions: a file a language, a row a lemma; several glosses are separated by " | " (the usual
one first), categories and forms by ", ". Glosses are English: an adjective as it is, a verb in
its base form ("slow down"), a degree as an adverb. Everything is looked up folded
(``folding.folded``), a set phrase as the tuple of its folded words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from core.directions.folding import folded
from core.resources import resources

LANGUAGES = ("it", "de", "fr", "en", "es", "pt", "la")
"""In this order where nothing else decides between two languages."""
_WORD = re.compile(r"[^\W_]+'?")


class Lemma(NamedTuple):
    """One entry: a tuple, not a dataclass, because three thousand are made at the first look-up."""

    text: str
    language: str
    part: str
    """"adj", "verb", "noun", "title", "dyn", "degree", "neg", "conj", "prep", "det", "phrase"."""
    categories: tuple[str, ...]
    glosses: tuple[str, ...]
    note: str = ""


class Abbreviation(NamedTuple):
    """What an abbreviation stands for, the likeliest first."""

    expansions: tuple[str, ...]
    language: str


class Lexicon(NamedTuple):
    """All entries, by folded form."""

    words: dict[str, list[Lemma]]
    phrases: dict[tuple[str, ...], list[Lemma]]
    phrase_starts: dict[str, int]
    """The first word of set phrases, with the length of the longest one."""
    abbreviations: dict[str, Abbreviation]
    printed: dict[str, str]
    """How a folded form is spelled; the first lemma's spelling wins."""
    mended: dict[tuple[str, str], str]
    """Language and folded slip or older spelling ("ligato"), with the form that is standard now."""


@cache
def lexicon() -> Lexicon:
    """The lexicon of this installation."""
    folder = resources() / "lexicon"
    found = Lexicon({}, {}, {}, {}, {}, {})
    for language in LANGUAGES:
        for row in _rows(folder / f"{language}.tsv"):
            _add(found, language, row)
    for abbreviation, expansions, language, _ in _rows(folder / "abbreviations.tsv"):
        meant = Abbreviation(tuple(expansions.split(" | ")), language)
        found.abbreviations.setdefault(folded(abbreviation), meant)
    return found


@cache
def renderings(target: str) -> dict[str, str]:
    """English glosses with their wording in a target language."""
    rows = _rows(resources() / "lexicon" / "renderings.tsv")
    column = ("en", "de", "fr", "es").index(target)
    return {row[0]: row[column] for row in rows if row[column]}


def phrase_key(text: str) -> tuple[str, ...]:
    """The folded words of a phrase; an elided article is a word of its own."""
    return tuple(word.strip("'") for word in _WORD.findall(folded(text)))


def _rows(file: Path) -> Iterator[list[str]]:
    lines = file.read_text(encoding="utf-8").splitlines()
    width = lines[0].count("\t") + 1
    for line in lines[1:]:
        cells = line.split("\t")
        yield cells + [""] * (width - len(cells))


def _add(found: Lexicon, language: str, row: list[str]) -> None:
    text, part, categories, glosses, forms, variants, note = row
    lemma = Lemma(
        text, language, part, tuple(categories.split(", ")), tuple(glosses.split(" | ")), note
    )
    for form in _forms(text, language, forms, variants, found):
        if form.isalpha():
            key = folded(form)
            found.words.setdefault(key, []).append(lemma)
            found.printed.setdefault(key, form)
            continue
        words = phrase_key(form)
        if not words:
            continue
        if len(words) == 1:
            found.words.setdefault(words[0], []).append(lemma)
            found.printed.setdefault(words[0], form.strip("'"))
        else:
            found.phrases.setdefault(words, []).append(lemma)
            longest = found.phrase_starts.get(words[0], 0)
            found.phrase_starts[words[0]] = max(longest, len(words))


def _forms(text: str, language: str, forms: str, variants: str, found: Lexicon) -> list[str]:
    all_forms = [text]
    if forms:
        all_forms += forms.split(", ")
    if variants:
        for variant in variants.split(", "):
            found.mended.setdefault((language, " ".join(phrase_key(variant))), text)
            all_forms.append(variant)
    return all_forms
