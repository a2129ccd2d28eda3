"""The form of a piece: its sections with letters, and what returns.

Conventions
-----------
Passages are places of the written score. Sections of one level do not overlap and cover the
score; a parent stands before its phrases. Returns are pairs, the earlier passage first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from core.analysis.boundaries import BoundaryEvidence, boundary_evidence
from core.analysis.form_reasons import SectionFacts
from core.analysis.letters import base_letters, families
from core.analysis.likeness import Floats, likeness, unit_texture
from core.analysis.recurrences import Return, find_returns
from core.analysis.relations import (
    Relation,
    UnitNotes,
    compare_spans,
    unit_notes,
    with_lengths,
)
from core.analysis.sections import Kinship, Span, find_spans, kinship
from core.analysis.units import Units, written_units
from core.analysis.variations import find_variations
from core.score.findings import Finding
from core.score.places import Passage
from core.score.score import Score
from core.score.statements import Section

LEAST_SHOWN = 1.0
"""Evidence of a return that is shown by itself; a weaker one only helps to divide the piece."""
LEAST_PAIRED = 0.5
"""Similarity from which two sections of one family are a return of their own."""
MODE_OF_CHANGE = {3: "in major", -3: "in minor"}
"""By the change of key signature, in fifths, from a mode to the other one on its tonic."""
MOST_PAIRED = 6
"""Sections of one family that are all paired; of a larger one each is paired with the first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recurrence:
    """A passage that comes again.

    Parameters
    ----------
    first, second : Passage
        Of one length in measures, the earlier one first.
    relation : str
        "exact", "transposed" or "varied"; a varied one may be transposed too.
    interval : int
        Semitones from the first up to the second.
    similarity : float
        0 to 1.
    """

    first: Passage
    second: Passage
    relation: str
    interval: int
    similarity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """Sections and returns, as computed.

    Parameters
    ----------
    sections : tuple of Finding of Section
        The top level first, then the phrases; ``parent`` and ``of`` are indices here.
    facts : tuple of SectionFacts
        For each section what ``form_reasons`` makes a sentence of.
    recurrences : tuple of Finding of Recurrence
        By their first passage.
    """

    sections: tuple[Finding[Section], ...] = ()
    facts: tuple[SectionFacts, ...] = ()
    recurrences: tuple[Finding[Recurrence], ...] = ()


def form_of(score: Score, units: Units | None = None) -> Form:
    """Divide a score into sections and find what returns.

    Parameters
    ----------
    score : Score
    units : Units or None
        Of unbarred music; None for the written measures.
    """
    units = written_units(score) if units is None else units
    work = _work_on(score, units)
    sections = work.sections()
    return Form(
        sections=tuple(sections), facts=tuple(work.facts()), recurrences=tuple(work.recurrences())
    )


def _work_on(score: Score, units: Units) -> _Work:
    texture = unit_texture(score.notes, units)
    like = likeness(texture)
    returns = find_returns(like)
    evidence = boundary_evidence(score, texture, returns, like=like, units=units)
    variations = find_variations(texture)
    spans = find_spans(evidence, returns, variations=variations, has_upbeat=_has_upbeat(units))
    top_count = sum(span.parent is None for span in spans)
    kin = families(like, spans[:top_count], variations)
    notes = unit_notes(score.notes, units)
    relations = [_relation(notes, units, spans, index, *kin[index]) for index in range(top_count)]
    return _Work(
        score=score,
        units=units,
        like=like,
        returns=returns,
        evidence=evidence,
        spans=spans,
        top_count=top_count,
        kin=kin,
        relations=relations,
        notes=notes,
    )


def _has_upbeat(units: Units) -> bool:
    lengths = units.ends - units.starts
    return len(units) > 1 and bool(lengths[0] < lengths[1])


