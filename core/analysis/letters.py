"""Letters: which sections are one family, and which of them differ (A, B, A', A'')."""

from __future__ import annotations

from collections.abc import Sequence

from core.analysis.likeness import Floats
from core.analysis.sections import Kinship, Span, kinship
from core.analysis.variations import NO_VARIATIONS, Variations

SAME_FAMILY = 0.6
"""Similarity from which a section is heard as another one again."""
LEAST_LENGTHS = 0.4
"""A section shorter than this share of another one is not that one again."""


def families(
    like: Floats, spans: Sequence[Span], variations: Variations = NO_VARIATIONS
) -> list[tuple[int | None, Kinship | None]]:
    """For each span the earlier one that it returns, and how; (None, None) for a new one."""
    answers: list[tuple[int | None, Kinship | None]] = []
    for index, span in enumerate(spans):
        reduced = variations.at(span.first) if index else None
        if reduced is not None:
            answers.append((0, _varied_theme(like, spans[0], span, reduced)))
            continue
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


def _varied_theme(like: Floats, theme: Span, span: Span, reduced: float) -> Kinship:
    kin = kinship(like, theme, span)
    if kin.similarity >= SAME_FAMILY:
        return kin
    # Likeness above chance of 0.5 is as much as two statements of one theme may have.
    similarity = min(0.6, 0.3 + 0.6 * reduced)
    return Kinship(similarity=similarity, shift=0, lag=span.first, is_reduced=True)


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
