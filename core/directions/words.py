"""From tokens to what they stand for: set phrases, abbreviations, forms, guesses.

An ``Item`` is one or more tokens with everything that they may be. What is chosen of it depends
on the language of the whole, which ``language_of`` finds by what the words share.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from core.directions.folding import folded
from core.directions.lexicon import LANGUAGES, Lemma, lexicon
from core.directions.morphology import BASE, Sense, senses_of
from core.directions.slips import likely_word
from core.directions.tokens import Token

_LONGEST_GUESSED = 40
"""Words: a longer text is prose, and no slip is looked for in it."""
_SHORTEST_ADVERB = 6
_ORDINALS = {"1": "first", "2": "second", "3": "third", "4": "fourth"}
_NEUTRAL_PARTS = {"dyn", "number"}
_NEUTRAL_WORDS = {
    "tempo", "tempo primo", "a tempo", "pedale", "pedal", "piano", "solo", "coda", "finale",
    "legato", "staccato", "ad libitum", "crescendo", "allegro", "scherzo", "trio", "rondo",
    "segno", "variation", "circa",
}  # fmt: skip
"""Italian words that all languages of music use: they don't make a text Italian."""
_RANK = {language: rank for rank, language in enumerate(LANGUAGES)}
_SMALL_PARTS = {"det", "prep", "conj", "neg", "degree"}


class Item(NamedTuple):
    """One word or set phrase.

    ``options`` are its written-out forms, the likeliest first, each with its senses; one without
    senses was not understood. ``trust`` is 1 for what is printed so, less for guesses.
    """

    printed: str
    options: tuple[tuple[str, tuple[Sense, ...]], ...]
    trust: float = 1.0
    mark: str = ""

    @property
    def senses(self) -> tuple[Sense, ...]:
        """What the likeliest form may be."""
        return self.options[0][1] if self.options else ()


def items_of(tokens: Sequence[Token]) -> list[Item]:
    """The items of a direction in order; punctuation has a ``mark`` and no options."""
    may_guess = len(tokens) <= _LONGEST_GUESSED
    is_alone = sum(token.kind != "mark" for token in tokens) == 1
    expanded = [_expansions(token, is_alone) for token in tokens]
    found: list[Item] = []
    position = 0
    while position < len(tokens):
        token = tokens[position]
        if token.kind == "mark":
            found.append(Item(token.printed, (), mark=token.printed))
            position += 1
            continue
        length, senses, words = _longest_phrase(tokens, expanded, position)
        if length:
            printed = " ".join(t.printed for t in tokens[position : position + length])
            found.append(Item(printed, ((words, senses),)))
            position += length
            continue
        found.append(_single(token, expanded[position], may_guess))
        position += 1
    return found


def _expansions(token: Token, is_alone: bool) -> tuple[str, ...]:
    """What a token may be the abbreviation of; empty for a word that is written out."""
    meant = lexicon().abbreviations.get(token.folded)
    if meant is None:
        return ()
    if len(token.folded) == 1 and not is_alone:
        return ()
    if senses_of(token.folded) and not token.is_cut:
        return ()
    return meant.expansions


def _longest_phrase(
    tokens: Sequence[Token], expanded: Sequence[tuple[str, ...]], start: int
) -> tuple[int, tuple[Sense, ...], str]:
    """Length, senses and written-out words of the longest set phrase from ``start`` on."""
    book = lexicon()
    first = _keys(tokens[start], expanded[start])
    longest = max((book.phrase_starts.get(key[0], 0) for key in first), default=0)
    if not longest:
        return 0, (), ""
    keys: list[tuple[str, ...]] = [()]
    best: tuple[int, tuple[Sense, ...], str] = (0, (), "")
    for position in range(start, min(start + longest, len(tokens))):
        if tokens[position].kind == "mark":
            break
        more = _keys(tokens[position], expanded[position])
        keys = [key + other for key in keys for other in more][:8]
        for key in keys:
            lemmas = book.phrase_lemmas(key)
            if lemmas and (position > start or len(key) > 1):
                length = position - start + 1
                mended = book.mended.get((lemmas[0].language, " ".join(key)))
                words = mended or _written_out(tokens[start : start + length], expanded[start:])
                best = (length, tuple(Sense(lemma) for lemma in lemmas), words)
    return best


def _keys(token: Token, expansions: tuple[str, ...]) -> list[tuple[str, ...]]:
    return [(token.folded,), *(tuple(folded(e).split()) for e in expansions)]


