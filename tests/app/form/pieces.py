"""Small pieces with made-up findings, for tests of the form line."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from fractions import Fraction

from app.desk.selection import Selection
from core.analysis.form import Form
from core.analysis.keys import Key
from core.notebook.values import Anchor, AnchorKind, Remark
from core.score.findings import Finding
from core.score.places import Passage, Place
from core.score.playing_order import PlayingOrder, playing_order_of
from core.score.reading import read_bytes
from core.score.score import Score
from core.score.statements import Section, Statement, statements_of
from tests.app import small_scores

REPEAT_END = (
    '<barline location="right"><bar-style>light-heavy</bar-style>'
    '<repeat direction="backward"/></barline>'
)
WRITTEN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@dataclass(kw_only=True)
class Found:
    """As much of an analysis as the form line asks for, key regions included."""

    sha256: str
    playing_order: PlayingOrder
    form: Form
    statements: tuple[Statement, ...]
    key: Finding[Key] | None
    key_regions: tuple[Finding[Key], ...]
    duration_quarters: Fraction
    onsets: list[Fraction] = field(default_factory=list)

    def onset_quarters(self, place: Place) -> Fraction:
        return self.onsets[min(place.measure_index, len(self.onsets) - 1)] + place.offset_quarters


def score_of(*measures: str) -> Score:
    return read_bytes(small_scores.music(*measures), name="small.musicxml").score


def repeated() -> Score:
    """Two measures played twice, then two more; quarter = 60."""
    tempo = (
        "<direction><direction-type><words>Andante</words></direction-type><direction-type>"
        "<metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>"
        "</direction-type></direction>"
    )
    second = small_scores.measure("2").replace("</measure>", REPEAT_END + "</measure>")
    return score_of(
        small_scores.measure("1", before=small_scores.signature("4", "4") + tempo),
        second,
        small_scores.measure("3", before=small_scores.words("poco a poco cresc.")),
        small_scores.measure("4"),
    )


def found(score: Score, sections: list[Section], keys: list[Finding[Key]] | None = None) -> Found:
    order = playing_order_of(score)
    findings = tuple(
        Finding(kind="section", passage=section.passage, value=section, confidence=0.9)
        for section in sections
    )
    return Found(
        sha256=score.sha256,
        playing_order=order,
        form=Form(sections=findings),
        statements=statements_of(sections, order.measure_indices),
        key=Finding(kind="global key", value=Key(tonic=1, mode="minor"), confidence=0.7),
        key_regions=tuple(keys or ()),
        duration_quarters=score.quarters(score.duration),
        onsets=[score.quarters(measure.onset) for measure in score.measures]
        + [score.quarters(score.duration)],
    )


def section(first: int, last: int, label: str, **more: object) -> Section:
    return Section(passage=Passage.of_measures(first, last), label=label, **more)  # type: ignore[arg-type]


def a_b(score: Score) -> Found:
    """A (twice), then A' in major, longer."""
    sections = [
        section(0, 1, "A"),
        section(2, 3, "A'", relation="varied+extended", of=0, similarity=0.8),
    ]
    return found(score, sections, [key(0, 1, 1, "minor", 0.9), key(2, 3, 1, "major", 0.5)])


def key(first: int, last: int, tonic: int, mode: str, confidence: float) -> Finding[Key]:
    return Finding(
        kind="key region",
        passage=Passage.of_measures(first, last),
        value=Key(tonic=tonic, mode=mode),  # type: ignore[arg-type]
        confidence=confidence,
    )


def remark(id: int, passage: Passage | None, body: str = "let it sink") -> Remark:
    kind = AnchorKind.PIECE if passage is None else AnchorKind.PASSAGE
    return Remark(
        id=id,
        piece_id=1,
        kind=None,
        body=body,
        anchor=Anchor(kind=kind, passage=passage),
        created_at=WRITTEN,
        edited_at=WRITTEN,
    )


def selection(first: int, last: int) -> Selection:
    return Selection(kind=AnchorKind.PASSAGE, passage=Passage.of_measures(first, last))


def within(measure: int, begin: Fraction | int, end: Fraction | int) -> Passage:
    return Passage(
        start=Place(measure_index=measure, offset_quarters=Fraction(begin)),
        end=Place(measure_index=measure, offset_quarters=Fraction(end)),
    )
