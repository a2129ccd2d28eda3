"""How the words of a direction belong together.

Conventions: a direction is a row of groups with what joins them ("and", "but", ","). A group is
one head with its modifiers; a noun has its adjectives, a preposition its noun. Where a modifier
stands between two heads it belongs to the second ("p molto legato"), at the end or before a
conjunction to the first ("cresc. molto e rit.").
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from core.directions.lexicon import Lemma
from core.directions.morphology import COMPARATIVE, DECLINED, GERUND, Sense

MODIFIERS = ("degree", "neg")
NOUNS = ("noun", "title")
_LIKE_PREPOSITIONS = {"as", "like", "than", "until", "in spite of", "as if", "around"}
"""Glosses of conjunctions that a noun follows."""
_BEFORE_NOUNS = {
    "great", "half", "small", "beautiful", "big", "double", "good", "full", "new", "long", "same",
}  # fmt: skip
"""Glosses of Italian and French adjectives that stand before their noun."""
_BEHIND_HEADS = {"as possible", "throughout"}
_DEEPEST = 6
"""Relations in one another; what goes deeper is no direction."""
_EARLY_PUNCTUATION = ",;:()[]/"


class Word(NamedTuple):
    """An item with the sense that was chosen, or a mark."""

    printed: str
    sense: Sense
    mark: str = ""

    @property
    def part(self) -> str:
        """Part of speech; empty for a mark."""
        return "" if self.mark else self.sense.lemma.part

    @property
    def gloss(self) -> str:
        """The usual gloss."""
        return self.sense.lemma.glosses[0]


_OF = Word("der", Sense(Lemma("der", "de", "prep", ("character",), ("of",))))


class Group(NamedTuple):
    """A head with what belongs to it.

    ``kind``: "quality" (adjective, dynamics, set phrase), "process" (verb), "noun", "relation"
    (a preposition with its ``inner``), "modifiers" (no head), "unknown".
    """

    kind: str
    head: tuple[Word, ...] = ()
    modifiers: tuple[Word, ...] = ()
    behind: tuple[Word, ...] = ()
    determiners: tuple[Word, ...] = ()
    adjectives: tuple[Word, ...] = ()
    inner: Group | None = None


class Link(NamedTuple):
    """A group and what joins it to the one before: words of a conjunction, or a mark."""

    joints: tuple[Word, ...]
    group: Group | None


def parsed(words: Sequence[Word]) -> list[Link]:
    """The groups of a direction; a last link without a group holds a joint left open ("e")."""
    return _Parser(words).links()


class _Parser:
    def __init__(self, words: Sequence[Word]) -> None:
        self.words = words
        self.position = 0
        self.depth = 0

    def links(self) -> list[Link]:
        found: list[Link] = []
        joints: list[Word] = []
        while self.position < len(self.words):
            word = self.words[self.position]
            if word.mark or self._is_joint(word):
                if word.mark in ("", "&", "+") or word.mark in _EARLY_PUNCTUATION:
                    joints.append(word)
                self.position += 1
                continue
            found.append(Link(tuple(joints), self._group()))
            joints = []
        if any(not joint.mark for joint in joints):
            found.append(Link(tuple(joints), None))
        return found

    def _peek(self, ahead: int = 0) -> Word | None:
        position = self.position + ahead
        return self.words[position] if position < len(self.words) else None

    def _part(self, ahead: int = 0) -> str:
        word = self._peek(ahead)
        return word.part if word else ""

    def _take(self) -> Word:
        word = self.words[self.position]
        self.position += 1
        return word

    def _is_joint(self, word: Word) -> bool:
        return word.part == "conj" and word.gloss not in _LIKE_PREPOSITIONS

    def _group(self) -> Group:
        modifiers = self._modifiers()
        word = self._peek()
        if word is None or word.mark or self._is_joint(word):
            return Group(kind="modifiers", modifiers=modifiers)
        group = self._headed()._replace(modifiers=modifiers)
        return group._replace(behind=self._modifiers_behind())

    def _modifiers(self) -> tuple[Word, ...]:
        found = []
        while self._part() in MODIFIERS:
            found.append(self._take())
        return tuple(found)

    def _modifiers_behind(self) -> tuple[Word, ...]:
        ahead = 0
        while self._part(ahead) in MODIFIERS:
            ahead += 1
        follower = self._peek(ahead)
        is_last = follower is None or bool(follower.mark) or self._is_joint(follower)
        found: list[Word] = []
        while self._part() in MODIFIERS:
            word = self._peek()
            if not is_last and (word is None or word.gloss not in _BEHIND_HEADS):
                break
            found.append(self._take())
        return tuple(found)

    def _headed(self) -> Group:
        word = self._peek()
        assert word is not None
        if word.part in ("prep", "conj"):
            return self._relation()
        if word.part in ("det", "number") or word.part in NOUNS or self._begins_noun():
            return self._noun()
        if word.part == "verb":
            return self._process()
        if word.part == "unknown":
            return self._unknown()
        return Group(kind="quality", head=(self._take(),))

    def _begins_noun(self) -> bool:
        """Whether adjectives stand here that a noun follows."""
        ahead = 0
        while self._part(ahead) in ("adj", "det"):
            ahead += 1
        word = self._peek()
        if not ahead or self._part(ahead) != "noun" or word is None:
            return False
        if word.sense.lemma.language in ("de", "en"):
            return word.sense.feature in (DECLINED, COMPARATIVE) or self._is_english(word)
        return word.gloss in _BEFORE_NOUNS

    def _is_english(self, word: Word) -> bool:
        return word.sense.lemma.language == "en"

    def _relation(self) -> Group:
        preposition = self._take()
        self.depth += 1
        try:
            return self._related(preposition)
        finally:
            self.depth -= 1

    def _related(self, preposition: Word) -> Group:
        if self.depth > _DEEPEST:
            return Group(kind="relation", head=(preposition,))
        if self._part() == "prep" and self._part(1):
            if preposition.part == "conj" and preposition.gloss != "until":
                # "comme au début": the comparison is of the whole relation.
                return Group(kind="relation", head=(preposition,), inner=self._relation())
            # "bis zum": the second says no more than the first.
            self._take()
        modifiers = self._modifiers()
        word = self._peek()
        if word is None or word.mark or self._is_joint(word):
            inner = Group(kind="modifiers", modifiers=modifiers) if modifiers else None
            return Group(kind="relation", head=(preposition,), inner=inner)
        if word.part in ("adj", "det") and self._has_noun_ahead():
            inner = self._noun()
        else:
            inner = self._headed()
        return Group(
            kind="relation", head=(preposition,), inner=inner._replace(modifiers=modifiers)
        )

    def _has_noun_ahead(self) -> bool:
        ahead = 0
        while self._part(ahead) in ("adj", "det", "number"):
            ahead += 1
        return self._part(ahead) in NOUNS

    def _noun(self) -> Group:
        determiners, adjectives = [], []
        while self._part() in ("det", "number"):
            determiners.append(self._take())
        while self._part() == "adj" and self._has_noun_ahead():
            adjectives.append(self._take())
        if self._part() not in NOUNS:
            if not adjectives and self._part() in ("adj", "verb", "phrase", "dyn", "unknown"):
                return self._headed()._replace(determiners=tuple(determiners))
            return Group(kind="noun", determiners=tuple(determiners), adjectives=tuple(adjectives))
        noun = self._take()
        if self._part() == "number":
            # "Variation 12": the number is the noun's, and part of its name.
            return Group(kind="noun", head=(noun, self._take()), determiners=tuple(determiners))
        while self._part() == "adj" and self._agrees(noun):
            adjectives.append(self._take())
        inner = None
        if self._part() == "prep" and self._is_genitive() and self._part(1):
            inner = self._relation()
        elif self._is_german_genitive(noun):
            inner = Group(kind="relation", head=(_OF,), inner=self._noun())
        return Group(
            kind="noun",
            head=(noun,),
            determiners=tuple(determiners),
            adjectives=tuple(adjectives),
            inner=inner,
        )

    def _is_genitive(self) -> bool:
        word = self._peek()
        return word is not None and word.gloss.startswith("of")

    def _is_german_genitive(self, noun: Word) -> bool:
        """Such as "Schluss der Strophe": "der" behind a noun says whose it is."""
        word = self._peek()
        is_article = word is not None and word.part == "det" and word.printed.lower() == "der"
        return is_article and noun.sense.lemma.language == "de" and bool(self._part(1))

    def _agrees(self, noun: Word) -> bool:
        """Whether the adjective here belongs to the noun before it, as in French and Italian."""
        word = self._peek()
        language = noun.sense.lemma.language
        if word is None or word.sense.lemma.language != language or language not in ("fr", "it"):
            return False
        # Under a preposition ("une joie sauvage"), or without its own modifiers.
        before = self.words[self.position - 2] if self.position > 1 else None
        return before is not None and before.part in ("det", "prep", "adj")

    def _process(self) -> Group:
        verb = self._take()
        inner = None
        is_open = verb.sense.feature != GERUND or self._part() == "det"
        if is_open and (self._part() == "det" or self._part() == "noun"):
            inner = self._noun()
        return Group(kind="process", head=(verb,), inner=inner)

    def _unknown(self) -> Group:
        found = []
        while self._part() == "unknown":
            found.append(self._take())
        return Group(kind="unknown", head=tuple(found))