class _Work(NamedTuple):
    """What is known in units, and its translation into places."""

    score: Score
    units: Units
    like: Floats
    returns: tuple[Return, ...]
    evidence: BoundaryEvidence
    spans: tuple[Span, ...]
    top_count: int
    kin: list[tuple[int | None, Kinship | None]]
    relations: list[Relation | None]
    notes: UnitNotes

    def sections(self) -> list[Finding[Section]]:
        labels = self._labels()
        return [self._section(index, labels[index]) for index in range(len(self.spans))]

    def _section(self, index: int, label: str) -> Finding[Section]:
        span = self.spans[index]
        of, kin = self.kin[index] if index < self.top_count else (None, None)
        relation = self.relations[index] if index < self.top_count else None
        value = Section(
            passage=self.units.passage(self.score, span.first, span.end),
            label=label,
            parent=span.parent,
            relation=relation.text if relation else None,
            of=of,
            interval=relation.interval if relation else 0,
            similarity=_similarity(kin, relation),
        )
        return Finding(
            kind="section",
            passage=value.passage,
            value=value,
            confidence=self._confidence(span, value),
            evidence=self._first_notes(span.first),
        )

    def _labels(self) -> list[str]:
        tops = base_letters([of for of, _ in self.kin])
        labels: list[str] = []
        primes: dict[str, int] = {}
        for index, base in enumerate(tops):
            of, relation = self.kin[index][0], self.relations[index]
            if of is None or relation is None:
                labels.append(base)
            elif relation.is_exact:
                labels.append(labels[of])
            else:
                primes[base] = primes.get(base, 0) + 1
                labels.append(base + "'" * primes[base])
        counts: dict[int, int] = {}
        for span in self.spans[self.top_count :]:
            parent = -1 if span.parent is None else span.parent
            counts[parent] = counts.get(parent, 0) + 1
            labels.append(_phrase_label(counts[parent]))
        return labels

    def _confidence(self, span: Span, section: Section) -> float:
        sure = 0.95 if span.first == 0 else min(max(0.35 + 0.2 * float(span.evidence), 0.3), 0.97)
        if section.of is not None:
            sure *= 0.6 + 0.4 * section.similarity
        return round(sure if section.parent is None else min(sure, 0.7), 4)

    def _first_notes(self, unit: int) -> tuple[str, ...]:
        notes = self.score.notes
        onset = self.units.starts[unit]
        first = int(np.searchsorted(notes.onset, onset))
        last = int(np.searchsorted(notes.onset, onset, side="right"))
        return notes.ids[first : min(last, first + 8)]

    def facts(self) -> list[SectionFacts]:
        return [self._facts(index) for index in range(len(self.spans))]

    def _facts(self, index: int) -> SectionFacts:
        span = self.spans[index]
        returns = [
            (other, relation)
            for other, relation in enumerate(self.relations)
            if relation and self.kin[other][0] == index
        ]
        return SectionFacts(
            causes=self.evidence.causes_at(span.first) if span.first else (),
            returns=tuple(
                (
                    self._number(other),
                    self._words(index, other, relation),
                    self._more(index, other),
                )
                for other, relation in returns
            ),
        )

    def _number(self, index: int) -> str:
        """Printed number of a section's first measure; an inferred one counts from the upbeat."""
        first = self.spans[index].first
        if not self.units.is_written:
            return str(first if _has_upbeat(self.units) else first + 1)
        return self.score.measures[self.units.place(self.score, first).measure_index].number

    def _words(self, earlier: int, later: int, relation: Relation) -> tuple[str, ...]:
        """The relation, and the change of mode where the signatures are those of one tonic."""
        here, there = (
            self.score.measures[int(self.units.measures[self.spans[index].first])].fifths
            for index in (earlier, later)
        )
        if here is None or there is None or relation.interval % 12:
            return relation.words
        change = MODE_OF_CHANGE.get(there - here)
        return (*relation.words, change) if change else relation.words

    def _more(self, index: int, other: int) -> int:
        here, there = self.spans[index], self.spans[other]
        more = (there.end - there.first) - (here.end - here.first)
        return more * self.units.measures_each

    def recurrences(self) -> list[Finding[Recurrence]]:
        pairs = _pairs_of_families(self.like, self.spans[: self.top_count], self.kin)
        covered = {cell for pair in pairs for cell in pair.cells}
        for found in self.returns:
            if found.score < LEAST_SHOWN:
                continue
            pair = _Pair(found.first, found.second, found.length, found.shift, found.similarity)
            cells = set(pair.cells)
            if len(cells - covered) >= max(2, 0.5 * len(cells)):
                pairs.append(pair)
                covered |= cells
        pairs.sort(key=lambda pair: (pair.first, pair.second))
        return [self._recurrence(pair) for pair in pairs]

    def _recurrence(self, pair: _Pair) -> Finding[Recurrence]:
        relation = compare_spans(
            self.notes,
            self.units,
            first=pair.first,
            second=pair.second,
            length=pair.length,
            shift=pair.shift,
        )
        word = "varied" if "varied" in relation.words else relation.words[0]
        value = Recurrence(
            first=self.units.passage(self.score, pair.first, pair.first + pair.length),
            second=self.units.passage(self.score, pair.second, pair.second + pair.length),
            relation=word,
            interval=relation.interval,
            similarity=1.0 if word != "varied" else min(pair.similarity, 0.99),
        )
        return Finding(
            kind="recurrence",
            passage=value.second,
            value=value,
            confidence=min(
                max(float(pair.similarity) * min(1.0, 0.6 + 0.1 * pair.length), 0.0), 0.98
            ),
            evidence=self._first_notes(pair.first) + self._first_notes(pair.second),
        )


