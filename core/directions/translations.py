"""Groups put into German, French and Spanish, as far as every word has a rendering."""

from __future__ import annotations

from collections.abc import Sequence

from core.directions.grammar import Link


def translated(links: Sequence[Link], to: str) -> str | None:
    """The translation, or None where a word has no rendering in that language."""
    return None
