"""Rows to values and back: two small functions a table."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from sqlalchemy import Row

from core.notebook.values import (
    Anchor,
    AnchorKind,
    Edition,
    JudgedValue,
    Judgement,
    Piece,
    Remark,
    RemarkKind,
    RemarkVersion,
    Ruling,
)
from core.score.places import Passage, Place
from core.storage.access import Columns


def with_id(value: Piece | Edition | Remark | Judgement, columns: Columns) -> Columns:
    """Columns of a row to insert: with the id of what has one already."""
    return {"id": value.id, **columns} if value.id else columns


def piece_columns(piece: Piece) -> Columns:
    """Columns of ``pieces``, without the id."""
    return {
        "title": piece.title,
        "composer": piece.composer,
        "created_at": piece.created_at,
        "opened_at": piece.opened_at,
    }


def piece_of(row: Row[Any]) -> Piece:
    """A row of ``pieces``."""
    return Piece(
        id=row.id,
        title=row.title,
        composer=row.composer,
        created_at=row.created_at,
        opened_at=row.opened_at,
    )


def edition_columns(edition: Edition) -> Columns:
    """Columns of ``editions``, without the id."""
    return {
        "piece_id": edition.piece_id,
        "score_sha256": edition.score_sha256,
        "canonical_version": edition.canonical_version,
        "source_name": edition.source_name,
        "imported_at": edition.imported_at,
    }


def edition_of(row: Row[Any]) -> Edition:
    """A row of ``editions``."""
    return Edition(
        id=row.id,
        piece_id=row.piece_id,
        score_sha256=row.score_sha256,
        canonical_version=row.canonical_version,
        source_name=row.source_name,
        imported_at=row.imported_at,
    )


def remark_columns(remark: Remark) -> Columns:
    """Columns of ``remarks``, without the id."""
    return {
        "piece_id": remark.piece_id,
        "kind": remark.kind and remark.kind.value,
        "body": remark.body,
        "created_at": remark.created_at,
        "edited_at": remark.edited_at,
        "zone": remark.zone,
    }


def remark_of(row: Row[Any]) -> Remark:
    """A row of ``remarks`` joined with its anchor's."""
    return Remark(
        id=row.id,
        piece_id=row.piece_id,
        kind=_kind_of(row.kind),
        body=row.body,
        anchor=anchor_of(row),
        created_at=row.created_at,
        edited_at=row.edited_at,
        zone=row.zone,
    )


def version_columns(version: RemarkVersion) -> Columns:
    """Columns of ``remark_versions``."""
    return {
        "remark_id": version.remark_id,
        "kind": version.kind and version.kind.value,
        "body": version.body,
        "written_at": version.written_at,
    }


def version_of(row: Row[Any]) -> RemarkVersion:
    """A row of ``remark_versions``."""
    return RemarkVersion(
        remark_id=row.remark_id,
        kind=_kind_of(row.kind),
        body=row.body,
        written_at=row.written_at,
    )


def anchor_columns(remark: Remark) -> Columns:
    """Columns of the remark's row in ``anchors``."""
    anchor = remark.anchor
    return {
        "remark_id": remark.id,
        "kind": anchor.kind.value,
        "score_sha256": anchor.score_sha256,
        **_passage_columns(anchor.passage),
        "element_id": anchor.element_id,
        "fingerprint": anchor.fingerprint,
        "section_label": anchor.section_label,
        "section_index": anchor.section_index,
        "statement_number": anchor.statement_number,
        "finding_kind": anchor.finding_kind,
    }


def anchor_of(row: Row[Any]) -> Anchor:
    """A row with the columns of ``anchors``, its kind as ``anchor_kind``."""
    return Anchor(
        kind=AnchorKind(row.anchor_kind),
        score_sha256=row.score_sha256,
        passage=_passage_of(row),
        element_id=row.element_id,
        fingerprint=row.fingerprint,
        section_label=row.section_label,
        section_index=row.section_index,
        statement_number=row.statement_number,
        finding_kind=row.finding_kind,
    )


def judgement_columns(judgement: Judgement) -> Columns:
    """Columns of ``judgements``, without the id."""
    own = judgement.own_value
    return {
        "piece_id": judgement.piece_id,
        "finding_kind": judgement.finding_kind,
        "score_sha256": judgement.score_sha256,
        **_passage_columns(judgement.passage),
        "ruling": judgement.ruling.value,
        "value_text": judgement.value.text,
        "value_data": judgement.value.data,
        "own_text": own and own.text,
        "own_data": own and own.data,
        "reason": judgement.reason,
        "created_at": judgement.created_at,
        "edited_at": judgement.edited_at,
        "zone": judgement.zone,
    }


def judgement_of(row: Row[Any]) -> Judgement:
    """A row of ``judgements``."""
    has_own = row.own_text is not None
    return Judgement(
        id=row.id,
        piece_id=row.piece_id,
        finding_kind=row.finding_kind,
        score_sha256=row.score_sha256,
        passage=_passage_of(row),
        ruling=Ruling(row.ruling),
        value=JudgedValue(text=row.value_text, data=row.value_data),
        own_value=JudgedValue(text=row.own_text, data=row.own_data or "") if has_own else None,
        reason=row.reason,
        created_at=row.created_at,
        edited_at=row.edited_at,
        zone=row.zone,
    )


def _kind_of(name: str | None) -> RemarkKind | None:
    return None if name is None else RemarkKind(name)


def _passage_columns(passage: Passage | None) -> Columns:
    return {
        **_place_columns("start", passage.start if passage else None),
        **_place_columns("end", passage.end if passage else None),
    }


def _passage_of(row: Row[Any]) -> Passage | None:
    start, end = _place_of(row, "start"), _place_of(row, "end")
    return Passage(start=start, end=end) if start and end else None


def _place_columns(prefix: str, place: Place | None) -> Columns:
    return {
        f"{prefix}_measure_index": place and place.measure_index,
        f"{prefix}_offset_num": place and place.offset_quarters.numerator,
        f"{prefix}_offset_den": place and place.offset_quarters.denominator,
        f"{prefix}_staff": place and place.staff,
        f"{prefix}_voice": place and place.voice,
        f"{prefix}_note_id": place and place.note_id,
    }


def _place_of(row: Row[Any], prefix: str) -> Place | None:
    columns = row._mapping
    index = columns[f"{prefix}_measure_index"]
    if index is None:
        return None
    return Place(
        measure_index=index,
        offset_quarters=Fraction(columns[f"{prefix}_offset_num"], columns[f"{prefix}_offset_den"]),
        staff=columns[f"{prefix}_staff"],
        voice=columns[f"{prefix}_voice"],
        note_id=columns[f"{prefix}_note_id"],
    )
