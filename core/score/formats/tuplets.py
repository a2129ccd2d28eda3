"""Where a tuplet's bracket opens and closes, by its notes.

Conventions: a tuplet closes where its time is again a plain one (a denominator that is a power
of two), where a note without one follows, or where the voice ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from core.score.formats.drafts import Event
from core.score.formats.note_shapes import Shape

OPENS, CLOSES = 1, 2
"""Bits; a tuplet of one note has both."""


def brackets_of(notes: Sequence[tuple[Event, Shape | None]]) -> list[int]:
    """Bits of each note of a voice in one measure."""
    brackets = [0] * len(notes)
    since: Fraction | None = None
    ratio: tuple[int, int] | None = None
    last = -1
    for index, (event, shape) in enumerate(notes):
        if event.grace or shape is None:
            continue
        if since is not None and shape[2] != ratio:
            brackets[last] |= CLOSES
            since = None
        if shape[2] is None:
            continue
        if since is None:
            since, ratio = event.onset, shape[2]
            brackets[index] |= OPENS
        last = index
        spent = event.onset + event.quarters - since
        if spent.denominator & (spent.denominator - 1) == 0:
            brackets[index] |= CLOSES
            since = None
    if since is not None:
        brackets[last] |= CLOSES
    return brackets
