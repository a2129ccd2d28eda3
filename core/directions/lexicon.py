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

from core.directions.folding import folded, folded_page
from core.resources import resources

LANGUAGES = ("it", "de", "fr", "en", "es", "pt", "la")
"""In this order where nothing else decides between two languages."""
Row = tuple[str, str]
"""Language, and the line as it stands in the file; of thousands, few are ever asked for."""
_TEXT, _FORMS, _VARIANTS = 0, 4, 5
"""Cells of a line by which it is found."""
_WORD = re.compile(r"[^\W_]+'?")


class Lemma(NamedTuple):
    """One entry."""

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

    words: dict[str, list[Row]]
    phrases: dict[tuple[str, ...], list[Row]]
    phrase_starts: dict[str, int]
    """The first word of set phrases, with the length of the longest one."""
    abbreviations: dict[str, Abbreviation]
    printed: dict[str, str]
    """How a folded form is spelled where it is spelled otherwise; the first lemma's wins."""
    mended: dict[tuple[str, str], str]
    """Language and folded slip or older spelling ("ligato"), with the form that is standard now."""

    def lemmas(self, word: str) -> list[Lemma]:
        """The entries of a folded word, in the order of ``LANGUAGES``; empty for an unknown one."""
        return [_lemma(row) for row in self.words.get(word, ())]

    def phrase_lemmas(self, words: tuple[str, ...]) -> list[Lemma]:
        """The entries of a set phrase, as ``lemmas``."""
        return [_lemma(row) for row in self.phrases.get(words, ())]


@cache
def lexicon() -> Lexicon:
    """The lexicon of this installation."""
    folder = resources() / "lexicon"
    found = Lexicon({}, {}, {}, {}, {}, {})
    for language in LANGUAGES:
        _add_all(found, language, folder / f"{language}.tsv")
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


def _add_all(found: Lexicon, language: str, file: Path) -> None:
    """Add a language's rows; the file is folded as a whole, which takes a fifth of the time."""
    page = file.read_text(encoding="utf-8")
    lines = zip(page.splitlines()[1:], folded_page(page).splitlines()[1:], strict=True)
    for line, folded_line in lines:
        row = (language, line)
        cells = line.split("\t")
        keys = cells if folded_line == line else folded_line.split("\t")
        text, forms, variants = cells[_TEXT], cells[_FORMS], cells[_VARIANTS]
        _add(found, row, text, keys[_TEXT])
        if forms:
            for form, key in zip(forms.split(", "), keys[_FORMS].split(", "), strict=True):
                _add(found, row, form, key)
        if variants:
            for form, key in zip(variants.split(", "), keys[_VARIANTS].split(", "), strict=True):
                found.mended.setdefault((language, " ".join(phrase_key(key))), text)
                _add(found, row, form, key)


def _add(found: Lexicon, row: Row, form: str, key: str) -> None:
    if not key.isalpha():
        words = tuple([word.strip("'") for word in _WORD.findall(key)])
        if len(words) > 1:
            found.phrases.setdefault(words, []).append(row)
            longest = found.phrase_starts.get(words[0], 0)
            found.phrase_starts[words[0]] = max(longest, len(words))
            return
        key = words[0]
    found.words.setdefault(key, []).append(row)
    if key != form:
        found.printed.setdefault(key, form.strip("'"))


@cache
def _lemma(row: Row) -> Lemma:
    language, line = row
    text, part, categories, glosses, _, _, note = line.split("\t")
    meanings = tuple(categories.split(", ")), tuple(glosses.split(" | "))
    return Lemma(text, language, part, *meanings, note)
