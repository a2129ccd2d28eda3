"""Words that are printed with a slip: the word of the lexicon that was likely meant.

A guess is only made where it is near and alone: a long word, or one that differs in doubled
letters; its trust says how near.
"""

from __future__ import annotations

from functools import cache, lru_cache

from core.directions.lexicon import lexicon

_SHORTEST_FOR_ONE_SLIP, _SHORTEST_FOR_TWO = 6, 10
_SHORTEST_CUT = 3
_GERUNDS = {"are": "ando", "ere": "endo", "ire": "endo"}


@lru_cache(maxsize=4096)
def likely_word(word: str, *, is_cut: bool) -> tuple[str, float] | None:
    """The word that was likely meant, with a trust in 0..1; None without a near one."""
    if is_cut and len(word) >= _SHORTEST_CUT:
        whole = _completed(word)
        if whole:
            return whole, 0.8
    if len(word) < 5 or not word.isalpha():
        return None
    by_spine = _by_spine(word[0]).get(_spine(word))
    if by_spine:
        return by_spine, 0.85
    allowed = 1 if len(word) < _SHORTEST_FOR_TWO else 2
    if len(word) < _SHORTEST_FOR_ONE_SLIP:
        return None
    best = _nearest(word, allowed)
    return (_spelled(best[0]), 0.75 if best[1] == 1 else 0.6) if best else None


def _nearest(word: str, allowed: int) -> tuple[str, int] | None:
    near = [c for c in _by_initial().get(word[0], ()) if abs(len(c) - len(word)) <= allowed]
    for candidate in near:
        if _is_one_slip(word, candidate):
            return candidate, 1
    if allowed == 1:
        return None
    return next(((c, 2) for c in near if _distance(word, c, allowed) == allowed), None)


def _is_one_slip(one: str, other: str) -> bool:
    """Whether two different words differ in one letter, or in two that are exchanged."""
    start = 0
    while start < min(len(one), len(other)) and one[start] == other[start]:
        start += 1
    rest, other_rest = one[start:], other[start:]
    if len(rest) == len(other_rest):
        is_exchanged = rest[:2] == other_rest[1::-1] and rest[2:] == other_rest[2:]
        return is_exchanged or rest[1:] == other_rest[1:]
    longer, shorter = (rest, other_rest) if len(rest) > len(other_rest) else (other_rest, rest)
    return longer[1:] == shorter


def _completed(word: str) -> str | None:
    """The first entry that begins so: an abbreviation by a full stop that no table lists."""
    starts = [key for key in _by_initial().get(word[0], ()) if key.startswith(word)]
    shortest = min(starts, key=len, default="")
    return _spelled(shortest) if shortest and len(word) * 3 >= len(shortest) else None


def _spelled(key: str) -> str:
    return lexicon().printed.get(key, key)


def _spine(word: str) -> str:
    """The word with doubled letters single: "tranquilllo", "apassionato"."""
    return "".join(a for a, b in zip(word, word[1:] + " ", strict=True) if a != b)


@cache
def _vocabulary() -> tuple[str, ...]:
    words = {key for key in lexicon().words if len(key) >= 4}
    for key in list(words):
        for lemma in lexicon().lemmas(key):
            if lemma.part == "verb" and lemma.language == "it" and key[-3:] in _GERUNDS:
                words.add(key[:-3] + _GERUNDS[key[-3:]])
    return tuple(sorted(words))


@cache
def _by_spine(initial: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for word in _by_initial().get(initial, ()):
        if len(word) >= 5:
            found.setdefault(_spine(word), _spelled(word))
    return found


@cache
def _by_initial() -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for word in _vocabulary():
        found.setdefault(word[0], []).append(word)
    return {initial: tuple(words) for initial, words in found.items()}


def _distance(one: str, other: str, most: int) -> int:
    """Slips between two words (one letter more, less, another, two exchanged), up to ``most``."""
    earlier: list[int] = []
    previous = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        row = [i]
        for j, b in enumerate(other, 1):
            cost = min(row[j - 1] + 1, previous[j] + 1, previous[j - 1] + (a != b))
            if earlier and j > 1 and a == other[j - 2] and one[i - 2] == b:
                cost = min(cost, earlier[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
        earlier, previous = previous, row
    return previous[-1]
