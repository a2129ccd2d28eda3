"""Findings: the results of analysis, in the one form that every room shares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from core.score.places import Passage

ValueT = TypeVar("ValueT")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Generic[ValueT]):
    """One result of analysis, as computed.

    Parameters
    ----------
    kind : str
        What was looked for ("global key").
    passage : Passage or None
        Where it holds; None for the whole score.
    value : ValueT
        What was found.
    confidence : float
        0 to 1: how often findings like this one are right.
    alternatives : tuple of (ValueT, float)
        What else it may be, each with its own confidence, the likeliest first. With
        ``confidence`` they add up to 1 or less.
    evidence : tuple of str
        Ids of the notes that speak for it.
    """

    kind: str
    passage: Passage | None = None
    value: ValueT
    confidence: float
    alternatives: tuple[tuple[ValueT, float], ...] = ()
    evidence: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.confidence <= 1:
            raise ValueError(f"confidence is {self.confidence}; it lies in 0..1, not in per cent")
