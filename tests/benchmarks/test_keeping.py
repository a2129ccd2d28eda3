"""What a person waits for when a judgement is kept, and a piece with its analysis is opened.

Limits: a judgement from key to every view in 50 ms, so a small part of that for the notebook;
an analysis of 300 measures read again in 50 ms, off the window's thread.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from core.notebook.analyses import Analysis, analyse_score
from core.notebook.judged_findings import apply_judgements
from core.notebook.judgements import Judged, judge, judgements_of, take_back
from core.notebook.kept_analyses import keep, kept
from core.notebook.pieces import keep_score
from core.notebook.values import Ruling
from core.score.findings import Finding
from core.score.reading import ReadScore, read_bytes
from core.storage import SqlNotebookStore, open_store
from tests.benchmarks.long_score import repeated

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
TIMES = 13
LIMIT_READ_SECONDS = 0.05
LIMIT_JUDGED_SECONDS = 0.025


@cache
def read() -> ReadScore:
    return read_bytes(repeated(TIMES), name="long.musicxml")


@cache
def analysis() -> Analysis:
    return analyse_score(read().score)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqlNotebookStore]:
    one = open_store(tmp_path / "notebook.postil")
    keep_score(one, read(), source_name="long.musicxml", now=NOW)
    yield one
    one.close()


def test_a_kept_analysis_is_read(benchmark: Any, store: SqlNotebookStore) -> None:
    assert keep(store, analysis(), canonical_version=1)
    found = benchmark(lambda: kept(store, analysis().sha256, canonical_version=1))
    assert found == analysis()
    assert benchmark.stats.stats.median < LIMIT_READ_SECONDS


def test_a_judgement_is_kept_and_matched(benchmark: Any, store: SqlNotebookStore) -> None:
    form = analysis().form
    findings: list[Finding[Any]] = [*form.sections, *form.recurrences, *analysis().accompaniment]
    score, piece_id = read().score, 1
    for finding in findings[:50]:
        _say(store, finding)

    last: list[Judged] = []

    def undo() -> None:
        if last:
            take_back(store, last.pop())

    def judge_and_match() -> None:
        last.append(_say(store, findings[60]))
        apply_judgements(findings, judgements_of(store, piece_id), score)

    benchmark.pedantic(judge_and_match, setup=undo, rounds=50)
    assert len(judgements_of(store, piece_id)) == 51
    assert benchmark.stats.stats.median < LIMIT_JUDGED_SECONDS


def _say(store: SqlNotebookStore, finding: Finding[Any]) -> Judged:
    return judge(
        store,
        piece_id=1,
        finding=finding,
        score_sha256=read().score.sha256,
        ruling=Ruling.CONFIRMED,
        now=datetime.now(UTC),
    )
