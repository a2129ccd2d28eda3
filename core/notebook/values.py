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
    SECTION = "section"
    STATEMENT = "statement"
    FINDING = "finding"
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
        None for the whole piece; a point for a note, a place, a direction; the written span of
        a section, what sounds of it for a statement.
    element_id : str or None
        Id of the note or direction in the canonical score.
    fingerprint : str
        Pitches and onsets around the place, for carrying it to another edition.
    section_label : str or None
        The letter of the section that is meant, or of the statement's.
    section_index : int or None
        Which of the score's sections it was when the remark was written.
    statement_number : int or None
        Which sounding of the section, from 1.
    finding_kind : str or None
        ``Finding.kind`` of the finding that is spoken of.
    """

    kind: AnchorKind
    score_sha256: str | None = None
    passage: Passage | None = None
    element_id: str | None = None
    fingerprint: str = ""
    section_label: str | None = None
    section_index: int | None = None
    statement_number: int | None = None
    finding_kind: str | None = None


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


class Ruling(StrEnum):
    """What a person says of a finding."""

    CONFIRMED = "confirmed"
    OVERRULED = "overruled"


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedValue:
    """What a finding says, kept apart from any analysis.

    Parameters
    ----------
    text : str
        As the command line writes it: "G minor", "broken chords", "A'".
    data : str
        The value itself as JSON text; empty where only words are known.
    """

    text: str
    data: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """A person's word on a finding, which survives a new analysis.

    Parameters
    ----------
    finding_kind : str
        ``Finding.kind``.
    score_sha256 : str or None
        The score whose measures ``passage`` counts; None for the whole piece.
    passage : Passage or None
        As the finding had it when it was judged; None for the whole piece.
    ruling : Ruling
    value : JudgedValue
        What was judged: the computed value.
    own_value : JudgedValue or None
        What the person says instead; None where the finding is confirmed, or only refused.
    reason : str
        In the person's words; may be empty.
    """

    id: int = 0
    piece_id: int
    finding_kind: str
    score_sha256: str | None = None
    passage: Passage | None = None
    ruling: Ruling
    value: JudgedValue
    own_value: JudgedValue | None = None
    reason: str = ""
    created_at: datetime
    edited_at: datetime
    zone: str = "UTC"


@dataclass(frozen=True, slots=True, kw_only=True)
class AnalysisKey:
    """What a kept analysis is known by; whatever changes its outcome is in it.

    Parameters
    ----------
    score_sha256 : str
    canonical_version, analyser_version : int
    settings : str
        Settings, and judgements that were put into the analysis, as text; empty for none.
    """

    score_sha256: str
    canonical_version: int
    analyser_version: int
    settings: str = ""
