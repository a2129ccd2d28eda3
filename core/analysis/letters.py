"""Letters: which sections are one family, and which of them differ (A, B, A', A'')."""

from __future__ import annotations

from collections.abc import Sequence

from core.analysis.likeness import Floats
from core.analysis.sections import Kinship, Span, kinship

SAME_FAMILY = 0.6
"""Similarity from which a section is heard as another one again."""
LEAST_LENGTHS = 0.4
"""A section shorter than this share of another one is not that one again."""


def families(like: Floats, spans: Sequence[Span]) -> list[tuple[int | None, Kinship | None]]:
    """For each span the earlier one that it returns, and how; (None, None) for a new one."""
    answers: list[tuple[int | None, Kinship | None]] = []
    for index, span in enumerate(spans):
        found: tuple[int | None, Kinship | None] = (None, None)
        best = SAME_FAMILY
        for other in range(index):
            earlier = spans[other]
            lengths = sorted((earlier.end - earlier.first, span.end - span.first))
            if lengths[0] < LEAST_LENGTHS * lengths[1]:
                continue
            kin = kinship(like, earlier, span)
            if kin.similarity > best + 0.01:
                best, found = kin.similarity, (other, kin)
        answers.append(found)
    return answers


def letter(number: int) -> str:
    """A, B ... Z, AA, AB ...

    Examples
    --------
    >>> letter(0), letter(26)
    ('A', 'AA')
    """
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def base_letters(parents: Sequence[int | None]) -> list[str]:
    """A letter for each span: that of the one it returns, or the next free one."""
    names: list[str] = []
    used = 0
    for parent in parents:
        if parent is None:
            names.append(letter(used))
            used += 1
        else:
            names.append(names[parent])
    return names
