"""Findings and judgements brought together: what is shown, and in whose hand.

Conventions
-----------
A judgement belongs to the finding of its kind whose passage has ``LEAST_OVERLAP`` or more in
common with its own (what both hold by what either holds, in quarters). Each finding takes one
judgement, each judgement one finding. A judgement that finds none stands alone, at its place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Generic, TypeVar

import numpy as np

from core.notebook.judgements import value_text
from core.notebook.values import Judgement, Ruling
from core.score.findings import Finding
from core.score.places import Passage
from core.score.score import Score

ValueT = TypeVar("ValueT")

LEAST_OVERLAP = Fraction(4, 5)


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedFinding(Generic[ValueT]):
    """A finding with the person's word on it; at least one of the two is there.

    Parameters
    ----------
    finding : Finding of ValueT, or None
        As computed; None where the judgement stands alone.
    judgement : Judgement or None
    """

    finding: Finding[ValueT] | None
    judgement: Judgement | None = None

    @property
    def kind(self) -> str:
        """``Finding.kind``, also of a judgement that stands alone."""
        return self.finding.kind if self.finding else self._judgement.finding_kind

    @property
    def passage(self) -> Passage | None:
        """Where it holds; None for the whole piece."""
        return self.finding.passage if self.finding else self._judgement.passage

    @property
    def is_confirmed(self) -> bool:
        """Whether the person says so too."""
        return self.judgement is not None and self.judgement.ruling is Ruling.CONFIRMED

    @property
    def is_overruled(self) -> bool:
        """Whether the person says that it is not so."""
        return self.judgement is not None and self.judgement.ruling is Ruling.OVERRULED

    @property
    def computed_text(self) -> str:
        """What the computer says, in the words of the command line; it stays to be seen.

        Where the judgement stands alone, what it said when it was judged.
        """
        return value_text(self.finding.value) if self.finding else self._judgement.value.text

    @property
    def own_text(self) -> str | None:
        """What the person says; None for nothing, or only that it is not so."""
        if self.judgement is None:
            return None
        if self.judgement.ruling is Ruling.CONFIRMED:
            return self.judgement.value.text
        own = self.judgement.own_value
        return own.text if own else None

    @property
    def text(self) -> str:
        """What holds: the person's word wherever there is one."""
        return self.computed_text if self.own_text is None else self.own_text

    @property
    def has_changed(self) -> bool:
        """Whether the computer says something else now than what was judged."""
        return self.judgement is not None and self.judgement.value.text != self.computed_text

    @property
    def _judgement(self) -> Judgement:
        if self.judgement is None:
            raise ValueError("neither finding nor judgement is given")
        return self.judgement


def apply_judgements(
    findings: Iterable[Finding[ValueT]],
    judgements: Iterable[Judgement],
    score: Score,
    *,
    kinds: Collection[str] | None = None,
) -> tuple[JudgedFinding[ValueT], ...]:
    """Findings with what a person said of them.

    Parameters
    ----------
    findings : iterable of Finding
        Of ``score``, of one kind or of several.
    judgements : iterable of Judgement
        Of its piece. Those on passages of another edition are left out (``of_other_editions``).
    score : Score
    kinds : collection of str or None
        The kinds that are asked about; judgements of others are left out. None for all.

    Returns
    -------
    tuple of JudgedFinding
        Every finding, in the given order; then the judgements that stand alone, by place.

    Notes
    -----
    The pairs that fit best come first: most in common, then the same value, then the later word.
    """
    return Matching(findings, score).with_judgements(judgements, kinds=kinds)


