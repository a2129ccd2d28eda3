"""The lexicon as data: every row is sound, and it is read fast enough to be read late."""

from __future__ import annotations

import time
from itertools import chain

import pytest

from core.directions import lexicon as room
from core.directions.lexicon import LANGUAGES, lexicon, renderings
from core.directions.meaning import CATEGORIES
from core.directions.morphology import Sense, senses_of
from core.resources import resources

PARTS = {
    "adj", "conj", "degree", "det", "dyn", "neg", "noun", "phrase", "prep", "title", "verb",
}  # fmt: skip


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_row_is_sound(language: str) -> None:
    lines = (resources() / "lexicon" / f"{language}.tsv").read_text("utf-8").splitlines()
    for line in lines[1:]:
        lemma, part, categories, glosses, *_ = cells = line.split("\t")
        assert len(cells) == 7, line
        assert lemma, line
        assert part in PARTS, line
        assert set(categories.split(", ")) <= set(CATEGORIES), line
        assert all(gloss == gloss.strip() for gloss in glosses.split(" | ")), line


def test_no_lemma_stands_twice() -> None:
    for language in LANGUAGES:
        lines = (resources() / "lexicon" / f"{language}.tsv").read_text("utf-8").splitlines()
        keys = [tuple(line.split("\t")[:2]) for line in lines]
        assert len(keys) == len(set(keys)), language


def test_every_abbreviation_leads_to_a_word() -> None:
    book = lexicon()
    for abbreviation, meant in book.abbreviations.items():
        for expansion in meant.expansions:
            key = room.phrase_key(expansion)
            known = senses_of(key[0]) if len(key) == 1 else book.phrase_lemmas(key)
            assert known, f"{abbreviation}: {expansion}"


@pytest.mark.parametrize("to", ["de", "fr", "es"])
def test_every_rendering_belongs_to_a_gloss(to: str) -> None:
    book = lexicon()
    glosses = {
        gloss
        for lemma in (
            *chain.from_iterable(map(book.lemmas, book.words)),
            *chain.from_iterable(map(book.phrase_lemmas, book.phrases)),
        )
        for gloss in lemma.glosses
    }
    assert set(renderings(to)) <= glosses


def test_it_is_read_in_a_moment() -> None:
    times = []
    for _ in range(3):
        lexicon.cache_clear()
        onset = time.perf_counter()
        lexicon()
        times.append(time.perf_counter() - onset)
    # 20 ms on the machine that it was written on; other work may run beside it.
    assert min(times) < 0.1


@pytest.mark.parametrize(
    ("word", "lemma", "feature"),
    [
        ("lentissimo", "lento", "elative"),
        ("larghissimo", "largo", "elative"),
        ("tranquillamente", "tranquillo", "adverb"),
        ("slargando", "slargare", "gerund"),
        ("langsamer", "langsam", "comparative"),
        ("innigster", "innig", "superlative"),
        ("gesteigert", "steigern", "participle"),
        ("wehmuthig", "wehmütig", "base"),
        ("joyeusement", "joyeux", "adverb"),
        ("animez", "animer", "base"),
        ("pressant", "presser", "gerund"),
        ("rapturously", "rapturous", "adverb"),
    ],
)
def test_forms_that_no_table_lists_lead_to_their_lemma(word: str, lemma: str, feature: str) -> None:
    assert (lemma, feature) in {(sense.lemma.text, sense.feature) for sense in senses_of(word)}


def test_an_unknown_word_has_no_sense() -> None:
    assert senses_of("qwertz") == ()
    assert all(isinstance(sense, Sense) for sense in senses_of("dolce"))