class _Pair(NamedTuple):
    """Two spans that may be one returning."""

    first: int
    second: int
    length: int
    shift: int
    similarity: float

    @property
    def cells(self) -> list[tuple[int, int]]:
        return [(self.first + k, self.second + k) for k in range(self.length)]


def _relation(
    notes: UnitNotes,
    units: Units,
    spans: Sequence[Span],
    index: int,
    of: int | None,
    kin: Kinship | None,
) -> Relation | None:
    if of is None or kin is None:
        return None
    earlier, later = spans[of], spans[index]
    first, second, length = _overlap(earlier, later, kin)
    relation = compare_spans(
        notes, units, first=first, second=second, length=length, shift=kin.shift
    )
    if kin.is_reduced:
        relation = relation._replace(words=("reduced",))
    return with_lengths(relation, earlier.end - earlier.first, later.end - later.first)


def _overlap(earlier: Span, later: Span, kin: Kinship) -> tuple[int, int, int]:
    """The units of both that are laid side by side: first, second, how many."""
    first = max(earlier.first, later.first - kin.lag)
    end = min(earlier.end, later.end - kin.lag)
    return first, first + kin.lag, end - first


def _pairs_of_families(
    like: Floats, spans: Sequence[Span], kin: Sequence[tuple[int | None, Kinship | None]]
) -> list[_Pair]:
    names = base_letters([of for of, _ in kin])
    members: dict[str, list[Span]] = {}
    for name, span in zip(names, spans, strict=True):
        members.setdefault(name, []).append(span)
    pairs = []
    for family in members.values():
        for index, later in enumerate(family):
            earlier_ones = family[:index] if len(family) <= MOST_PAIRED else family[: min(1, index)]
            for earlier in earlier_ones:
                known = kin[spans.index(later)]
                is_known = known[1] is not None and known[1].is_reduced
                found = known[1] if is_known and known[1] else kinship(like, earlier, later)
                first, second, length = _overlap(earlier, later, found)
                if (found.similarity > LEAST_PAIRED or found.is_reduced) and length >= 2:
                    pairs.append(_Pair(first, second, length, found.shift, found.similarity))
    return pairs


def _similarity(kin: Kinship | None, relation: Relation | None) -> float:
    if kin is None or relation is None:
        return 1.0
    return 1.0 if relation.is_exact else round(min(max(kin.similarity, 0.0), 0.99), 4)


def _phrase_label(number: int) -> str:
    name = ""
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("a") + rest) + name
    return name
