"""Which findings are told at a place, in which order, and which would be too many.

Of keys and scales those of the tonal line are told, so that the margin, the score and the form
line say one thing; what a person judged is told always. More than a few chords are one line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

from app.tonality.chord_lines import chord_line
from app.tonality.finding_words import CHORD_LINE, CHORDS, KEYS, SCALES, TOLD, Told
from core.analysis.tonal_line import TonalStretch, tonal_line
from core.notebook.analyses import Analysis
from core.notebook.judged_findings import JudgedFinding, Matching
from core.notebook.values import Judgement
from core.score.findings import Finding
from core.score.places import Passage
from core.score.score import Score

MOST_ALONE = 6
"""Of a person's words that no finding answers to."""
MOST_CHORDS = 2
"""Told one by one."""
Span = tuple[int, int]
"""Start and end in ticks, the end exclusive and after the start; None for the whole piece."""


@dataclass(frozen=True, slots=True)
class Found:
    """A finding, how it is told, and where it lies: known once for an analysis."""

    finding: Finding[Any]
    told: Told
    span: Span | None


@dataclass(frozen=True, slots=True)
class Entry:
    """A finding with a person's word, and how it is told; no ``told`` for a word alone."""

    judged: JudgedFinding[Any]
    told: Told | None
    span: Span | None


class TonalLine:
    """The tonal line of an analysis, asked by places in its score."""

    def __init__(self, analysis: Analysis, score: Score) -> None:
        self._stretches: tuple[tuple[Span | None, TonalStretch], ...] = tuple(
            (span_of(stretch.passage, score), stretch)
            for stretch in tonal_line(analysis.key_regions, analysis.scale_regions)
        )
        self._score = score

    def told_at(self, here: Span | None) -> list[Finding[Any]]:
        """The findings that tell the tonality of a place."""
        told: list[Finding[Any]] = []
        for span, stretch in self._stretches:
            if do_meet(span, here):
                near = [f for f in stretch.told_by if do_meet(self._span_of(f), here)]
                # A short rest goes with what is before it, which may not reach so far itself.
                told.extend(near or stretch.told_by[-1:])
        return told

    def _span_of(self, finding: Finding[Any]) -> Span | None:
        return span_of(finding.passage, self._score)


class AllFound:
    """All findings of an analysis with where they lie, worked out once, in steps or when asked."""

    def __init__(self, analysis: Analysis, score: Score) -> None:
        self.analysis, self.score = analysis, score
        self._rows: dict[int, tuple[Found, ...]] = {}

    @cached_property
    def line(self) -> TonalLine:
        """What tells the tonality."""
        return TonalLine(self.analysis, self.score)

    @cached_property
    def found(self) -> tuple[Found, ...]:
        """In the order of ``TOLD``."""
        return tuple(found for number in range(len(TOLD)) for found in self._row(number))

    @cached_property
    def matching(self) -> Matching[Any]:
        """The findings, ready for a person's words."""
        return Matching([each.finding for each in self.found], self.score)

    def entries(self, judgements: Sequence[Judgement]) -> tuple[Entry, ...]:
        """The findings in order with a person's words on them; then the words that stand alone."""
        judged = self.matching.with_judgements(judgements)
        entries = list(self._unjudged)
        for index, (each, found) in enumerate(zip(judged, self.found, strict=False)):
            if each is not entries[index].judged:
                entries[index] = Entry(each, found.told, found.span)
        alone = judged[len(entries) :]
        return (*entries, *(Entry(each, None, span_of(each.passage, self.score)) for each in alone))

    @cached_property
    def _unjudged(self) -> tuple[Entry, ...]:
        judged = self.matching.with_judgements(())
        paired = zip(judged, self.found, strict=True)
        return tuple(Entry(each, found.told, found.span) for each, found in paired)

    def steps(self) -> tuple[Callable[[], object], ...]:
        """What ``line`` and ``found`` take, cut up for whoever must not wait for all of it."""
        rows = (partial(self._row, number) for number in range(len(TOLD)))
        return (lambda: self.line, *rows, lambda: self.matching, lambda: self._unjudged)

    def _row(self, number: int) -> tuple[Found, ...]:
        if number not in self._rows:
            row = TOLD[number]
            self._rows[number] = tuple(
                Found(finding, row, span_of(finding.passage, self.score))
                for finding in row.of(self.analysis)
            )
        return self._rows[number]


def chosen(
    entries: Sequence[Entry], line: TonalLine, here: Span | None
) -> tuple[tuple[Entry, ...], int]:
    """What is told at a place, in order, and how many findings are left out.

    Parameters
    ----------
    entries : sequence of Entry
        All of the score.
    line : TonalLine
    here : Span or None
        None for the whole piece.
    """
    tonal = _tonal(entries, line, here)
    others = [e for e in entries if not _is_region(e) and do_meet(e.span, here)]
    told: list[Entry] = []
    counts: dict[int, int] = {}
    found = [*tonal, *_with_chords_together(others)]
    for entry in found:
        counts[id(entry.told)] = counts.get(id(entry.told), 0) + 1
        if counts[id(entry.told)] <= (entry.told.most if entry.told else MOST_ALONE):
            told.append(entry)
    return tuple(told), len(found) - len(told)


def span_of(passage: Passage | None, score: Score) -> Span | None:
    """Where a passage lies; a point lasts one tick."""
    if passage is None:
        return None
    start = score.onset_of(passage.start)
    return start, max(score.onset_of(passage.end), start + 1)


def do_meet(own: Span | None, here: Span | None) -> bool:
    """Whether a finding is about the place: of the whole piece only with nothing selected."""
    if own is None or here is None:
        return own is here
    return own[0] < here[1] and here[0] < own[1]


def _tonal(entries: Iterable[Entry], line: TonalLine, here: Span | None) -> list[Entry]:
    told = {id(finding) for finding in line.told_at(here)}
    regions = [
        entry
        for entry in entries
        if _is_region(entry)
        and (
            id(entry.judged.finding) in told
            or (entry.judged.judgement is not None and do_meet(entry.span, here))
        )
    ]
    return sorted(regions, key=lambda entry: entry.span or (0, 0))


def _is_region(entry: Entry) -> bool:
    return entry.told is KEYS or entry.told is SCALES


def _with_chords_together(entries: Sequence[Entry]) -> list[Entry]:
    """Chords that nobody judged as one line, where they are more than ``MOST_CHORDS``."""
    chords = [e for e in entries if e.told is CHORDS and e.judged.judgement is None]
    if len(chords) <= MOST_CHORDS:
        return list(entries)
    together = chord_line([e.judged.finding for e in chords if e.judged.finding is not None])
    spans = [e.span for e in chords if e.span is not None]
    line = Entry(
        judged=JudgedFinding(finding=together),
        told=CHORD_LINE,
        span=(spans[0][0], spans[-1][1]),
    )
    at = next(index for index, entry in enumerate(entries) if entry is chords[0])
    rest = [e for e in entries[at:] if not any(e is chord for chord in chords)]
    return [*entries[:at], line, *rest]
