"""Why a section is one, in a sentence or two for a reader."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

CAUSE_WORDS: Mapping[str, str] = {
    "repeat": "at a repeat sign",
    "double bar": "after a double bar",
    "key signature": "with a new key signature",
    "time signature": "with a new time signature",
    "tempo": "with a new tempo word",
    "words": "with new words",
    "rehearsal": "at a rehearsal mark",
    "pause": "after a pause",
    "return begins": "where something returns",
    "return ends": "where a return ends",
    "repose": "after a point of rest",
    "texture": "where the texture changes",
}
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_LENGTHS = ("shortened", "extended")


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionFacts:
    """What is known about why a section is one.

    Parameters
    ----------
    causes : tuple of str
        What speaks for its beginning, the strongest first (``boundaries.CAUSES``).
    returns : tuple of (str, tuple of str, int)
        Each later section that returns it: the printed number of its first measure, the words
        of the relation, how many measures it is longer (less than 0: shorter).
    """

    causes: tuple[str, ...] = ()
    returns: tuple[tuple[str, tuple[str, ...], int], ...] = ()


def reason_for_section(facts: SectionFacts) -> str:
    """One or two sentences; empty where there is nothing to say (the beginning).

    Examples
    --------
    >>> reason_for_section(SectionFacts(
    ...     causes=("double bar", "tempo"),
    ...     returns=(("9", ("varied", "shortened"), -1), ("20", ("exact",), 0))))
    'Returns at m. 9, varied, one measure shorter; at m. 20, exactly. Begins after a double bar \
with a new tempo word.'
    """
    sentences = []
    if facts.returns:
        sentences.append("Returns " + "; ".join(_return(*found) for found in facts.returns) + ".")
    words = [CAUSE_WORDS[cause] for cause in facts.causes[:2]]
    if words:
        joint = " " if words[1:] and words[1].startswith("with") else " and "
        sentences.append(f"Begins {joint.join(words)}.")
    return " ".join(sentences)


def _return(number: str, words: tuple[str, ...], more: int) -> str:
    kinds = ["exactly" if word == "exact" else word for word in words if word not in _LENGTHS]
    if more:
        kinds.append(f"{_measures(abs(more))} {'longer' if more > 0 else 'shorter'}")
    return ", ".join([f"at m. {number}", *kinds])


def _measures(number: int) -> str:
    word = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{word} measure" if number == 1 else f"{word} measures"