def _written_out(tokens: Sequence[Token], expanded: Sequence[tuple[str, ...]]) -> str:
    return " ".join(
        expansions[0] if expansions else token.printed.lower()
        for token, expansions in zip(tokens, expanded, strict=False)
    )


def _single(token: Token, expansions: tuple[str, ...], may_guess: bool) -> Item:
    if expansions:
        options = tuple((words, _senses_of_words(words)) for words in expansions)
        return Item(token.printed, options, 1.0 if len(expansions) == 1 else 0.9)
    if token.kind == "number":
        return Item(token.printed, ((token.printed, (_number_sense(token),)),))
    senses = senses_of(token.folded)
    if senses:
        return Item(token.printed, ((token.printed, senses),))
    if may_guess:
        guess = likely_word(token.folded, is_cut=token.is_cut)
        if guess:
            word, trust = guess
            return Item(token.printed, ((word, senses_of(folded(word))),), trust)
    if _is_english_adverb(token.folded):
        lemma = Lemma(token.folded, "en", "adj", ("character",), (token.folded,), "plain")
        return Item(token.printed, ((token.printed, (Sense(lemma),)),), 0.7)
    return Item(token.printed, ((token.printed, ()),), 0.0)


def _number_sense(token: Token) -> Sense:
    return Sense(Lemma(token.printed, "", "number", (), (_ordinal(token.folded),)))


def _ordinal(number: str) -> str:
    """Such as "2°", "2e" and "2nd" are "second"; a number without an ending stays as it is."""
    digits = number.rstrip("abcdefghijklmnopqrstuvwxyz")
    return _ORDINALS.get(digits, number) if digits != number else number


def _is_english_adverb(word: str) -> bool:
    """Such as "deprecatingly": English makes adverbs of any adjective, and ends alone so."""
    return word.endswith("ly") and len(word) >= _SHORTEST_ADVERB


@lru_cache(maxsize=1024)
def _senses_of_words(words: str) -> tuple[Sense, ...]:
    """Senses of a written-out abbreviation, which may be a set phrase."""
    key = tuple(folded(words).split())
    if len(key) == 1:
        return senses_of(key[0])
    return tuple(Sense(lemma) for lemma in lexicon().phrase_lemmas(key))


def language_of(items: Sequence[Item], context: str | None) -> tuple[str | None, str | None]:
    """The language of the whole ("mix" for two), and the one whose words are to be preferred."""
    votes: defaultdict[str, float] = defaultdict(float)
    voters = []
    for item in items:
        languages = _languages(item)
        if not languages:
            continue
        weight = (0.1 if _is_neutral(item) else 1.0) / len(languages)
        for language, share in languages.items():
            votes[language] += weight * share
        if not _is_neutral(item):
            voters.append((item, languages))
    if not votes:
        return None, context
    if context is not None and context in votes:
        votes[context] += 0.6
    best = max(votes, key=lambda language: (round(votes[language], 6), -LANGUAGES.index(language)))
    others = {
        frozenset(languages)
        for item, languages in voters
        if best not in languages and not _is_small(item)
    }
    return ("mix" if others else best), best


def _languages(item: Item) -> dict[str, float]:
    """The languages of an item; less for inflected forms, and for words such as "and"."""
    found: dict[str, float] = {}
    for written, senses in item.options:
        for lemma, _ in senses:
            if lemma.language:
                is_lemma = folded(lemma.text) == folded(written)
                share = (1.0 if is_lemma else 0.95) * (0.9 if lemma.part in _SMALL_PARTS else 1.0)
                found[lemma.language] = max(found.get(lemma.language, 0.0), share)
    return found


def _is_neutral(item: Item) -> bool:
    return any(
        s.lemma.part in _NEUTRAL_PARTS or s.lemma.text in _NEUTRAL_WORDS for s in item.senses
    )


def _is_small(item: Item) -> bool:
    return all(sense.lemma.part in _SMALL_PARTS for sense in item.senses)


def preferred(senses: Sequence[Sense], language: str | None) -> list[Sense]:
    """Senses in the preferred language first, then in the order of ``LANGUAGES``."""
    return sorted(
        senses,
        key=lambda s: (s.lemma.language != language, _RANK.get(s.lemma.language, 0)),
    )


def is_understood(item: Item) -> bool:
    """Whether an item has a sense, or is a mark or number that needs none."""
    return bool(item.mark or item.senses or item.printed[:1].isdigit())


UNKNOWN = Lemma("", "", "unknown", (), ("",))
"""Stands for a word that was not understood."""


def unknown_sense() -> Sense:
    """The sense of a word without one."""
    return Sense(UNKNOWN, BASE)
