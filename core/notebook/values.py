"""The values that a notebook keeps.

Conventions: ids are positive integers given by the store (0 before it is stored); moments are
aware ``datetime`` in UTC, with the IANA zone of the person's clock beside them where the local
day matters. Text is NFC, CommonMark.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from core.score.places import Passage


class RemarkKind(StrEnum):
    """What a remark is; a remark starts with none."""

    OBSERVATION = "observation"
    QUESTION = "question"
    READING = "reading"
    MEMORY_CUE = "memory cue"
    EXERCISE = "exercise"


class AnchorKind(StrEnum):
    """What a remark hangs on."""

    NOTE = "note"
    PLACE = "place"
    PASSAGE = "passage"
    DIRECTION = "direction"
    PIECE = "piece"


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """Where a remark hangs.

    Parameters
    ----------
    kind : AnchorKind
    score_sha256 : str or None
        The score whose measures ``passage`` counts; None for the whole piece.
    passage : Passage or None
        None for the whole piece; a point for a note, a place, a direction.
    element_id : str or None
        Id of the note or direction in the canonical score.
    fingerprint : str
        Pitches and onsets around the place, for carrying it to another edition.
    """

    kind: AnchorKind
    score_sha256: str | None = None
    passage: Passage | None = None
    element_id: str | None = None
    fingerprint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """Something a person wrote in the margin of a piece."""

    id: int = 0
    piece_id: int
    kind: RemarkKind | None
    body: str
    anchor: Anchor
    created_at: datetime
    edited_at: datetime
    zone: str = "UTC"


@dataclass(frozen=True, slots=True, kw_only=True)
class RemarkVersion:
    """An earlier wording of a remark; one a sitting."""

    remark_id: int
    kind: RemarkKind | None
    body: str
    written_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """A score of a piece: the original bytes untouched, the canonical form beside them.

    Parameters
    ----------
    source_name : str
        Name of the file that was brought in, without its folder.
    """

    id: int = 0
    piece_id: int
    score_sha256: str
    canonical_version: int
    source_name: str
    imported_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece on the shelf."""

    id: int = 0
    title: str
    composer: str
    created_at: datetime
    opened_at: datetime | None = None
