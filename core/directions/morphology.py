"""Forms of words: which lemmas a printed word may be a form of.

Conventions: rules are tables of (ending, ending of the lemma, part of speech, feature), on folded
words; a rule holds where the lemma it leads to is in the lexicon. Source: common practice; the
regular inflection of Italian, German, French and English, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from core.directions.folding import folded
from core.directions.lexicon import Lemma, lexicon

BASE, GERUND, PARTICIPLE, ADVERB = "base", "gerund", "participle", "adverb"
COMPARATIVE, SUPERLATIVE, ELATIVE, DECLINED = "comparative", "superlative", "elative", "declined"


class Sense(NamedTuple):
    """One way to understand a word: a lemma and the form it is in."""

    lemma: Lemma
    feature: str = BASE


_Rule = tuple[str, str, str, str]


def _table(text: str) -> tuple[_Rule, ...]:
    """Rows of "ending lemma-ending part feature"; "-" is nothing."""
    rows = (line.split() for line in text.strip().splitlines())
    return tuple((a.strip("-"), b.strip("-"), part, feature) for a, b, part, feature in rows)


_ITALIAN = _table("""
    a o adj base
    i o adj base
    e o adj base
    he o adj base
    hi o adj base
    i e adj base
    a e adj base
    e a noun base
    i o noun base
    i e noun base
    amente o adj adverb
    emente e adj adverb
    mente e adj adverb
    issimo o adj elative
    issima o adj elative
    issimi o adj elative
    issime o adj elative
    hissimo o adj elative
    issimo e adj elative
    issima e adj elative
    issimamente o adj elative
    issimamente e adj elative
    ando are verb gerund
    andosi are verb gerund
    ante are verb gerund
    ato are verb participle
    ata are verb participle
    ati are verb participle
    a are verb base
    ate are verb base
    ar are verb base
    endo ere verb gerund
    endosi ere verb gerund
    ente ere verb gerund
    uto ere verb participle
    ete ere verb base
    e ere verb base
    er ere verb base
    endo ire verb gerund
    iendo ire verb gerund
    ito ire verb participle
    ite ire verb base
    ir ire verb base
""")
_GERMAN = _table("""
    e - adj declined
    en - adj declined
    em - adj declined
    es - adj declined
    r - adj comparative
    n - adj declined
    s - adj declined
    er - adj comparative
    ere - adj comparative
    eren - adj comparative
    erem - adj comparative
    erer - adj comparative
    ern - adj comparative
    ter - adj comparative
    st - adj superlative
    ste - adj superlative
    sten - adj superlative
    ster - adj superlative
    stem - adj superlative
    stes - adj superlative
    est - adj superlative
    este - adj superlative
    esten - adj superlative
    ester - adj superlative
    estem - adj superlative
    end en verb gerund
    ende en verb gerund
    enden en verb gerund
    ender en verb gerund
    nd n verb gerund
    t en verb participle
    et en verb participle
    e en verb base
    t n verb base
    s - noun base
    es - noun base
    e - noun base
    en - noun base
    n - noun base
    er - noun base
""")
_FRENCH = _table("""
    e - adj base
    s - adj base
    es - adj base
    euse eux adj base
    euses eux adj base
    euse eur adj base
    ive if adj base
    ives if adj base
    ve f adj base
    ere er adj base
    elle el adj base
    onne on adj base
    ement - adj adverb
    ment - adj adverb
    eusement eux adj adverb
    ivement if adj adverb
    ement e adj adverb
    amment ant adj adverb
    emment ent adj adverb
    ellement el adj adverb
    erement er adj adverb
    er er verb base
    ez er verb base
    e er verb base
    ant er verb gerund
    eant er verb gerund
    cant cer verb gerund
    e er verb participle
    ee er verb participle
    ir ir verb base
    issez ir verb base
    ez ir verb base
    issant ir verb gerund
    ant ir verb gerund
    i ir verb participle
    ie ir verb participle
    u ir verb participle
    ez re verb base
    ant re verb gerund
    u re verb participle
    s - noun base
    x - noun base
