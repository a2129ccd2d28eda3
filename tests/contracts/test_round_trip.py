"""Any remark that can be written comes back from every store as it was."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.notebook.ports import NotebookStore
from core.notebook.values import (
    Anchor,
    AnchorKind,
    JudgedValue,
    Judgement,
    Piece,
    Remark,
    RemarkKind,
    RemarkVersion,
    Ruling,
)
from core.score.places import Passage, Place
from tests.contracts.stores import KINDS, opened

# What the notebook's own functions let through: no NUL, no halves of surrogate pairs.
TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=60)
MOMENTS = st.datetimes(timezones=st.just(UTC))
FRACTIONS = st.builds(
    Fraction, st.integers(0, 2**40), st.integers(min_value=1, max_value=2**31 - 1)
)
PLACES = st.builds(
    Place,
    measure_index=st.integers(0, 2**31 - 1),
    offset_quarters=FRACTIONS,
    staff=st.none() | st.integers(1, 99),
    voice=st.none() | TEXTS,
    note_id=st.none() | TEXTS,
)
PASSAGES = st.tuples(PLACES, PLACES).map(
    lambda ends: Passage(
        start=min(ends, key=lambda place: place.moment),
        end=max(ends, key=lambda place: place.moment),
    )
)
ANCHORS = st.builds(
    Anchor,
    kind=st.sampled_from(AnchorKind),
    score_sha256=st.none() | st.text("0123456789abcdef", min_size=64, max_size=64),
    passage=st.none() | PASSAGES,
    element_id=st.none() | TEXTS,
    fingerprint=TEXTS,
    section_label=st.none() | TEXTS,
    section_index=st.none() | st.integers(0, 2**31 - 1),
    statement_number=st.none() | st.integers(1, 2**31 - 1),
    finding_kind=st.none() | TEXTS,
)
JUDGED_VALUES = st.builds(JudgedValue, text=TEXTS, data=TEXTS)
JUDGEMENTS = st.builds(
    Judgement,
    piece_id=st.just(1),
    finding_kind=TEXTS,
    score_sha256=st.none() | st.text("0123456789abcdef", min_size=64, max_size=64),
    passage=st.none() | PASSAGES,
    ruling=st.sampled_from(Ruling),
    value=JUDGED_VALUES,
    own_value=st.none() | JUDGED_VALUES,
    reason=TEXTS,
    created_at=MOMENTS,
    edited_at=MOMENTS,
    zone=st.sampled_from(["UTC", "Europe/Vienna"]),
)
KINDS_OF_REMARK = st.none() | st.sampled_from(RemarkKind)
REMARKS = st.builds(
    Remark,
    piece_id=st.just(1),
    kind=KINDS_OF_REMARK,
    body=TEXTS,
    anchor=ANCHORS,
    created_at=MOMENTS,
    edited_at=MOMENTS,
    zone=st.sampled_from(["UTC", "Europe/Vienna", "America/Argentina/Buenos_Aires"]),
)
VERSIONS = st.lists(
    st.builds(
        RemarkVersion,
        remark_id=st.just(1),
        kind=KINDS_OF_REMARK,
        body=TEXTS,
        written_at=MOMENTS,
    ),
    max_size=3,
)


@contextmanager
def store_with_a_piece(kind: str) -> Iterator[NotebookStore]:
    """Not a fixture, for each store serves all the examples of a test."""
    with (
        tempfile.TemporaryDirectory() as folder,
        opened(kind, Path(folder)) as store,
    ):
        with store.unit_of_work() as work:
            work.pieces.add(Piece(id=1, title="", composer="", created_at=datetime.now(UTC)))
            work.commit()
        yield store


@pytest.mark.parametrize("kind", KINDS)
def test_a_remark_and_its_versions_come_back(kind: str) -> None:
    with store_with_a_piece(kind) as store:

        @settings(max_examples=60, deadline=None)
        @given(REMARKS, VERSIONS)
        def comes_back(remark: Remark, versions: list[RemarkVersion]) -> None:
            with store.unit_of_work() as work:
                stored = work.remarks.add(remark)
                own = [_of(stored, version) for version in versions]
                for version in own:
                    work.remarks.add_version(version)
                work.commit()
            with store.unit_of_work() as work:
                found = work.remarks.get(stored.id)
                assert found == stored
                assert _of(found, remark) == remark
                assert work.remarks.versions(stored.id) == tuple(reversed(own))
                work.remarks.remove(stored.id)
                assert work.remarks.add(stored) == stored

        comes_back()


@pytest.mark.parametrize("kind", KINDS)
def test_a_judgement_comes_back(kind: str) -> None:
    with store_with_a_piece(kind) as store:

        @settings(max_examples=60, deadline=None)
        @given(JUDGEMENTS)
        def comes_back(judgement: Judgement) -> None:
            with store.unit_of_work() as work:
                stored = work.judgements.add(judgement)
                work.commit()
            with store.unit_of_work() as work:
                assert work.judgements.get(stored.id) == stored
                assert replace(stored, id=0) == judgement
                work.judgements.remove(stored.id)
                assert work.judgements.add(stored) == stored

        comes_back()


def _of(stored: Remark, value: Remark | RemarkVersion) -> Remark | RemarkVersion:
    if isinstance(value, Remark):
        return replace(stored, id=0)
    return replace(value, remark_id=stored.id)
