"""Sections: where they begin, on two levels, and which are the same one again.

Conventions
-----------
Spans are of units (``likeness``). Boundaries are chosen together, by the sum of what speaks
for each less a price a section: many where much is written, few otherwise. The top level
divides the piece into sections with letters, the second divides a section into phrases where
evidence carries it.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.analysis.boundaries import CAUSES, WRITTEN_CAUSES, BoundaryEvidence
from core.analysis.likeness import Floats
from core.analysis.recurrences import Return

TOP_PRICE, PHRASE_PRICE = 1.15, 0.55
"""Evidence that a further section, a further phrase must bring."""
TOP_SHARE = 0.22
"""Share of the piece that a section has where nothing else speaks."""
PHRASE_UNITS = 8.0
LENGTH_FORCE = 0.35
"""How much an unusual length costs, by the square of its distance in octaves."""
OPENING = 3.0
"""Evidence that the beginning of the piece is a beginning."""

Weights = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
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


def find_spans(evidence: BoundaryEvidence, returns: Sequence[Return]) -> tuple[Span, ...]:
    """Divide a piece: first the sections of the top level, then their phrases."""
    count = evidence.weights.shape[0] - 1
    top = _top_evidence(evidence, returns, count)
    usual = max(4.0, TOP_SHARE * count)
    cuts = _best_cuts(top, 0, count, price=TOP_PRICE, usual=usual, shortest=2)
    tops = [
        Span(first=a, end=b, parent=None, evidence=float(top[a]))
        for a, b in itertools.pairwise(cuts)
    ]
    fine = _phrase_evidence(evidence)
    phrases = [
        Span(first=a, end=b, parent=index, evidence=float(fine[a]))
        for index, span in enumerate(tops)
        for a, b in _phrases(fine, span)
    ]
    return (*tops, *phrases)


def _phrases(fine: Weights, span: Span) -> list[tuple[int, int]]:
    cuts = _best_cuts(
        fine, span.first, span.end, price=PHRASE_PRICE, usual=PHRASE_UNITS, shortest=2
    )
    return list(itertools.pairwise(cuts)) if len(cuts) > 2 else []


def _top_evidence(evidence: BoundaryEvidence, returns: Sequence[Return], count: int) -> Weights:
    written = evidence.weights[:, : len(WRITTEN_CAUSES)].max(axis=1)
    written = written + 0.25 * (evidence.weights[:, : len(WRITTEN_CAUSES)].sum(axis=1) - written)
    local = written + 0.35 * evidence.of("repose") + 0.7 * evidence.of("texture")
    edges = np.zeros(count + 1)
    enough = 1.0 + 0.1 * count
    for found in returns:
        strength = min(1.0, found.length / enough) * min(1.0, found.score / 1.2)
        for edge in (found.first, found.second):
            edges[edge] = max(edges[edge], strength)
        for edge in (found.first_end, found.second_end):
            edges[edge] = max(edges[edge], 0.8 * strength)
    return np.asarray(local + edges + _passed_on(local, returns, count))


def _passed_on(local: Weights, returns: Sequence[Return], count: int) -> Weights:
    """What begins at its first sounding begins when it returns, and the other way round."""
    known = local.copy()
    known[0] = known[count] = OPENING
    passed = np.zeros(count + 1)
    for found in returns:
        here = slice(found.first, found.first_end + 1)
        there = slice(found.second, found.second_end + 1)
        share = 0.35 * min(1.0, found.score / 2.0)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Kinship:
    """How one span is a return of another.

    Parameters
    ----------
    similarity : float
        0 to 1, over the shorter of the two.
    shift : int
        Semitones modulo 12.
    lag : int
        Units from a unit of the earlier span to its return.
    """

    similarity: float
    shift: int
    lag: int


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
