"""The sample notebook hangs where it should: on the scores, and on what is found in them today."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from core.errors import InvalidEntryError
from core.notebook.analyses import Analysis, analyse_score
from core.notebook.anchors import begins_in, statement_name
from core.notebook.judged_findings import apply_judgements
from core.notebook.judgements import judgements_of
from core.notebook.pieces import keep_score
from core.notebook.ports import NotebookStore
from core.notebook.remarks import remarks_of, versions_of
from core.notebook.sample_notebook import SamplePiece, SampleRemark, read_sample, write_down
from core.notebook.told import as_told
from core.notebook.values import Anchor, AnchorKind, Remark, RemarkKind, Ruling
from core.resources import sample_library
from core.score.reading import ReadScore, read_score
from core.storage import open_store

NOW = datetime(2026, 5, 4, 18, 30, tzinfo=UTC)
SAMPLES = read_sample(sample_library())


@cache
def read(file: str) -> ReadScore:
    return read_score(sample_library() / file)


@cache
def analysis(file: str) -> Analysis:
    return analyse_score(read(file).score)


def findings(file: str) -> list[Any]:
    found = analysis(file)
    whole = [each for each in (found.key, found.inferred_metre) if each is not None]
    regions = [*found.key_regions, *found.scale_regions, *found.tonic_rivals]
    return [*whole, *regions, *found.cadences, *found.form.sections, *found.accompaniment]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[NotebookStore]:
    opened = open_store(tmp_path / "notebook.postil")
    yield opened
    opened.close()


def written(store: NotebookStore, sample: SamplePiece) -> int:
    brought = keep_score(store, read(sample.file), source_name=sample.file, now=NOW)
    score = read(sample.file).score
    write_down(store, sample, piece_id=brought.piece.id, score=score, now=NOW, zone="UTC")
    return brought.piece.id


def anchors(store: NotebookStore, sample: SamplePiece, kind: AnchorKind) -> list[Anchor]:
    remarks = remarks_of(store, written(store, sample))
    return [remark.anchor for remark in remarks if remark.anchor.kind is kind]


def by_file(sample: SamplePiece) -> str:
    return sample.file


every_piece = pytest.mark.parametrize("sample", SAMPLES, ids=by_file)


def test_every_piece_of_the_library_is_in_it_once() -> None:
    files = sorted(path.name for path in sample_library().glob("*.musicxml"))
    assert sorted(sample.file for sample in SAMPLES) == files
    assert SAMPLES[0].file == "barcarolle.musicxml"


def test_it_has_remarks_of_every_kind_on_everything_that_one_can_hang_on(
    store: NotebookStore,
) -> None:
    remarks = [r for sample in SAMPLES for r in remarks_of(store, written(store, sample))]
    assert {remark.kind for remark in remarks} == set(RemarkKind)
    assert {remark.anchor.kind for remark in remarks} == set(AnchorKind)
    readings = [r.body for r in remarks if r.kind is RemarkKind.READING]
    assert {body.partition(".")[0] for body in readings} == {"Settled", "Trying"}
    questions = [r.body for r in remarks if r.kind is RemarkKind.QUESTION]
    assert all(body.startswith("Open. ") for body in questions)


def test_it_has_confirmed_and_overruled_findings(store: NotebookStore) -> None:
    said = [j for sample in SAMPLES for j in judgements_of(store, written(store, sample))]
    assert {judgement.ruling for judgement in said} == set(Ruling)
    assert any(judgement.own_value is not None and judgement.reason for judgement in said)


@every_piece
def test_every_remark_has_a_place_in_its_score(store: NotebookStore, sample: SamplePiece) -> None:
    remarks = remarks_of(store, written(store, sample))
    assert len(remarks) == len(sample.remarks)
    for remark in remarks:
        anchor = remark.anchor
        assert anchor.passage is not None or anchor.kind in (AnchorKind.PIECE, AnchorKind.FINDING)
        if anchor.passage is not None:
            assert anchor.score_sha256 == read(sample.file).score.sha256
            assert anchor.fingerprint


@every_piece
def test_remarks_on_sections_name_todays_sections(
    store: NotebookStore, sample: SamplePiece
) -> None:
    sections = [finding.value for finding in analysis(sample.file).form.sections]
    for anchor in anchors(store, sample, AnchorKind.SECTION):
        assert anchor.section_index is not None
        section = sections[anchor.section_index]
        assert (section.label, section.passage) == (anchor.section_label, anchor.passage)


@every_piece
def test_remarks_on_statements_name_todays_statements(
    store: NotebookStore, sample: SamplePiece
) -> None:
    statements = {
        (each.section, each.number): each
        for each in analysis(sample.file).statements
        if each.count > 1
    }
    for anchor in anchors(store, sample, AnchorKind.STATEMENT):
        assert anchor.section_index is not None
        assert anchor.statement_number is not None
        statement = statements[anchor.section_index, anchor.statement_number]
        assert statement.name == statement_name(anchor)
        assert anchor.passage is not None
        assert begins_in(statement, anchor.passage)


@every_piece
def test_remarks_on_findings_name_todays_findings(
    store: NotebookStore, sample: SamplePiece
) -> None:
    known = {(finding.kind, finding.passage) for finding in findings(sample.file)}
    for anchor in anchors(store, sample, AnchorKind.FINDING):
        assert (anchor.finding_kind, anchor.passage) in known


@every_piece
def test_every_judgement_matches_a_finding_of_today(
    store: NotebookStore, sample: SamplePiece
) -> None:
    said = judgements_of(store, written(store, sample))
    assert len(said) == len(sample.judgements)
    score = read(sample.file).score
    judged = [
        each for each in apply_judgements(findings(sample.file), said, score) if each.judgement
    ]
    assert len(judged) == len(said)
    for each in judged:
        assert each.finding is not None, f"{each.judgement} stands alone"
        assert each.judgement is not None
        assert each.finding.passage == each.judgement.passage
        assert not each.has_changed, f"{each.judgement.value.text} is {each.computed_text} today"


@every_piece
def test_a_confirmed_key_or_scale_is_told_as_it_was_found(
    store: NotebookStore, sample: SamplePiece
) -> None:
    """Its value can be read again, so that no gap opens in the line of keys."""
    said = judgements_of(store, written(store, sample))
    found = analysis(sample.file)
    told = as_told(found, said, read(sample.file).score)
    for judgement in said:
        if judgement.ruling is Ruling.CONFIRMED and judgement.finding_kind.endswith("region"):
            values = [
                r.value for r in (*told.key_regions, *told.scale_regions) if r.confidence == 1
            ]
            assert judgement.value.text in {value.name for value in values}


def test_earlier_wordings_are_kept_the_last_first(store: NotebookStore) -> None:
    [sample] = [each for each in SAMPLES if each.file == "barcarolle.musicxml"]
    reworded: list[Remark] = [
        remark
        for remark in remarks_of(store, written(store, sample))
        if versions_of(store, remark.id)
    ]
    [remark] = reworded
    bodies = [version.body for version in versions_of(store, remark.id)]
    assert [body.partition(".")[0] for body in (remark.body, *bodies)] == [
        "Settled",
        "Trying",
        "Trying",
    ]
    assert remark.created_at < versions_of(store, remark.id)[0].written_at < remark.edited_at


def test_days_count_back_from_now(store: NotebookStore) -> None:
    sample = SAMPLES[0]
    remarks = remarks_of(store, written(store, sample))
    ages = {(NOW - remark.edited_at) // timedelta(days=1) for remark in remarks}
    assert ages == {each.days_ago for each in sample.remarks}


@pytest.mark.parametrize(
    ("place", "error", "match"),
    [
        ({"measure": 99}, ValueError, "measure 99 is not in 'Barcarolle'"),
        ({"direction": "presto"}, ValueError, "direction 'presto' is not in 'Barcarolle'"),
        ({"measure": 1, "note": "D9"}, ValueError, "note 'D9' is not in measure 1"),
        ({"measure": 1, "quarter": "4"}, InvalidEntryError, "lasts 3 quarter notes"),
    ],
)
def test_a_place_that_the_score_does_not_have_is_refused(
    store: NotebookStore, place: dict[str, Any], error: type[Exception], match: str
) -> None:
    remark = SampleRemark(kind=RemarkKind.QUESTION, days_ago=1, body="Where?", **place)
    with pytest.raises(error, match=match):
        written(store, replace(SAMPLES[0], remarks=(remark,), judgements=()))


def test_a_key_that_means_nothing_is_refused(tmp_path: Path) -> None:
    text = '[[piece]]\nfile = "x"\nopened_days_ago = 1\n[[piece.remark]]\n'
    text += 'kind = "question"\ndays_ago = 1\nbody = "?"\nbar = 3\n'
    (tmp_path / "notebook.toml").write_text(text, encoding="utf-8")
    with pytest.raises(TypeError, match="bar"):
        read_sample(tmp_path)
