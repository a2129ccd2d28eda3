"""Chains of returns: what comes again in the same order, with something changed in between.

A recapitulation returns in pieces, one in the old key, the next a fifth lower; each piece is a
return, all together are one event. Only where a chain begins and ends does something begin and
end for the whole piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from core.analysis.recurrences import Return

GAP_SHARE = 0.08
"""Share of the piece that may be passed over between two links."""
LEAST_GAP = 2
OVERLAP = 1
"""Units by which neighbouring links may overlap."""
MOST_LINKS = 120
"""Returns, the strongest first, that are put into chains; the others stand alone."""


class Chain(NamedTuple):
    """Returns in the same order at both places, one link or more."""

    links: tuple[Return, ...]

    @property
    def edges(self) -> tuple[int, int, int, int]:
        """Begin and end of the first sounding, begin and end of the second."""
        first, last = self.links[0], self.links[-1]
        return first.first, last.first_end, first.second, last.second_end

    @property
    def length(self) -> int:
        """Units in its links."""
        return sum(link.length for link in self.links)

    @property
    def score(self) -> float:
        """Evidence of all its links."""
        return sum(link.score for link in self.links)


def chains_of(returns: Sequence[Return], count: int) -> tuple[Chain, ...]:
    """Put each return into the one chain that explains most; chains of several links come first."""
    strongest = sorted(returns, key=lambda found: -found.score)
    left = sorted(strongest[:MOST_LINKS], key=lambda found: (found.first, found.second))
    chains: list[Chain] = []
    gap = max(LEAST_GAP, round(GAP_SHARE * count))
    while left:
        chain = _strongest(left, gap)
        if len(chain.links) == 1:
            break
        chains.append(chain)
        taken = set(chain.links)
        left = [found for found in left if found not in taken]
    alone = [*left, *strongest[MOST_LINKS:]]
    return (*chains, *(Chain(links=(found,)) for found in alone))


def _strongest(returns: Sequence[Return], gap: int) -> Chain:
    best = [found.score for found in returns]
    back: list[int | None] = [None] * len(returns)
    begin = list(range(len(returns)))
    for later, after in enumerate(returns):
        for earlier in range(later):
            opening = returns[begin[earlier]]
            follows = _follows(returns[earlier], after, gap)
            # The first sounding of all must be over when the second one begins.
            if not follows or after.first_end > opening.second + OVERLAP:
                continue
            if best[earlier] + after.score > best[later]:
                best[later] = best[earlier] + after.score
                back[later], begin[later] = earlier, begin[earlier]
    ends = [index for index, link in enumerate(back) if link is not None]
    at: int | None = max(ends or range(len(returns)), key=lambda index: best[index])
    links: list[Return] = []
    while at is not None:
        links.append(returns[at])
        at = back[at]
    return Chain(links=tuple(reversed(links)))


def _follows(before: Return, after: Return, gap: int) -> bool:
    here = after.first - before.first_end
    there = after.second - before.second_end
    return -OVERLAP <= here <= gap and -OVERLAP <= there <= gap and abs(here - there) <= gap
