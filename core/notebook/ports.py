"""What the notebook asks of a store; ``core.storage`` fulfils it, and fakes do in tests.

A store hands out one ``UnitOfWork`` at a time. Everything done in one is one transaction:
kept when ``commit`` returns, gone when the block is left without it.

    with store.unit_of_work() as work:
        work.remarks.add(remark)
        work.commit()
"""

from __future__ import annotations

from collections.abc import Sequence
from types import TracebackType
from typing import Protocol, Self

from core.notebook.values import (
    AnalysisKey,
    Edition,
    Judgement,
    Piece,
    Remark,
    RemarkVersion,
)


class PieceRepository(Protocol):
    """Pieces by id."""

    def add(self, piece: Piece) -> Piece:
        """Store a new piece (id 0), or a removed one under its old id; give it with its id.

        An id is never given twice. Raises ConflictError if the id is in use.
        """

    def get(self, piece_id: int) -> Piece:
        """The piece. Raises MissingError."""

    def all(self) -> tuple[Piece, ...]:
        """Every piece, the one opened last first, those never opened after them by title."""

    def replace(self, piece: Piece) -> None:
        """Write every field anew. Raises MissingError."""

    def remove(self, piece_id: int) -> None:
        """Remove the piece with all that hangs on it. Raises MissingError."""


class EditionRepository(Protocol):
    """Editions, with their bytes apart."""

    def add(self, edition: Edition, original: bytes, canonical: bytes) -> Edition:
        """Store both byte strings; give the edition with its id.

        Raises ConflictError if this score is there already, MissingError without its piece.
        """

    def of_piece(self, piece_id: int) -> tuple[Edition, ...]:
        """The piece's editions, the newest first."""

    def by_hash(self, score_sha256: str) -> Edition | None:
        """The edition of that score, if it is there."""

    def original(self, edition_id: int) -> bytes:
        """The bytes as they were brought in. Raises MissingError."""

    def canonical(self, edition_id: int) -> bytes:
        """The canonical MusicXML. Raises MissingError."""


class RemarkRepository(Protocol):
    """Remarks by id, with earlier wordings."""

    def add(self, remark: Remark) -> Remark:
        """Store a new remark (id 0), or a removed one under its old id; give it with its id.

        Raises ConflictError if the id is in use, MissingError without its piece.
        """

    def add_removed(self, remarks: Sequence[Remark], versions: Sequence[RemarkVersion]) -> None:
        """Store a piece's removed remarks under their old ids, all at once.

        ``versions`` are their earlier wordings, as ``versions_of_piece`` gave them. Raises
        ConflictError if an id is in use, MissingError without the piece.
        """

    def get(self, remark_id: int) -> Remark:
        """The remark. Raises MissingError."""

    def of_piece(self, piece_id: int) -> tuple[Remark, ...]:
        """All remarks of the piece, the newest first."""

    def replace(self, remark: Remark) -> None:
        """Write every field anew. Raises MissingError."""

    def remove(self, remark_id: int) -> None:
        """Remove it with its versions. Raises MissingError."""

    def add_version(self, version: RemarkVersion) -> None:
        """Keep an earlier wording. Raises MissingError without its remark."""

    def versions(self, remark_id: int) -> tuple[RemarkVersion, ...]:
        """Earlier wordings, the one kept last first."""

    def versions_of_piece(self, piece_id: int) -> tuple[RemarkVersion, ...]:
        """Earlier wordings of all remarks of the piece, the one kept last first."""

    def forget_versions(self, remark_id: int) -> None:
        """Drop the earlier wordings (to put back what an undone act had found)."""


class JudgementRepository(Protocol):
    """Judgements by id."""

    def add(self, judgement: Judgement) -> Judgement:
        """Store a new judgement (id 0), or a withdrawn one under its old id; give it with its id.

        Raises ConflictError if the id is in use, MissingError without its piece.
        """

    def get(self, judgement_id: int) -> Judgement:
        """The judgement. Raises MissingError."""

    def of_piece(self, piece_id: int) -> tuple[Judgement, ...]:
        """All judgements of the piece, the one edited last first."""

    def replace(self, judgement: Judgement) -> None:
        """Write every field anew. Raises MissingError."""

    def remove(self, judgement_id: int) -> None:
        """Remove it. Raises MissingError."""


class AnalysisRepository(Protocol):
    """Kept analyses, as bytes that only ``kept_analyses`` reads."""

    def get(self, key: AnalysisKey) -> bytes | None:
        """What is kept under the key; None for nothing."""

    def put(self, key: AnalysisKey, payload: bytes) -> None:
        """Keep it, in place of what is there, and drop what earlier versions have made.

        Raises MissingError without an edition of that score.
        """


class UnitOfWork(Protocol):
    """One transaction."""

    pieces: PieceRepository
    editions: EditionRepository
    remarks: RemarkRepository
    judgements: JudgementRepository
    analyses: AnalysisRepository

    def __enter__(self) -> Self: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...

    def commit(self) -> None:
        """Keep everything done so far. Raises StorageError (full or read-only disk ...)."""


class NotebookStore(Protocol):
    """A place where a notebook is kept."""

    @property
    def is_read_only(self) -> bool:
        """Whether another process holds the notebook for writing, or the disk is read-only."""

    def unit_of_work(self) -> UnitOfWork:
        """Begin a transaction."""

    def close(self) -> None:
        """Let the store go; safe to call twice."""