""")
_ENGLISH = _table("""
    ly - adj adverb
    ally - adj adverb
    ily y adj adverb
    ly le adj adverb
    y - adj adverb
    er - adj comparative
    er e adj comparative
    ier y adj comparative
    est - adj superlative
    est e adj superlative
    iest y adj superlative
    ing - verb gerund
    ing e verb gerund
    ed - verb participle
    ed e verb participle
    s - verb base
    s - noun base
    es - noun base
    'd - adj base
""")
_RULES = {"it": _ITALIAN, "de": _GERMAN, "fr": _FRENCH, "en": _ENGLISH}
_BY_ENDING: dict[str, list[tuple[str, _Rule]]] = {}
for _language, _rules in _RULES.items():
    for _rule in _rules:
        _BY_ENDING.setdefault(_rule[0], []).append((_language, _rule))
_LONGEST_ENDING = max(map(len, _BY_ENDING))
_SHORTEST_STEM = 3


@lru_cache(maxsize=16384)
def senses_of(word: str) -> tuple[Sense, ...]:
    """All that a folded word may be, as printed entries first; empty for an unknown word."""
    found = list(dict.fromkeys((*_listed(word), *_inflected(word), *_older_german(word))))
    known = {(sense.lemma.language, sense.lemma.text) for sense in found}
    return tuple(found) if known else ()


def _listed(word: str) -> Iterator[Sense]:
    for lemma in lexicon().lemmas(word):
        yield Sense(lemma, _listed_feature(word, lemma))


def _listed_feature(word: str, lemma: Lemma) -> str:
    """An irregular form that a verb lists says by its ending what it is."""
    text = folded(lemma.text)
    if lemma.part != "verb" or word == text:
        return BASE
    if lemma.language == "it":
        if word.endswith(("ndo", "ndosi", "nte", "anto", "asi")):
            return GERUND
        return PARTICIPLE if word.endswith(("to", "so", "ta")) else BASE
    if lemma.language == "de":
        if word.endswith("nd"):
            return GERUND
        return PARTICIPLE if "ge" in word[:9] and word != text else BASE
    if word.endswith(("ant", "ing")):
        return GERUND
    return PARTICIPLE if word.endswith(("u", "is")) else BASE


def _inflected(word: str) -> Iterator[Sense]:
    book = lexicon()
    for length in range(min(_LONGEST_ENDING, len(word) - _SHORTEST_STEM), 0, -1):
        ending, stem = word[-length:], word[:-length]
        for language, (_, lemma_ending, part, feature) in _BY_ENDING.get(ending, ()):
            for lemma in book.lemmas(stem + lemma_ending):
                if lemma.language == language and lemma.part == part:
                    yield Sense(lemma, feature)
            if language == "de" and "ge" in stem and feature in (PARTICIPLE, BASE):
                yield from _german_participle(stem, lemma_ending)
    if "ge" in word[:9] and word.endswith("en"):
        yield from _german_participle(word[:-2], "en")


def _german_participle(stem: str, ending: str) -> Iterator[Sense]:
    """Such as "gesteigert" from "steigern", "zurückgehalten" from "zurückhalten"."""
    if ending not in ("en", "n"):
        return
    for lemma in lexicon().lemmas(stem.replace("ge", "", 1) + ending):
        if lemma.language == "de" and lemma.part == "verb":
            yield Sense(lemma, PARTICIPLE)


def _older_german(word: str) -> Iterator[Sense]:
    """Such as "wehmüthig", "Thema": an "h" after "t" that German no longer writes."""
    if "th" not in word:
        return
    newer = word.replace("th", "t")
    for sense in (*_listed(newer), *_inflected(newer)):
        if sense.lemma.language == "de":
            yield sense
