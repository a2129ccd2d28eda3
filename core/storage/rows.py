"""Rows to values and back: two small functions a table."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from sqlalchemy import Row

from core.notebook.values import (
    Anchor,
    AnchorKind,
    Edition,
    Piece,
    Remark,
    RemarkKind,
    RemarkVersion,
)
from core.score.places import Passage, Place
from core.storage.access import Columns


def with_id(value: Piece | Edition | Remark, columns: Columns) -> Columns:
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
    passage = anchor.passage
    return {
        "remark_id": remark.id,
        "kind": anchor.kind.value,
        "score_sha256": anchor.score_sha256,
        **_place_columns("start", passage.start if passage else None),
        **_place_columns("end", passage.end if passage else None),
        "element_id": anchor.element_id,
        "fingerprint": anchor.fingerprint,
    }


def anchor_of(row: Row[Any]) -> Anchor:
    """A row with the columns of ``anchors``, its kind as ``anchor_kind``."""
    start, end = _place_of(row, "start"), _place_of(row, "end")
    return Anchor(
        kind=AnchorKind(row.anchor_kind),
        score_sha256=row.score_sha256,
        passage=Passage(start=start, end=end) if start and end else None,
        element_id=row.element_id,
        fingerprint=row.fingerprint,
    )


def _kind_of(name: str | None) -> RemarkKind | None:
    return None if name is None else RemarkKind(name)


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
