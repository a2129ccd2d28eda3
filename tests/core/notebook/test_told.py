"""A person's word wins wherever a piece is shown as a whole."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any

from core.analysis.keys import Key
from core.analysis.scales import ScaleInUse
from core.analysis.tonal_line import tonal_line
from core.notebook.analyses import Analysis, analyse_score
from core.notebook.judgements import judged_value
from core.notebook.told import as_told
from core.notebook.values import JudgedValue, Judgement, Ruling
from core.resources import sample_library
from core.score.findings import Finding
from core.score.places import Passage
from core.score.reading import read_score
from core.score.score import Score

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
C_DORIAN = ScaleInUse(tonic=0, scale="dorian")
D_MINOR = Key(tonic=2, mode="minor")


@lru_cache(maxsize=1)
def score() -> Score:
    return read_score(sample_library() / "barcarolle.musicxml").score


@lru_cache(maxsize=1)
def analysis() -> Analysis:
    return analyse_score(score())


def said(
    finding: Finding[Any],
    ruling: Ruling = Ruling.OVERRULED,
    own: JudgedValue | None = None,
    minutes: int = 0,
) -> Judgement:
    return Judgement(
        id=minutes + 1,
        piece_id=1,
        finding_kind=finding.kind,
        score_sha256=score().sha256,
        passage=finding.passage,
        ruling=ruling,
        value=judged_value(finding.value),
        own_value=own,
        created_at=NOW,
        edited_at=NOW + timedelta(minutes=minutes),
    )


def names(told: Analysis, passage: Passage) -> set[str]:
    """What the line of keys and scales says within a passage."""
    start, end = passage.start.moment, passage.end.moment
    return {
        stretch.name
        for stretch in tonal_line(told.key_regions, told.scale_regions)
        if stretch.passage.start.moment < end and start < stretch.passage.end.moment
    }


def first_scale() -> tuple[Finding[ScaleInUse], Passage]:
    finding = analysis().scale_regions[0]
    assert finding.passage is not None
    return finding, finding.passage


def test_where_nothing_is_said_the_analysis_stays_what_it_is() -> None:
    assert as_told(analysis(), (), score()) is analysis()
    about_the_whole = said(Finding(kind="global key", value=D_MINOR, confidence=0.9))
    assert as_told(analysis(), (about_the_whole,), score()) is analysis()


def test_a_person_s_scale_stands_over_its_passage_and_nowhere_else() -> None:
    finding, passage = first_scale()
    told = as_told(analysis(), (said(finding, own=judged_value(C_DORIAN)),), score())
    assert names(told, passage) == {"C Dorian"}
    rest = Passage(start=passage.end, end=analysis().key_regions[-1].passage.end)  # type: ignore[union-attr]
    assert names(told, rest) == names(analysis(), rest)


def test_a_person_s_key_is_told_by_its_name_and_is_certain() -> None:
    finding, passage = first_scale()
    told = as_told(analysis(), (said(finding, own=judged_value(D_MINOR)),), score())
    (stretch,) = (
        each for each in tonal_line(told.key_regions, told.scale_regions) if each.passage == passage
    )
    assert (stretch.name, stretch.confidence) == ("D minor", 1.0)


def test_what_is_overruled_without_a_word_leaves_a_gap() -> None:
    finding, passage = first_scale()
    told = as_told(analysis(), (said(finding),), score())
    assert names(told, passage) == set()


def test_of_two_words_on_one_passage_the_later_wins() -> None:
    scale, passage = first_scale()
    key = Finding(kind="key region", passage=passage, value=D_MINOR, confidence=0.5)
    earlier = said(scale, own=judged_value(C_DORIAN), minutes=1)
    later = said(key, own=judged_value(D_MINOR), minutes=2)
    assert names(as_told(analysis(), (earlier, later), score()), passage) == {"D minor"}
    assert names(as_told(analysis(), (later, earlier), score()), passage) == {"D minor"}


def test_what_is_confirmed_is_certain() -> None:
    finding, passage = first_scale()
    told = as_told(analysis(), (said(finding, Ruling.CONFIRMED),), score())
    (stretch,) = (
        each for each in tonal_line(told.key_regions, told.scale_regions) if each.passage == passage
    )
    assert (stretch.name, stretch.confidence) == (finding.value.short_name, 1.0)


def test_a_section_has_the_person_s_letter_and_its_statements_stay_the_same() -> None:
    finding = analysis().form.sections[1]
    told = as_told(analysis(), (said(finding, own=JudgedValue(text="Bridge")),), score())
    assert told.form.sections[1].value.label == "Bridge"
    assert told.form.sections[1].confidence == 1.0
    assert told.form.sections[0] == analysis().form.sections[0]
    # Remarks hang on statements by their computed letter.
    assert told.statements == analysis().statements
    unsaid = as_told(analysis(), (said(finding),), score())
    assert unsaid.form.sections[1].value.label == ""
