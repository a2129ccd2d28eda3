"""Sections: where they begin, on two levels, and which are the same one again.

Conventions
-----------
Spans are of units (``likeness``). Boundaries are chosen together, by the sum of what speaks
for each less a price a section: many where much is written, few otherwise. The top level
divides the piece into sections with letters, the second divides a section into phrases where
evidence carries it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from core.analysis.boundaries import CAUSES, WRITTEN_CAUSES, BoundaryEvidence
from core.analysis.chains import Chain, chains_of
from core.analysis.likeness import Floats
from core.analysis.recurrences import Return
from core.analysis.variations import NO_VARIATIONS, Variations, variation_evidence

SHORT_PIECE, LONG_PIECE = 64, 100
"""Units. The longer a piece, the larger its sections, and the dearer a further one."""
TOP_PRICE = (1.05, 1.4)
"""Evidence that a further section must bring in a short piece, in a long one."""
INNER_LINK = (0.8, 0.3)
"""What the ends of a link inside a chain count, in a short piece, in a long one."""
PHRASE_PRICE = 0.55
TOP_SHARE = 0.22
"""Share of the piece that a section has where nothing else speaks."""
PHRASE_UNITS = 10.0
LENGTH_FORCE = 0.35
"""How much an unusual length costs, by the square of its distance in octaves."""
OPENING = 3.0
"""Evidence that the beginning of the piece is a beginning."""
INSIDE_REPEAT = 1.0
"""Taken from a boundary inside a stretch that is repeated as a whole."""
VARIATION = 1.8
"""Evidence of a variation's begin, and against a boundary inside one."""
INSIDE_RETURN, LEAST_WHOLE = 0.4, 4
"""Taken from a boundary inside a return of so many units: what comes again whole is one."""
END_SHARE, SOURCE_END = 0.7, 0.8
"""What the end of a return, the end of what it returns, count against their beginnings."""
ENOUGH_UNITS, ENOUGH_SHARE = 1.0, 0.1
"""A return of so many units, and this share of the piece besides, has its full strength."""
LEAST_KEPT = 0.4
"""What keeps less than this share is another section rather than a shortened one."""
INSIDE_SHARE = 0.2
"""What the edges of a return inside another one count: it divides phrases, not sections."""
LOCAL_SHARES: Mapping[str, float] = {"repose": 0.5, "texture": 0.4}
PASSED_ON = 0.25
"""Share of the evidence of a place that passes to the place where it returns."""

Weights = NDArray[np.float64]
Indices = NDArray[np.int64]


class Span(NamedTuple):
    """A section in units, before it is put into words.

    Parameters
    ----------
    first, end : int
        Units; the end is exclusive.
    parent : int or None
        Index of the enclosing span.
    evidence : float
        What spoke for its beginning.
    """

    first: int
    end: int
    parent: int | None
    evidence: float


def find_spans(
    evidence: BoundaryEvidence,
    returns: Sequence[Return],
    *,
    variations: Variations = NO_VARIATIONS,
    has_upbeat: bool = False,
) -> tuple[Span, ...]:
    """Divide a piece: first the sections of the top level, then their phrases.

    Parameters
    ----------
    variations : Variations
        Empty but for a theme with variations.
    has_upbeat : bool
        The first unit is one: what returns from the second unit on returns from the beginning.
    """
    count = evidence.weights.shape[0] - 1
    top = _top_evidence(evidence, returns, count, has_upbeat=has_upbeat)
    top = top + VARIATION * variation_evidence(variations, count)
    usual = variations.usual_length if variations else max(4.0, TOP_SHARE * count)
    price = _by_length(TOP_PRICE, count)
    cuts = _best_cuts(top, 0, count, price=price, usual=usual, shortest=2)
    tops = [Span(first=a, end=b, parent=None, evidence=float(top[a])) for a, b in pairwise(cuts)]
    fine = _phrase_evidence(evidence)
    phrases = [
        Span(first=a, end=b, parent=index, evidence=float(fine[a]))
        for index, span in enumerate(tops)
        for a, b in _phrases(fine, span)
    ]
    return (*tops, *phrases)


