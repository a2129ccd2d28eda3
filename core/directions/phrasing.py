"""Groups put into English.

``which`` chooses among glosses: 0 the usual one, 1 the second where there is one. A process takes
its degrees behind it ("slowing down a little"), a quality before it ("a little slow").
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from core.directions.english import adverb, comparative, gerund, participle
from core.directions.grammar import Group, Link, Word
from core.directions.morphology import (
    ADVERB,
    COMPARATIVE,
    ELATIVE,
    GERUND,
    PARTICIPLE,
    SUPERLATIVE,
)

_BEHIND_PROCESSES = {
    "very": "a lot", "too": "too much", "so": "so much", "a little": "a little", "more": "more",
    "less": "less", "much": "a lot", "rather": "rather", "slightly": "slightly",
    "a very little": "a very little", "little": "little", "extremely": "extremely",
    "more and more": "more and more", "as possible": "as much as possible", "quite": "quite",
    "well": "well", "a lot": "a lot", "more a little": "a little more",
}  # fmt: skip
_COMPARED = r"\w{2}er\b|\bmore\b|\bless\b"
_CHANGE = r"(get|gett|becom|grow|become|grow)(ing)? (?=\w+er\b)"
_ARTICLE = re.compile(r"\b(a) (?=[aeio])")
_FOR_NOUNS = {
    "almost": "like a",
    "quite": "all", "very": "much", "as possible": "all possible", "too": "too much",
    "so": "so much",
}  # fmt: skip
_SECOND_DEGREES = {"a little": "slightly", "rather": "fairly", "always": "continually"}


def english(links: Sequence[Link], which: int = 0) -> str:
    """The translation of a direction."""
    text = ""
    is_in_brackets = False
    for position, (joints, group) in enumerate(links):
        words = [joint.gloss for joint in joints if not joint.mark]
        joint = " ".join(dict.fromkeys(words))
        said = _group(group, which) if group else ""
        if said.startswith("than ") and not re.search(_COMPARED, text):
            said = f"as {said[5:]}"
        if position == 0:
            # "d'une voix contenue": what begins with "of" is how to play.
            said = f"with {said[3:]}" if said.startswith("of ") else said
        opens = any(mark.mark in "([" for mark in joints if mark.mark)
        closes = is_in_brackets and any(mark.mark in ")]" for mark in joints if mark.mark)
        if closes:
            text, is_in_brackets = f"{text})", False
        if opens and text and said:
            said, is_in_brackets = f"({said}", True
            text = f"{text} {joint}".strip() if joint else text
            text = f"{text} {said}"
            continue
        if joint == "then" and text:
            joint = ", then"
        if said.startswith("but ") and joint == "but":
            joint = ""
        separator = f" {joint} " if joint else ", " if text and said else ""
        if position and not joints and _is_manner(links[position - 1].group, group):
            text, separator = adverb(text), " "
        text = f"{text}{separator}{said}".strip()
    text = _ARTICLE.sub(r"\1n ", f"{text})" if is_in_brackets else text)
    return " ".join(text.replace(" ,", ",").split()).removeprefix(", ")


def _group(group: Group, which: int) -> str:
    # What stands behind is said of the whole ("più f poco a poco").
    modifiers = (*group.behind, *group.modifiers)
    if group.kind == "modifiers":
        return " ".join(_unmodified(modifiers, which))
    if group.kind == "unknown":
        said = "“" + " ".join(word.printed for word in group.head) + "”"
        return " ".join([*_unmodified(modifiers, which), said])
    if group.kind == "relation":
        return _modified(modifiers, _relation(group, which), which)
    if group.kind == "noun":
        return _noun(group, modifiers, which)
    said = _head(group.head[0], which)
    if group.kind == "process":
        said = _process(group, modifiers, which)
    else:
        said = _modified(modifiers, said, which, is_dynamics=group.head[0].part == "dyn")
    return " ".join([*(word.gloss for word in group.determiners), said])


def _unmodified(modifiers: Sequence[Word], which: int) -> list[str]:
    glosses = []
    for word in modifiers:
        options = word.sense.lemma.glosses
        glosses.append(options[min(which, len(options) - 1)])
    return ["not", *(g for g in glosses if g != "not")] if "not" in glosses else glosses


def _head(word: Word, which: int) -> str:
    lemma, feature = word.sense
    gloss = lemma.glosses[min(which, len(lemma.glosses) - 1)]
    if lemma.part == "verb":
        forms = {GERUND: gerund, PARTICIPLE: participle}
        return forms[feature](gloss) if feature in forms else gloss
    if feature == COMPARATIVE:
        return comparative(gloss)
    if feature == SUPERLATIVE:
        return f"most {gloss}"
    if feature == ELATIVE:
        return _very(gloss)
    return adverb(gloss) if feature == ADVERB else gloss


def _very(gloss: str) -> str:
    return (
        f"extremely {gloss.removeprefix('very ')}" if gloss.startswith("very ") else f"very {gloss}"
    )


def _modified(modifiers: Sequence[Word], said: str, which: int, is_dynamics: bool = False) -> str:
    """A quality with its degrees, the nearest first."""
    is_compared = said.startswith("more ")
    for word in reversed(modifiers):
        gloss = word.gloss
        if gloss == "more":
            is_strong = is_dynamics and said.startswith("very ")
            said, is_compared = comparative(said) + (f", {said}" if is_strong else ""), True
        elif gloss == "most":
            said = f"most {said}"
        elif gloss in ("very", "extremely", "much", "a lot"):
            said = f"much {said}" if is_compared or _is_compared(said) else _degree(gloss, said)
        elif gloss == "as possible":
            said = f"as {said} as possible"
        elif gloss == "well":
            said = f"well {said}" if said.split()[0].endswith("ed") else f"very {said}"
        elif gloss == "always" and (is_compared or _is_compared(said)):
            said = f"ever {said}"
        elif gloss == "a little" and which and is_dynamics:
            said = f"moderately {said}"
        elif gloss == "not" and said.startswith("not "):
            continue
        else:
            said = f"{_SECOND_DEGREES.get(gloss, gloss) if which else gloss} {said}"
    return said


def _degree(gloss: str, said: str) -> str:
    return f"extremely {said}" if gloss == "extremely" else _very(said)


def _is_compared(said: str) -> bool:
    first = said.split(",")[0].split(" ")[0]
    return first.endswith("er") and first not in ("tender", "eager", "sober", "bitter", "sinister")


def _process(group: Group, modifiers: Sequence[Word], which: int) -> str:
    verb = group.head[0]
    said = _head(verb, which)
    if group.inner is not None:
        said = f"{said} {_noun(group.inner, group.inner.modifiers, which)}"
    before, behind = [], []
    for word in modifiers:
        gloss = word.gloss
        if gloss == "not":
            if "not" not in before and "do not" not in before:
                before.append("not" if verb.sense.feature in (GERUND, PARTICIPLE) else "do not")
        elif gloss in _BEHIND_PROCESSES:
            behind.append(_BEHIND_PROCESSES[gloss])
        else:
            before.append(_SECOND_DEGREES.get(gloss, gloss) if which else gloss)
    if verb.sense.feature == PARTICIPLE and behind == ["well"]:
        before, behind = ["well"], []
    return " ".join([*before, _by_amount(said, behind)])


def _by_amount(said: str, amounts: Sequence[str]) -> str:
    """A process with how much of it: "getting much louder", "slowing down a little"."""
    if not amounts:
        return said
    first, comma, rest = said.partition(", ")
    change = re.match(_CHANGE, first)
    if change:
        inside = {"a lot": "much", "more": "still"}
        amount = " ".join(inside.get(amount, amount) for amount in amounts)
        first = f"{change.group()}{amount} {first[change.end() :]}"
    else:
        first = " ".join([first, *amounts])
    return f"{first}{comma}{rest}"


def _noun(group: Group, modifiers: Sequence[Word], which: int) -> str:
    parts = [_FOR_NOUNS.get(word.gloss, word.gloss) for word in modifiers]
    parts += [word.gloss for word in group.determiners]
    parts += [_attribute(word, which) for word in group.adjectives]
    if group.head:
        parts += [_head(word, which) for word in group.head]
    elif group.kind not in ("noun", "modifiers"):
        return _group(group, which)
    if group.kind in ("process", "quality", "unknown"):
        return _group(group, which)
    if group.inner is not None:
        parts.append(_relation(group.inner, which))
    return " ".join(parts)


def _attribute(word: Word, which: int) -> str:
    """An adjective before its noun: German "-er" declines it there."""
    if word.sense.feature in (COMPARATIVE, SUPERLATIVE, ELATIVE):
        lemma = word.sense.lemma
        gloss = lemma.glosses[min(which, len(lemma.glosses) - 1)]
        if word.sense.feature == COMPARATIVE:
            return gloss
        return f"most {gloss}" if word.sense.feature == SUPERLATIVE else _very(gloss)
    return _head(word, which)


def _relation(group: Group, which: int) -> str:
    preposition = group.head[0].gloss
    inner = group.inner
    if inner is None:
        return preposition
    if inner.kind == "process":
        verb = inner.head[0]
        if preposition in ("in", "without", "by"):
            said = gerund(verb.sense.lemma.glosses[min(which, len(verb.sense.lemma.glosses) - 1)])
            if inner.inner is not None:
                said += " " + _noun(inner.inner, inner.inner.modifiers, which)
            tail = [_BEHIND_PROCESSES.get(word.gloss, word.gloss) for word in inner.modifiers]
            said = " ".join([said, *tail])
            return said if preposition == "in" else f"{preposition} {said}"
    if preposition == "as" and inner.kind == "noun":
        preposition = "like"
    if inner.kind in ("noun", "modifiers"):
        return f"{preposition} {_noun(inner, inner.modifiers, which)}".strip()
    said = _group(inner, which)
    if preposition in ("as", "like") and said.startswith("to "):
        # "comme au début", "wie zum Anfang".
        said = f"at {said[3:]}" if said.startswith("to the ") else f"at the {said[3:]}"
        preposition = "as"
    return f"{preposition} {said}"


def _is_manner(before: Group | None, group: Group | None) -> bool:
    """As in "mäßig schnell": of two German adjectives side by side the first tells how."""
    return all(
        one is not None
        and one.kind == "quality"
        and one.head[0].part == "adj"
        and one.head[0].sense.lemma.language == "de"
        and not (one.modifiers or one.behind)
        for one in (before, group)
    )
