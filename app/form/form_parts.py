"""What stands in the lanes of the form line, as values made from a score and its analysis.

Conventions: ``start`` and ``end`` are played quarters. Everything is made in one pass over the
measures as played, so that it takes time in proportion to them; what can be long is made in
steps, see ``slices``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from app.form.played_time import PlayedTime, Stretch
from app.form.slices import Steps
from app.score.page_marks import Certainty
from core.analysis.keys import Key
from core.analysis.tonal_line import TonalStretch, tonal_stretches
from core.notebook.analyses import Analysis
from core.notebook.values import Remark
from core.score.findings import Finding
from core.score.places import Passage
from core.score.score import Score
from core.score.statements import Section, Statement, ordinal
from core.takes.tempo import without_mark

RELATION_WORDS = {
    "transposed": "transposed",
    "shortened": "shorter",
    "extended": "longer",
    "reduced": "reduced",
}
"""What a box says of its return. That it is varied says the prime, exact its absence."""
JOINED_QUARTERS = 1.0
"""Words that begin closer together in one measure are one entry of the lane."""
AT_ONCE = 64
"""Entries of a lane that are made in one step: well under a millisecond each time."""
_WORD_KINDS = {"words", "metronome", "other-direction"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One statement, or the whole piece where no sections are known (``statement`` None)."""

    start: float
    end: float
    label: str = ""
    ordinal: str = ""
    """"1st", "2nd"; empty for the only statement."""
    relation: str = ""
    """How it returns ("major, longer"); empty where there is nothing to say."""
    certainty: Certainty = Certainty.SOLID
    statement: Statement | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeySegment:
    """A key as long as it holds; ``fifths`` and ``mode`` are what its colour is made of."""

    start: float
    end: float
    name: str
    fifths: int
    mode: str
    certainty: Certainty


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Printed words where they sound for the first time."""

    at: float
    text: str
    measure_index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RemarkMark:
    """One sounding of the passage that a remark hangs on."""

    start: float
    end: float
    number: int
    remark_id: int
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberLabel:
    """A printed measure number over the position at which it is played."""

    at: float
    number: str


def tonal_line_of(analysis: Analysis | None) -> Steps[tuple[TonalStretch, ...]]:
    """One account of keys and scales, as written."""
    if analysis is None:
        return ()
    scales = getattr(analysis, "scale_regions", ())
    line = []
    for number, stretch in enumerate(tonal_stretches(_key_regions(analysis), scales)):
        line.append(stretch)
        if number % AT_ONCE == 0:
            yield
    return tuple(line)


def boxes_of(
    analysis: Analysis | None, line: Sequence[TonalStretch], time: PlayedTime
) -> Steps[tuple[Box, ...]]:
    """The statements of the sections of the top level; one unnamed box without any.

    ``line`` is the analysis's own.
    """
    if analysis is None or not analysis.form.sections:
        return (Box(start=0.0, end=time.total_quarters),)
    found = analysis.form.sections
    modes = yield from _section_modes(analysis, line)
    relations = [_relation(index, found, modes) for index in range(len(found))]
    boxes = []
    for number, statement in enumerate(analysis.statements):
        if number % AT_ONCE == 0:
            yield
        section = found[statement.section]
        stretch = time.stretch_of(statement)
        if section.value.parent is None and stretch.end > stretch.start:
            boxes.append(
                Box(
                    start=stretch.start,
                    end=stretch.end,
                    label=section.value.label,
                    ordinal=ordinal(statement.number) if statement.count > 1 else "",
                    relation=relations[statement.section],
                    certainty=Certainty.of(section.confidence),
                    statement=statement,
                )
            )
    return tuple(boxes) or (Box(start=0.0, end=time.total_quarters),)


def key_segments_of(
    analysis: Analysis | None, line: Sequence[TonalStretch], time: PlayedTime
) -> Steps[tuple[KeySegment, ...]]:
    """The keys as played, or the modes that are told instead; ``line`` is the analysis's own.

    Neighbours of one name and certainty are one segment.
    """
    if analysis is None:
        return ()
    if not line and not _key_regions(analysis) and analysis.key is not None:
        return (_segment(analysis.key, Stretch(0.0, time.total_quarters)),)
    segments: list[KeySegment] = []
    for number, tonality in enumerate(line):
        if number % AT_ONCE == 0:
            yield
        sounding = time.stretches_of(tonality.passage)
        segments += [_told(tonality, each) for each in sounding if each.end > each.start]
    segments.sort(key=lambda segment: segment.start)
    yield
    return _joined(segments)


def words_of(score: Score, time: PlayedTime) -> Steps[tuple[Words, ...]]:
    """The printed words, without dynamics and metronome marks, by their first sounding."""
    first_sounding: dict[int, int] = {}
    for position, index in enumerate(time.order):
        first_sounding.setdefault(index, position)
    found: list[tuple[float, int, str]] = []
    for number, direction in enumerate(score.directions):
        if number % AT_ONCE == 0:
            yield
        text = without_mark(direction.text)
        sounding = first_sounding.get(direction.measure_index)
        if sounding is None or not text or direction.kind not in _WORD_KINDS:
            continue
        measure = score.measures[direction.measure_index]
        inside = max(0.0, (direction.onset - measure.onset) / score.ticks_per_quarter)
        at = time.starts[sounding] + min(inside, time.lengths[direction.measure_index])
        found.append((at, direction.measure_index, text))
    found.sort(key=lambda entry: entry[0])
    yield
    return _together(found)


def remark_marks_of(
    numbered: Iterable[tuple[int, Remark]], time: PlayedTime
) -> tuple[RemarkMark, ...]:
    """Where the remarks hang, in every statement of their measures."""
    marks = [
        RemarkMark(
            start=stretch.start,
            end=stretch.end,
            number=number,
            remark_id=remark.id,
            body=remark.body,
        )
        for number, remark in numbered
        if remark.anchor.passage is not None
        for stretch in time.stretches_of(remark.anchor.passage)
    ]
    return tuple(sorted(marks, key=lambda mark: (mark.start, mark.number)))


def numbers_of(score: Score, boxes: Sequence[Box], time: PlayedTime) -> tuple[NumberLabel, ...]:
    """The printed number of the measure in which each box begins."""
    if not len(time):
        return ()
    labels = []
    for box in boxes:
        index = time.order[time.position_at(box.start)]
        labels.append(NumberLabel(at=box.start, number=score.measures[index].number))
    return tuple(label for label in labels if label.number)


def _relation(index: int, found: Sequence[Finding[Section]], modes: Sequence[str | None]) -> str:
    section = found[index].value
    if section.of is None or not 0 <= section.of < len(found):
        return ""
    words = []
    mode, before = modes[index], modes[section.of]
    if mode is not None and before is not None and mode != before:
        words.append(mode)
    kinds = (section.relation or "").split("+")
    words += [RELATION_WORDS[kind] for kind in kinds if kind in RELATION_WORDS]
    return ", ".join(words)


def _section_modes(analysis: Analysis, line: Sequence[TonalStretch]) -> Steps[list[str | None]]:
    """Mode of the key that holds longest in each section; None where no key is known there."""
    spans = []
    for number, stretch in enumerate(line):
        if number % AT_ONCE == 0:
            yield
        spans.append((*_written(analysis, stretch.passage), stretch.mode))
    modes: list[str | None] = []
    begin = 0
    last_start = 0.0
    for number, section in enumerate(analysis.form.sections):
        if number % AT_ONCE == 0:
            yield
        start, end = _written(analysis, section.passage or section.value.passage)
        # Sections of one level come in order; a new level starts again at the beginning.
        begin = 0 if start < last_start else begin
        last_start = start
        while begin < len(spans) and spans[begin][1] <= start:
            begin += 1
        held: dict[str, float] = {}
        for region_start, region_end, mode in islice(spans, begin, None):
            if region_start >= end:
                break
            shared = min(end, region_end) - max(start, region_start)
            held[mode] = held.get(mode, 0.0) + shared
        modes.append(max(held, key=lambda mode: held[mode]) if held else None)
    return modes


def _written(analysis: Analysis, passage: Passage | None) -> tuple[float, float]:
    if passage is None:
        return 0.0, float(analysis.duration_quarters)
    start, end = analysis.onset_quarters(passage.start), analysis.onset_quarters(passage.end)
    return float(start), float(end)


def _key_regions(analysis: Analysis) -> tuple[Finding[Key], ...]:
    regions: tuple[Finding[Key], ...] = getattr(analysis, "key_regions", ())
    return regions


def _told(tonality: TonalStretch, stretch: Stretch) -> KeySegment:
    return KeySegment(
        start=stretch.start,
        end=stretch.end,
        name=tonality.name,
        fifths=tonality.tonic,
        mode=tonality.mode,
        certainty=Certainty.of(tonality.confidence),
    )


def _segment(finding: Finding[Key], stretch: Stretch) -> KeySegment:
    return KeySegment(
        start=stretch.start,
        end=stretch.end,
        name=finding.value.name,
        fifths=finding.value.tonic,
        mode=finding.value.mode,
        certainty=Certainty.of(finding.confidence),
    )


def _joined(segments: Sequence[KeySegment]) -> tuple[KeySegment, ...]:
    joined: list[KeySegment] = []
    for segment in segments:
        last = joined[-1] if joined else None
        is_same = last is not None and (last.name, last.certainty) == (
            segment.name,
            segment.certainty,
        )
        if last is not None and is_same and segment.start <= last.end + 1e-9:
            joined[-1] = KeySegment(
                start=last.start,
                end=max(last.end, segment.end),
                name=last.name,
                fifths=last.fifths,
                mode=last.mode,
                certainty=last.certainty,
            )
        else:
            joined.append(segment)
    return tuple(joined)


def _together(found: Sequence[tuple[float, int, str]]) -> tuple[Words, ...]:
    """Words of one measure that begin close together as one entry, each text once."""
    words: list[Words] = []
    for number, (at, measure, text) in enumerate(found):
        before = found[number - 1] if number else None
        if before is not None and before[1] == measure and at - words[-1].at < JOINED_QUARTERS:
            if text not in words[-1].text.split(", "):
                joined = f"{words[-1].text}, {text}"
                words[-1] = Words(at=words[-1].at, text=joined, measure_index=measure)
        else:
            words.append(Words(at=at, text=text, measure_index=measure))
    return tuple(words)