def _by_length(pair: tuple[float, float], count: int) -> float:
    """A value between that of a short piece and that of a long one."""
    share = (np.log2(max(count, 1)) - np.log2(SHORT_PIECE)) / np.log2(LONG_PIECE / SHORT_PIECE)
    return float(pair[0] + np.clip(share, 0, 1) * (pair[1] - pair[0]))


def _phrases(fine: Weights, span: Span) -> list[tuple[int, int]]:
    cuts = _best_cuts(
        fine, span.first, span.end, price=PHRASE_PRICE, usual=PHRASE_UNITS, shortest=2
    )
    return list(pairwise(cuts)) if len(cuts) > 2 else []


def _top_evidence(
    evidence: BoundaryEvidence, returns: Sequence[Return], count: int, *, has_upbeat: bool
) -> Weights:
    causes = evidence.weights[:, : len(WRITTEN_CAUSES)]
    strongest = causes.max(axis=1)
    local = strongest + 0.25 * (causes.sum(axis=1) - strongest)
    for cause, share in LOCAL_SHARES.items():
        local = local + share * evidence.of(cause)
    known = local.copy()
    known[0] = known[count] = OPENING
    if has_upbeat:
        known[1] = OPENING
    total = local + _edges(chains_of(returns, count), count) + _passed_on(known, returns)
    total = total - INSIDE_REPEAT * evidence.inside_repeat
    return np.asarray(total - INSIDE_RETURN * _inside_returns(returns, count))


def _inside_returns(returns: Sequence[Return], count: int) -> Weights:
    """1 inside a passage that returns as a whole, and not at the edge of another return."""
    inside = np.zeros(count + 1)
    for found in returns:
        if found.length >= LEAST_WHOLE:
            inside[found.first + 2 : found.first_end - 1] = 1.0
            inside[found.second + 2 : found.second_end - 1] = 1.0
    for found in returns:
        for edge in (found.first, found.first_end, found.second, found.second_end):
            inside[edge] = 0.0
    return inside


def _edges(chains: Sequence[Chain], count: int) -> Weights:
    """How strongly chains of returns, and their links, begin and end at each boundary."""
    edges = np.zeros(count + 1)
    enough = ENOUGH_UNITS + ENOUGH_SHARE * count
    inner = _by_length(INNER_LINK, count)
    links = _links_of(chains)

    def add(places: tuple[int, int, int, int], strength: float, source_end: float) -> None:
        shares = (1.0, source_end, 1.0, END_SHARE)
        for place, share in zip(places, shares, strict=True):
            edges[place] = max(edges[place], share * strength)

    for chain in chains:
        first = chain.links[0]
        source_end = 0.0 if len(chain.links) == 1 and _is_cut_short(first, links) else SOURCE_END
        strength = min(1.0, chain.length / enough) * min(1.0, chain.score / 1.2)
        if len(chain.links) == 1 and _is_inside(first, links):
            strength *= INSIDE_SHARE
        add(chain.edges, strength, source_end)
        for link in chain.links if len(chain.links) > 1 else ():
            strength = inner * min(1.0, link.length / enough) * min(1.0, link.score / 1.2)
            add((link.first, link.first_end, link.second, link.second_end), strength, END_SHARE)
    return edges


class _Links(NamedTuple):
    """Units at which returns begin, and how many they are; each of shape (returns,)."""

    firsts: Indices
    seconds: Indices
    lengths: Indices


def _links_of(chains: Sequence[Chain]) -> _Links:
    links = [link for chain in chains for link in chain.links]
    columns = [(link.first, link.second, link.length) for link in links]
    return _Links(*np.array(columns, dtype=np.int64).reshape(-1, 3).T)


