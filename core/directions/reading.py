"""Reading one direction: from printed words to their meaning."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

from core.directions.folding import folded
from core.directions.grammar import Group, Link, Word, parsed
from core.directions.lexicon import lexicon
from core.directions.meaning import TARGET_LANGUAGES, Meaning, Rewording
from core.directions.morphology import COMPARATIVE, Sense, senses_of
from core.directions.phrasing import english
from core.directions.tokens import Token, is_metronome_mark, tokens_of
from core.directions.translations import translated
from core.directions.words import (
    Item,
    is_understood,
    items_of,
    language_of,
    preferred,
    unknown_sense,
)

_LONGEST_READ = 2000
"""Signs: what is longer is no direction, and only its beginning is looked at."""
_SMALL_PARTS = {"degree", "neg", "conj", "prep", "det"}
_LEAST_UNDERSTOOD = 0.5
"""Share of the words; below it no translation is given."""
_MOST_UNKNOWN = 0.3
"""Share of the words between two marks; above it they are quoted as they stand."""


def read_direction(text: str, *, context_language: str | None = None, to: str = "en") -> Meaning:
    """What a printed direction means.

    Parameters
    ----------
    text : str
        As printed; any length and script.
    context_language : str or None
        Language of the other directions of the score, which decides between equals.
    to : str
        Language of the translation, of ``TARGET_LANGUAGES``.

    Raises
    ------
    ValueError
        For a language that nothing is translated into.

    Examples
    --------
    >>> read_direction("poco a poco cresc.").normal_form
    'poco a poco crescendo'
    >>> read_direction("p dolce").translation
    'soft, sweet'
    """
    if to not in TARGET_LANGUAGES:
        raise ValueError(f"to is {to!r}; it is one of {', '.join(TARGET_LANGUAGES)}")
    return _read(text, context_language, to)


@lru_cache(maxsize=4096)
def is_open(text: str) -> bool:
    """Whether the words wait for more: degrees and joints without what they are said of."""
    items = [item for item in items_of(tokens_of(text[:_LONGEST_READ])) if not item.mark]
    if not items or not all(item.senses for item in items):
        return False
    parts = [{sense.lemma.part for sense in item.senses} for item in items]
    is_left_open = bool(parts[-1] & {"conj", "prep", "det"}) and not parts[-1] - _SMALL_PARTS
    return is_left_open or all(not part - _SMALL_PARTS for part in parts)


@lru_cache(maxsize=4096)
def is_one_word(text: str) -> bool:
    """Whether the pieces of a text make up one word of the lexicon."""
    tokens = tokens_of(text)
    return len(tokens) == 1 and bool(senses_of(tokens[0].folded))


@lru_cache(maxsize=4096)
def _read(text: str, context: str | None, to: str) -> Meaning:
    if is_metronome_mark(text):
        return _metronome_mark(text)
    tokens = tokens_of(text[:_LONGEST_READ])
    items = items_of(tokens)
    if not any(sense.lemma.part != "number" for item in items for sense in item.senses):
        # Page and measure numbers, and what can't be read at all.
        return Meaning(text=text)
    language, best = language_of(items, context)
    is_alone = sum(not item.mark for item in items) == 1
    words = _quoted(items, [_word(item, best, is_alone=is_alone) for item in items])
    links = parsed(words)
    share = _understood_share(items)
    is_whole = len(text) <= _LONGEST_READ
    translation, used = _translation(links, language, tokens, to) if share else (None, "en")
    if share < _LEAST_UNDERSTOOD:
        translation = None
    trust = min((item.trust for item in items if not item.mark), default=0.0)
    return Meaning(
        text=text,
        language=language,
        categories=_categories(links),
        normal_form=_normal_form(items, words),
        translation=translation,
        translation_language=used,
        is_known=is_whole and share == 1 and trust >= 0.7 and _is_standard(links),
        alternatives=_alternatives(items, links, best, translation, to) if translation else (),
        confidence=round(trust if share == 1 else 0.5 * share, 4),
    )


def _metronome_mark(text: str) -> Meaning:
    return Meaning(
        text=text,
        language=None,
        categories=("tempo",),
        normal_form=text.strip(),
        translation=text.strip(" ()"),
        is_known=True,
        confidence=1.0,
    )


def _word(item: Item, language: str | None, option: int = 0, *, is_alone: bool = False) -> Word:
    if item.mark:
        return Word(item.printed, unknown_sense(), item.mark)
    senses = item.options[min(option, len(item.options) - 1)][1] if item.options else ()
    if not senses:
        return Word(item.printed, unknown_sense())
    ranked = preferred(senses, language)
    if is_alone:
        # "Fine", "fin", "Coda" alone stand for a place in the piece.
        ranked.sort(
            key=lambda s: (
                s.lemma.categories[:1] != ("structure navigation",),
                s.lemma.language != language or s.lemma.part != "phrase",
            )
        )
    return Word(item.printed, ranked[0])


def _quoted(items: Sequence[Item], words: Sequence[Word]) -> list[Word]:
    """Words between two marks stay together in quotation marks where too few are understood."""
    found: list[Word] = []
    stretch: list[tuple[Item, Word]] = []
    for pair in (*zip(items, words, strict=True), None):
        if pair is not None and not pair[0].mark:
            stretch.append(pair)
            continue
        unknown = sum(not item.senses for item, _ in stretch)
        if unknown > 1 and unknown > _MOST_UNKNOWN * len(stretch):
            found += [
                w if w.part == "dyn" else Word(i.printed, unknown_sense()) for i, w in stretch
            ]
        else:
            found += [word for _, word in stretch]
        found += [pair[1]] if pair is not None else []
        stretch = []
    return found


def _understood_share(items: Sequence[Item]) -> float:
    words = [item for item in items if not item.mark]
    return sum(map(is_understood, words)) / len(words) if words else 0.0


def _translation(
    links: Sequence[Link], language: str | None, tokens: Sequence[Token], to: str
) -> tuple[str, str]:
    if to != "en":
        other = translated(links, to)
        if other:
            return other, to
    if language == "en":
        # English words are their own translation.
        return " ".join(_spaced(token.printed for token in tokens)), "en"
    return english(links), "en"


def _spaced(parts: Iterable[str]) -> list[str]:
    found: list[str] = []
    for part in parts:
        if found and (part in ",;:!?)]" or found[-1].endswith(("(", "[", "'"))):
            found[-1] += part
        else:
            found.append(part)
    return found


def _alternatives(
    items: Sequence[Item], links: Sequence[Link], best: str | None, translation: str, to: str
) -> tuple[Rewording, ...]:
    found: list[Rewording] = []
    if any(len(item.options) > 1 for item in items):
        words = [_word(item, best, 1) for item in items]
        said = english(parsed(words))
        found.append(Rewording(normal_form=_normal_form(items, words, 1), translation=said))
    if to == "en":
        normal_form = _normal_form(items, [_word(item, best) for item in items])
        found.append(Rewording(normal_form=normal_form, translation=english(links, 1)))
    kept: dict[str, Rewording] = {}
    for other in found:
        if other.translation != translation:
            kept.setdefault(other.translation, other)
    return tuple(kept.values())


def _normal_form(items: Sequence[Item], words: Sequence[Word], option: int = 0) -> str:
    parts = []
    for item, word in zip(items, words, strict=True):
        if item.mark:
            parts.append(item.mark)
            continue
        written = item.options[min(option, len(item.options) - 1)][0]
        is_german_noun = word.part == "noun" and word.sense.lemma.language == "de"
        is_kept = is_german_noun or word.part == "unknown"
        language = word.sense.lemma.language
        written = lexicon().mended.get((language, folded(written)), written)
        parts.append(written if is_kept else written.lower())
    return " ".join(_spaced(parts))


# --------------------------------------------------------------------------- categories


def _categories(links: Sequence[Link]) -> tuple[str, ...]:
    """What kind of direction it is; a title or a part named says least of how to play."""
    found: dict[str, None] = {}
    names: dict[str, None] = {}
    weak: dict[str, None] = {}
    for _, group in links:
        if group is None:
            continue
        kept = found
        if group.kind in ("modifiers", "unknown"):
            kept = weak
        elif group.kind == "noun" and not group.adjectives:
            kept = names
        kept.update(dict.fromkeys(_group_categories(group)))
    return tuple({**found, **names} or weak)


def _group_categories(group: Group) -> tuple[str, ...]:
    modifiers = (*group.modifiers, *group.behind)
    glosses = {word.gloss for word in modifiers}
    if group.kind == "modifiers":
        return tuple(c for word in modifiers for c in word.sense.lemma.categories)
    if group.kind == "relation":
        own = _group_categories(group.inner) if group.inner else ()
        return own or group.head[0].sense.lemma.categories
    if group.kind == "unknown" or not group.head:
        return tuple(c for word in group.determiners for c in word.sense.lemma.categories)
    head = group.head[0]
    own = head.sense.lemma.categories
    if group.kind == "noun" and group.adjectives:
        qualities = [c for word in group.adjectives for c in word.sense.lemma.categories]
        is_named = own[0] in ("hands technique", "character")
        own = tuple(dict.fromkeys([*qualities, *own] if is_named else [*own, *qualities]))
    is_gradual = bool(glosses & {"little by little", "more and more", "gradually"})
    is_compared = bool(glosses & {"more", "less"}) or head.sense.feature == COMPARATIVE
    if head.part == "adj" and (is_compared or is_gradual):
        return _changed(own)
    if head.part == "dyn" and is_gradual:
        return ("dynamic change", *own)
    return own


def _changed(categories: tuple[str, ...]) -> tuple[str, ...]:
    """A compared adjective asks for a change of what it names."""
    if "tempo" in categories:
        return tuple(dict.fromkeys(("tempo change", *categories)))
    if categories[0] == "dynamics":
        return ("dynamics", "dynamic change", *categories[1:])
    return categories


# --------------------------------------------------------------------------- standing


def _is_standard(links: Sequence[Link]) -> bool:
    groups = [group for _, group in links if group is not None]
    if not any(_says_something(group) for group in groups):
        return False
    return all(
        _has_standing(group) or (group.kind == "noun" and _is_joined(before) and _is_musical(group))
        for before, group in pairwise((None, *groups))
        if group is not None
    )


def _is_joined(before: Group | None) -> bool:
    """Whether a noun goes with the one before: "mit Kraft und Feuer"."""
    return before is not None and (
        before.kind == "noun"
        or (before.kind == "relation" and before.head[0].gloss in ("with", "without"))
    )


def _says_something(group: Group) -> bool:
    """More than an article, a number or a preposition alone."""
    if group.kind == "relation":
        return group.inner is not None and _says_something(group.inner)
    return bool(group.head or group.modifiers or group.adjectives)


def _has_standing(group: Group) -> bool:
    """Whether a group is a convention of music, and not plain language."""
    if group.kind == "unknown":
        return False
    if group.kind == "relation":
        preposition = group.head[0].gloss
        if group.inner is None:
            return True
        if preposition in ("with", "without", "in", "in the"):
            return _is_musical(group.inner)
        return _is_technical(group.inner)
    if group.kind == "noun":
        return _is_technical(group)
    return _is_musical(group)


def _is_musical(group: Group) -> bool:
    words = (*group.head, *group.adjectives)
    return not any(_is_plain(word.sense) for word in words) and (
        group.inner is None or _is_musical(group.inner)
    )


def _is_technical(group: Group) -> bool:
    """A noun that names something in music; a feeling alone is none."""
    if group.kind != "noun":
        return _is_musical(group)
    if not group.head:
        return True
    return group.head[0].sense.lemma.categories != ("character",) and _is_musical(group)


def _is_plain(sense: Sense) -> bool:
    return "plain" in sense.lemma.note