class Matching(Generic[ValueT]):
    """The findings of a score, ready for a person's words, which change more often than they do.

    Parameters
    ----------
    findings : iterable of Finding
    score : Score
    """

    def __init__(self, findings: Iterable[Finding[ValueT]], score: Score) -> None:
        self._score = score
        self._findings = tuple(findings)
        self._unjudged = tuple(JudgedFinding(finding=each) for each in self._findings)
        self._crowds: dict[str, _Crowd] = {}

    def with_judgements(
        self, judgements: Iterable[Judgement], *, kinds: Collection[str] | None = None
    ) -> tuple[JudgedFinding[ValueT], ...]:
        """As ``apply_judgements``; the findings that nobody judged are the same objects again."""
        own = [
            judgement
            for judgement in judgements
            if _is_of(judgement, self._score) and (kinds is None or judgement.finding_kind in kinds)
        ]
        chosen = self._pairs(own)
        taken = set(chosen.values())
        alone = sorted((each for index, each in enumerate(own) if index not in taken), key=_order)
        judged = list(self._unjudged)
        for f, index in chosen.items():
            judged[f] = JudgedFinding(finding=self._findings[f], judgement=own[index])
        return (*judged, *(JudgedFinding(finding=None, judgement=each) for each in alone))

    def _pairs(self, judgements: Sequence[Judgement]) -> dict[int, int]:
        """Index of the judgement for each index of a finding that has one."""
        candidates: list[_Candidate] = []
        for index, judgement in enumerate(judgements):
            stretch = _Stretch.of(judgement.passage, self._score)
            for f, common in self._crowd(judgement.finding_kind).fitting(stretch):
                is_same = value_text(self._findings[f].value) == judgement.value.text
                rank = (common, is_same, judgement.edited_at, judgement.id, -f)
                candidates.append((rank, f, index))
        pairs: dict[int, int] = {}
        taken: set[int] = set()
        for _rank, f, index in sorted(candidates, reverse=True):
            if f not in pairs and index not in taken:
                pairs[f] = index
                taken.add(index)
        return pairs

    def _crowd(self, kind: str) -> _Crowd:
        if kind not in self._crowds:
            self._crowds[kind] = _Crowd(
                [
                    (index, _Stretch.of(finding.passage, self._score))
                    for index, finding in enumerate(self._findings)
                    if finding.kind == kind
                ]
            )
        return self._crowds[kind]


def of_other_editions(judgements: Iterable[Judgement], score: Score) -> tuple[Judgement, ...]:
    """The judgements on passages of other editions, which have no place in this one."""
    return tuple(judgement for judgement in judgements if not _is_of(judgement, score))


def overlap(first: Passage | None, second: Passage | None, score: Score) -> Fraction:
    """What two passages have in common, 0 to 1: what both hold by what either holds.

    Points share all or nothing, and so does the whole piece (None). Passages on two different
    staves, or at two different notes, share nothing.

    Parameters
    ----------
    first, second : Passage or None
    score : Score
    """
    common, either = _shares(_Stretch.of(first, score), _Stretch.of(second, score))
    return Fraction(common, either)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A passage in ticks; the whole piece has none."""

    start: int
    end: int
    staff: int | None = None
    note_id: str | None = None
    is_whole: bool = False

    @classmethod
    def of(cls, passage: Passage | None, score: Score) -> _Stretch:
        if passage is None:
            return cls(0, 0, is_whole=True)
        start, end = passage.start, passage.end
        return cls(score.onset_of(start), score.onset_of(end), start.staff, start.note_id)


def _shares(a: _Stretch, b: _Stretch) -> tuple[int, int]:
    """Numerator and denominator of what two stretches have in common."""
    if a.is_whole or b.is_whole:
        return int(a.is_whole is b.is_whole), 1
    if _are_apart(a.staff, b.staff) or _are_apart(a.note_id, b.note_id):
        return 0, 1
    either = max(a.end, b.end) - min(a.start, b.start)
    if not either:
        return 1, 1
    return max(0, min(a.end, b.end) - max(a.start, b.start)), either


_Candidate = tuple[tuple[Fraction, bool, datetime, int, int], int, int]


class _Crowd:
    """Many stretches, of which few have enough in common with another one.

    A symphony has thousands of chords, so that each is not compared by itself.
    """

    def __init__(self, stretches: Sequence[tuple[int, _Stretch]]) -> None:
        self._stretches = stretches
        self._starts = np.array([stretch.start for _, stretch in stretches], np.int64)
        self._ends = np.array([stretch.end for _, stretch in stretches], np.int64)

    def fitting(self, stretch: _Stretch) -> Iterator[tuple[int, Fraction]]:
        """Indices of those with enough in common with ``stretch``, and how much that is."""
        either = np.maximum(self._ends, stretch.end) - np.minimum(self._starts, stretch.start)
        common = np.minimum(self._ends, stretch.end) - np.maximum(self._starts, stretch.start)
        is_near = common * LEAST_OVERLAP.denominator >= either * LEAST_OVERLAP.numerator
        for position in np.flatnonzero(is_near).tolist():
            index, other = self._stretches[position]
            share = Fraction(*_shares(stretch, other))
            if share >= LEAST_OVERLAP:
                yield index, share


def _is_of(judgement: Judgement, score: Score) -> bool:
    return judgement.passage is None or judgement.score_sha256 == score.sha256


def _are_apart(first: object, second: object) -> bool:
    return first is not None and second is not None and first != second


def _order(judgement: Judgement) -> tuple[tuple[int, Fraction], int]:
    passage = judgement.passage
    return (passage.start.moment if passage else (-1, Fraction(0))), judgement.id
