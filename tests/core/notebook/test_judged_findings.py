"""Judgements matched to a new analysis by kind and by what the passages have in common."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.analysis.keys import Key
from core.notebook.judged_findings import (
    JudgedFinding,
    apply_judgements,
    of_other_editions,
    overlap,
)
from core.notebook.judgements import judged_value
from core.notebook.values import JudgedValue, Judgement, Ruling
from core.score.findings import Finding
from core.score.places import Passage
from tests.core.notebook.small_scores import SHA, at, between, small_score

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
# Ten measures of 4/4, so that a measure is a tenth.
SCORE = small_score(lengths=(4,) * 10)
G_MINOR, B_FLAT, D_MINOR = (
    Key(tonic=tonic, mode=mode) for tonic, mode in ((1, "minor"), (-2, "major"), (2, "minor"))
)


def found(first: int, last: int, key: Key = B_FLAT, kind: str = "key") -> Finding[Key]:
    return Finding(kind=kind, passage=Passage.of_measures(first, last), value=key, confidence=0.6)


def said(finding: Finding[Key], number: int = 1, **changes: object) -> Judgement:
    plain = Judgement(
        id=number,
        piece_id=1,
        finding_kind=finding.kind,
        score_sha256=SHA if finding.passage else None,
        passage=finding.passage,
        ruling=Ruling.OVERRULED,
        value=judged_value(finding.value),
        own_value=judged_value(G_MINOR),
        created_at=NOW,
        edited_at=NOW + timedelta(minutes=number),
    )
    return replace(plain, **changes)


def pairs(judged: tuple[JudgedFinding[Key], ...]) -> list[tuple[bool, int | None]]:
    """Whether there is a finding, and which judgement it has."""
    return [(each.finding is not None, each.judgement and each.judgement.id) for each in judged]


# ------------------------------------------------------------------------------------- overlap


@pytest.mark.parametrize(
    ("first", "second", "share"),
    [
        (Passage.of_measures(0, 9), Passage.of_measures(0, 9), 1),
        (Passage.of_measures(0, 9), Passage.of_measures(0, 7), Fraction(8, 10)),
        (Passage.of_measures(0, 8), Passage.of_measures(1, 9), Fraction(8, 10)),
        (Passage.of_measures(0, 3), Passage.of_measures(4, 9), 0),
        (between((0, 1), (1, 0)), between((0, 0), (1, 0)), Fraction(3, 4)),
        (at(2, 1), at(2, 1), 1),
        (at(2, 4), at(3), 1),  # the end of one measure is the start of the next
        (at(2), at(3), 0),
        (at(2), Passage.of_measures(2, 2), 0),
        (None, None, 1),
        (None, Passage.of_measures(0, 9), 0),
        (at(2, staff=1), at(2, staff=2), 0),
        (at(2, staff=1), at(2), 1),
        (at(2, note_id="n1"), at(2, note_id="n2"), 0),
    ],
)
def test_what_two_passages_have_in_common(
    first: Passage | None, second: Passage | None, share: Fraction
) -> None:
    assert overlap(first, second, SCORE) == share
    assert overlap(second, first, SCORE) == share


# ------------------------------------------------------------------------------------ matching


@pytest.mark.parametrize(
    ("now_last", "is_matched"),
    [(9, True), (8, True), (7, True), (6, False)],
)
def test_four_fifths_in_common_are_enough(now_last: int, is_matched: bool) -> None:
    judged = apply_judgements([found(0, now_last)], [said(found(0, 9))], SCORE)
    assert pairs(judged) == ([(True, 1)] if is_matched else [(True, None), (False, 1)])


def test_another_kind_is_another_finding() -> None:
    judged = apply_judgements([found(0, 9, kind="scale")], [said(found(0, 9))], SCORE)
    assert pairs(judged) == [(True, None), (False, 1)]
    only = apply_judgements(
        [found(0, 9, kind="scale")], [said(found(0, 9))], SCORE, kinds=["scale"]
    )
    assert pairs(only) == [(True, None)]


def test_the_best_match_wins_and_each_is_used_once() -> None:
    findings = [found(0, 8), found(0, 9)]
    assert pairs(apply_judgements(findings, [said(found(0, 9))], SCORE)) == [
        (True, None),
        (True, 1),
    ]
    both = [said(found(0, 9), 1), said(found(0, 8), 2)]
    assert pairs(apply_judgements(findings, both, SCORE)) == [(True, 2), (True, 1)]


def test_of_two_on_one_finding_the_later_word_holds() -> None:
    judged = apply_judgements([found(0, 9)], [said(found(0, 9), 1), said(found(0, 9), 2)], SCORE)
    assert pairs(judged) == [(True, 2), (False, 1)]


def test_at_one_place_the_same_value_is_matched_first() -> None:
    findings = [found(0, 9, B_FLAT), found(0, 9, D_MINOR)]
    judged = apply_judgements(findings, [said(findings[1], 1), said(findings[0], 2)], SCORE)
    assert pairs(judged) == [(True, 2), (True, 1)]


def test_a_global_finding_is_judged_in_every_edition() -> None:
    whole = replace(found(0, 9), passage=None)
    other = small_score(sha256="cd" * 32)
    assert pairs(apply_judgements([whole], [said(whole)], other)) == [(True, 1)]
    assert of_other_editions([said(whole)], other) == ()


def test_passages_of_another_edition_are_told_apart_not_lost() -> None:
    other = small_score(sha256="cd" * 32)
    elsewhere = said(found(0, 9))
    assert pairs(apply_judgements([found(0, 9)], [elsewhere], other)) == [(True, None)]
    assert of_other_editions([elsewhere], other) == (elsewhere,)


def test_those_that_stand_alone_come_by_place() -> None:
    whole = replace(found(0, 9), passage=None)
    alone = [said(found(5, 6), 1), said(found(2, 3), 2), said(whole, 3)]
    assert pairs(apply_judgements([], alone, SCORE)) == [(False, 3), (False, 2), (False, 1)]


SPANS = st.tuples(st.integers(0, 9), st.integers(0, 9)).map(lambda ends: (min(ends), max(ends)))


@settings(deadline=None)
@given(st.lists(SPANS, max_size=6), st.lists(SPANS, max_size=6))
def test_nothing_is_lost_or_used_twice(
    spans: list[tuple[int, int]], judged_spans: list[tuple[int, int]]
) -> None:
    findings = [found(*span) for span in spans]
    judgements = [said(found(*span), number) for number, span in enumerate(judged_spans, start=1)]
    judged = apply_judgements(findings, judgements, SCORE)
    assert [each.finding for each in judged if each.finding] == findings
    assert sorted(each.judgement.id for each in judged if each.judgement) == sorted(
        each.id for each in judgements
    )
    for each in judged:
        if each.finding and each.judgement:
            assert overlap(each.finding.passage, each.judgement.passage, SCORE) >= Fraction(4, 5)


# ------------------------------------------------------------------------------- what is shown


def test_without_a_word_the_computed_value_holds() -> None:
    (plain,) = apply_judgements([found(0, 9)], [], SCORE)
    assert (plain.text, plain.computed_text, plain.own_text) == ("Bb major", "Bb major", None)
    assert (plain.is_confirmed, plain.is_overruled, plain.has_changed) == (False,) * 3
    assert (plain.kind, plain.passage) == ("key", Passage.of_measures(0, 9))


def test_what_was_overruled_stays_beside_the_own_value() -> None:
    (judged,) = apply_judgements([found(0, 9)], [said(found(0, 9))], SCORE)
    assert (judged.text, judged.computed_text, judged.own_text) == (
        "G minor",
        "Bb major",
        "G minor",
    )
    assert judged.is_overruled
    assert not judged.has_changed


def test_overruled_without_a_word_the_computed_value_is_still_to_be_seen() -> None:
    only_no = said(found(0, 9), own_value=None)
    (judged,) = apply_judgements([found(0, 9)], [only_no], SCORE)
    assert (judged.text, judged.own_text) == ("Bb major", None)
    assert judged.is_overruled


def test_what_was_confirmed_holds_against_a_new_analysis() -> None:
    confirmed = said(found(0, 9), ruling=Ruling.CONFIRMED, own_value=None)
    (judged,) = apply_judgements([found(0, 9, D_MINOR)], [confirmed], SCORE)
    assert (judged.text, judged.computed_text) == ("Bb major", "D minor")
    assert judged.is_confirmed
    assert judged.has_changed


def test_a_judgement_alone_still_says_both() -> None:
    (alone,) = apply_judgements([], [said(found(0, 9))], SCORE)
    assert (alone.kind, alone.passage) == ("key", Passage.of_measures(0, 9))
    assert (alone.text, alone.computed_text) == ("G minor", "Bb major")
    assert JudgedValue(text=alone.text) == replace(judged_value(G_MINOR), data="")
