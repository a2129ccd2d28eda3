"""Reading one direction: from printed words to their meaning."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from core.directions.grammar import Group, Link, Word, parsed
from core.directions.meaning import TARGET_LANGUAGES, Meaning, Rewording
from core.directions.morphology import COMPARATIVE, Sense
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
_LEAST_UNDERSTOOD = 0.5
"""Share of the words; below it no translation is given."""


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
def _read(text: str, context: str | None, to: str) -> Meaning:
    if is_metronome_mark(text):
        return _metronome_mark(text)
    tokens = tokens_of(text[:_LONGEST_READ])
    items = items_of(tokens)
    if not any(item.senses for item in items):
        return Meaning(text=text)
    language, best = language_of(items, context)
    words = [_word(item, best) for item in items]
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


def _word(item: Item, language: str | None, option: int = 0) -> Word:
    if item.mark:
        return Word(item.printed, unknown_sense(), item.mark)
    senses = item.options[min(option, len(item.options) - 1)][1] if item.options else ()
    if not senses:
        return Word(item.printed, unknown_sense())
    return Word(item.printed, preferred(senses, language)[0])


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


def _spaced(parts: object) -> list[str]:
    found: list[str] = []
    for part in parts:  # type: ignore[attr-defined]
        if (found and part in ",;:!?)]") or (found and found[-1] in ("(", "[")):
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
        parts.append(written if is_kept else written.lower())
    return " ".join(_spaced(parts))


# --------------------------------------------------------------------------- categories


def _categories(links: Sequence[Link]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    weak: dict[str, None] = {}
    for _, group in links:
        if group is not None:
            kept = weak if group.kind in ("modifiers", "unknown") else found
            kept.update(dict.fromkeys(_group_categories(group)))
    return tuple(found or weak)


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
        return ("dynamic change", *categories)
    return categories


# --------------------------------------------------------------------------- standing


def _is_standard(links: Sequence[Link]) -> bool:
    return all(group is None or _has_standing(group) for _, group in links)


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
    lemma = sense.lemma
    if "plain" in lemma.note:
        return True
    is_listed_english = lemma.language == "en" and lemma.categories == ("character",)
    return is_listed_english and lemma.part in ("noun", "verb")
