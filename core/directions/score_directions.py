"""All directions of a score, split ones joined and doubled ones told once."""

from __future__ import annotations

from dataclasses import dataclass

from core.directions.meaning import Meaning


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionMeaning:
    """A direction at its place."""

    meaning: Meaning


def meanings_of(score: object) -> tuple[DirectionMeaning, ...]:
    """All directions."""
    return ()
