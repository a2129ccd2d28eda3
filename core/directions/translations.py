"""Groups put into German, French and Spanish, as far as every word has a rendering.

Conventions: a rendering belongs to an English gloss (``resources/lexicon/renderings.tsv``); where
that table has none, the target language's own lemma with the same gloss and part of speech
serves. A word without either, an article or a genitive gives no translation at all: the caller
falls back on English rather than mixing languages.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from core.directions.grammar import Group, Link, Word
from core.directions.lexicon import lexicon, renderings
from core.directions.morphology import BASE, COMPARATIVE, ELATIVE, SUPERLATIVE

_DEGREES_BEHIND_PROCESSES = ("fr", "es")
_VERY_MUCH = {"de": "sehr", "fr": "beaucoup", "es": "mucho"}
_MOST = {"de": "höchst", "fr": "le plus", "es": "lo más"}
_UMLAUTS = {"stark": "stärker", "lang": "länger", "warm": "wärmer", "dunkel": "dunkler"}
_RELATIONS = {"with", "without"}


class _UnrenderedError(Exception):
    """A word has no rendering: caught here, and no error for anybody else."""


def translated(links: Sequence[Link], to: str) -> str | None:
    """The translation, or None where a word has no rendering in that language."""
    try:
        text = ""
        for joints, group in links:
            words = [_rendered(joint.gloss, joint.part, to) for joint in joints if not joint.mark]
            joint = " ".join(dict.fromkeys(words))
            said = _group(group, to) if group else ""
            separator = f" {joint} " if joint else ", " if text and said else ""
            text = f"{text}{separator}{said}".strip()
        return text or None
    except _UnrenderedError:
        return None


def _rendered(gloss: str, part: str, to: str) -> str:
    found = renderings(to).get(gloss) or _own_lemmas(to).get((part, gloss))
    if found is None:
        raise _UnrenderedError(gloss)
    return found


@cache
def _own_lemmas(to: str) -> dict[tuple[str, str], str]:
    """The first lemma of the target language with each gloss."""
    found: dict[tuple[str, str], str] = {}
    for word in lexicon().words:
        for lemma in lexicon().lemmas(word):
            if lemma.language == to:
                text = lemma.text.capitalize() if _is_german_noun(lemma.part, to) else lemma.text
                found.setdefault((lemma.part, lemma.glosses[0]), text)
    return found


def _is_german_noun(part: str, to: str) -> bool:
    return to == "de" and part == "noun"


def _group(group: Group, to: str) -> str:
    if group.determiners or group.adjectives or group.kind == "unknown":
        raise _UnrenderedError(group.kind)
    modifiers = (*group.behind, *group.modifiers)
    if group.kind == "modifiers":
        return " ".join(_rendered(word.gloss, "degree", to) for word in modifiers)
    if group.kind == "relation":
        said = _relation(group, to)
    elif len(group.head) != 1 or group.inner is not None:
        raise _UnrenderedError(group.kind)
    else:
        said = _head(group.head[0], to)
    if group.kind == "process" and to in _DEGREES_BEHIND_PROCESSES:
        return " ".join([said, *(_amount(word, to) for word in modifiers)])
    return _modified(modifiers, said, group.head[0].part, to)


def _head(word: Word, to: str) -> str:
    lemma, feature = word.sense
    if lemma.part == "verb" and feature == BASE:
        # An order: renderings of verbs are processes ("en ralentissant"), which say the same.
        return _rendered(lemma.glosses[0], "verb", to)
    said = _rendered(lemma.glosses[0], lemma.part, to)
    if feature == COMPARATIVE:
        return _compared(said, to)
    if feature == ELATIVE:
        return f"{_rendered('very', 'degree', to)} {said}"
    return f"{_MOST[to]} {said}" if feature == SUPERLATIVE else said


def _relation(group: Group, to: str) -> str:
    preposition, inner = group.head[0].gloss, group.inner
    if preposition not in _RELATIONS or inner is None or inner.kind != "noun" or inner.modifiers:
        raise _UnrenderedError(preposition)
    return f"{_rendered(preposition, 'prep', to)} {_group(inner, to)}"


def _amount(word: Word, to: str) -> str:
    if word.gloss in ("very", "much"):
        return _VERY_MUCH[to]
    return _rendered(word.gloss, "degree", to)


def _modified(modifiers: Sequence[Word], said: str, part: str, to: str) -> str:
    for word in reversed(modifiers):
        if word.gloss == "more" and part in ("adj", "dyn"):
            said = _compared(said, to)
        elif word.gloss == "not" and said.startswith(_rendered("not", "neg", to)):
            continue
        else:
            said = f"{_rendered(word.gloss, word.part, to)} {said}"
    return said


def _compared(said: str, to: str) -> str:
    if to != "de":
        return f"{_rendered('more', 'degree', to)} {said}"
    first, *others = said.split(", ")
    if " " in first:
        return f"noch {said}"
    ending = "r" if first.endswith("e") else "er"
    return ", ".join([_UMLAUTS.get(first, first + ending), *others])