def _is_cut_short(found: Return, others: _Links) -> bool:
    """Whether a return is one of only the first part of what elsewhere returns whole."""
    firsts, seconds, lengths = others
    whole = (found.length < lengths) & (lengths <= found.length / LEAST_KEPT)
    return bool(np.any(whole & ((firsts == found.first) | (seconds == found.first))))


def _is_inside(found: Return, others: _Links) -> bool:
    """Whether both soundings lie inside one passage that returns as a whole."""
    firsts, seconds, lengths = others
    inside = (firsts <= found.first) & (found.second_end <= firsts + lengths)
    inside |= (seconds <= found.first) & (found.second_end <= seconds + lengths)
    return bool(np.any(inside & (found.length < lengths)))


def _passed_on(known: Weights, returns: Sequence[Return]) -> Weights:
    """What begins at its first sounding begins when it returns, and the other way round."""
    passed = np.zeros(len(known))
    for found in returns:
        here = slice(found.first, found.first_end + 1)
        there = slice(found.second, found.second_end + 1)
        share = PASSED_ON * min(1.0, found.score / 2.0)
        passed[there] = np.maximum(passed[there], share * known[here])
        passed[here] = np.maximum(passed[here], share * known[there])
    return passed


def _phrase_evidence(evidence: BoundaryEvidence) -> Weights:
    shares = np.ones(len(CAUSES))
    shares[CAUSES.index("return begins")] = 0.9
    shares[CAUSES.index("return ends")] = 0.6
    shares[CAUSES.index("repose")] = 0.7
    shares[CAUSES.index("texture")] = 0.6
    return np.asarray(evidence.weights @ shares)


def _best_cuts(
    evidence: Weights, first: int, end: int, *, price: float, usual: float, shortest: int
) -> list[int]:
    """Boundaries from first to end (both included) with the greatest sum, by dynamic programming.

    A section is at most ``6 * usual`` units longer than usual, so that the work is bounded.
    """
    size = end - first
    longest = size
    best = np.full(size + 1, -np.inf)
    back = np.zeros(size + 1, dtype=np.int64)
    best[0] = 0.0
    lengths = np.arange(1, longest + 1)
    cost = LENGTH_FORCE * np.log2(lengths / usual) ** 2
    cost[: shortest - 1] += 3.0
    for stop in range(1, size + 1):
        options = best[:stop] - cost[:stop][::-1]
        chosen = int(options.argmax())
        here = 0.0 if stop == size else evidence[first + stop] - price
        best[stop] = options[chosen] + here
        back[stop] = chosen
    cuts = [size]
    while cuts[-1]:
        cuts.append(int(back[cuts[-1]]))
    return [first + cut for cut in reversed(cuts)]


class Kinship(NamedTuple):
    """How one span is a return of another.

    Parameters
    ----------
    similarity : float
        0 to 1, over the shorter of the two.
    shift : int
        Semitones modulo 12.
    lag : int
        Units from a unit of the earlier span to its return.
    is_reduced : bool
        Only harmony, bass and the steps of the melody return.
    """

    similarity: float
    shift: int
    lag: int
    is_reduced: bool = False


def kinship(like: Floats, earlier: Span, later: Span) -> Kinship:
    """The best way to hear a span as a return of an earlier one."""
    block = like[:, earlier.first : earlier.end, later.first : later.end]
    rows, columns = block.shape[1:]
    shorter = min(rows, columns)
    best = Kinship(similarity=0.0, shift=0, lag=later.first - earlier.first)
    slack = max(abs(rows - columns), 1) + max(1, shorter // 4)
    for offset in range(-min(slack, rows - 1), min(slack, columns - 1) + 1):
        diagonal = np.diagonal(block, offset, axis1=1, axis2=2)
        means = np.clip(diagonal, 0, 1).sum(axis=1) / shorter
        shift = int(means.argmax())
        # Beginning together is likelier than a return that comes in late.
        value = float(means[shift]) - 0.02 * min(abs(offset), 5)
        if value > best.similarity:
            best = Kinship(similarity=value, shift=shift, lag=later.first - earlier.first + offset)
    return best
