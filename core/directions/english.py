"""English forms of glosses, as translations need them: "slow", "slower", "slowing down"."""

from __future__ import annotations

from functools import lru_cache

_VOWELS = "aeiou"
_PARTICIPLES = {
    "be": "been", "bind": "bound", "break": "broken", "bring": "brought", "burst": "burst",
    "become": "become", "begin": "begun", "cut": "cut", "draw": "drawn", "drive": "driven",
    "dream": "dreamt", "fall": "fallen", "feel": "felt", "flee": "fled", "fly": "flown",
    "get": "got", "give": "given", "go": "gone", "grow": "grown", "hold": "held", "keep": "kept",
    "lay": "laid", "lead": "led", "leave": "left", "let": "let", "lose": "lost", "make": "made",
    "put": "put", "read": "read", "rise": "risen", "run": "run", "say": "said", "shake": "shaken",
    "sing": "sung", "speak": "spoken", "spread": "spread", "stand": "stood", "strike": "struck",
    "swell": "swollen", "take": "taken", "tear": "torn", "tell": "told", "weep": "wept",
    "come": "come", "hear": "heard", "beat": "beaten", "withhold": "withheld", "slide": "slid",
}  # fmt: skip
_DOUBLING = {"stop", "cut", "get", "let", "put", "run", "begin", "sob", "drag", "rub", "throb"}
_COMPARED = {"softer", "slower", "faster", "louder", "broader", "quieter"}
"""They go with the verb before them and stay as they are: "falling away, softer and slower"."""
_CHANGING = ("get ", "become ", "grow ")
_IRREGULAR = {"good": "better", "well": "better", "bad": "worse", "much": "more", "little": "less"}
_LONG_COMPARISON = {"sung", "hushed", "marked", "moved", "held", "dry and", "smooth", "tense"}
_ADVERBS = {
    "fast": "fast", "low": "low", "long": "long", "well": "well", "lively": "in a lively way",
    "in time": "in time", "full": "fully", "true": "truly", "whole": "wholly",
}  # fmt: skip


def _inflect_first(gloss: str, ending: str) -> str:
    word, _, rest = gloss.partition(" ")
    comma = "," if word.endswith(",") else ""
    word = word.rstrip(",")
    if word in _COMPARED:
        return gloss
    if word == "be" and ending == "ing":
        formed = "being"
    elif word == "die":
        formed = "dying" if ending == "ing" else "died"
    elif ending == "ed" and word in _PARTICIPLES:
        formed = _PARTICIPLES[word]
    elif word.endswith("e") and not word.endswith("ee"):
        formed = word[:-1] + ending
    elif ending == "ed" and word.endswith("y") and word[-2] not in _VOWELS:
        formed = word[:-1] + "ied"
    else:
        formed = word + (word[-1] if word in _DOUBLING else "") + ending
    return f"{formed}{comma}" + (f" {rest}" if rest else "")


@lru_cache(maxsize=4096)
def gerund(gloss: str) -> str:
    """A verb's gloss as a process.

    Examples
    --------
    >>> gerund("slow down"), gerund("hurry, get faster"), gerund("fall away, softer")
    ('slowing down', 'hurrying, getting faster', 'falling away, softer')
    """
    return ", ".join(_inflect_first(part, "ing") for part in gloss.split(", "))


@lru_cache(maxsize=4096)
def participle(gloss: str) -> str:
    """A verb's gloss as a state: "held back"; what becomes slower is slower."""
    parts = []
    for part in gloss.split(", "):
        change = next((start for start in _CHANGING if part.startswith(start)), None)
        parts.append(part[len(change) :] if change else _inflect_first(part, "ed"))
    return ", ".join(parts)


@lru_cache(maxsize=4096)
def comparative(gloss: str) -> str:
    """An adjective's gloss compared.

    Examples
    --------
    >>> comparative("slow"), comparative("lively"), comparative("expressive")
    ('slower', 'livelier', 'more expressive')
    """
    if ", " in gloss:
        return ", ".join(comparative(part) for part in gloss.split(", "))
    if gloss in _IRREGULAR:
        return _IRREGULAR[gloss]
    if gloss.startswith("very "):
        return comparative(gloss[5:])
    if gloss.startswith("more ") or gloss.endswith(" slower"):
        return gloss
    if " " in gloss or gloss in _LONG_COMPARISON or not _is_short(gloss):
        return f"more {gloss}"
    if gloss.endswith("y"):
        return gloss[:-1] + "ier"
    if gloss.endswith("e"):
        return gloss + "r"
    if gloss[-1] not in _VOWELS + "wxy" and gloss[-2] in _VOWELS and gloss[-3] not in _VOWELS:
        return gloss + gloss[-1] + "er"
    return gloss + "er"


def _is_short(word: str) -> bool:
    """One syllable, or two of which the last is "y"."""
    if word.endswith(("ed", "ing")) or len(word) < 3:
        return False
    return _syllables(word) == 1 or (_syllables(word) == 2 and word.endswith(("y", "le")))


def _syllables(word: str) -> int:
    # The "e" of "lively" is silent.
    word = word.replace("ely", "ly")
    groups, was_vowel = 0, False
    for position, letter in enumerate(word):
        is_vowel = letter in _VOWELS or (letter == "y" and position > 0)
        groups += is_vowel and not was_vowel
        was_vowel = is_vowel
    if word.endswith("e") and not word.endswith("le") and groups > 1:
        groups -= 1
    return groups


@lru_cache(maxsize=4096)
def adverb(gloss: str) -> str:
    """An adjective's gloss as a manner of playing; longer glosses stay as they are."""
    if gloss in _ADVERBS:
        return _ADVERBS[gloss]
    if " " in gloss:
        return gloss
    if gloss.endswith("ic"):
        return gloss + "ally"
    if gloss.endswith("le") and len(gloss) > 4:
        return gloss[:-1] + "y"
    if gloss.endswith("y"):
        return gloss[:-1] + "ily"
    return gloss if gloss.endswith("ly") else gloss + "ly"
