"""Pieces and their editions: bringing a score in, the shelf, taking a piece away.

Conventions: each function is one transaction; what takes something away returns the whole of
it, and its counterpart puts exactly that back.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import PurePath
from typing import TYPE_CHECKING

from core.errors import InvalidEntryError, MissingError
from core.notebook.ports import NotebookStore, UnitOfWork
from core.notebook.text import kept_text, mended_text
from core.notebook.values import Edition, Judgement, Piece, Remark, RemarkVersion

if TYPE_CHECKING:
    from core.score.reading import ReadScore


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtIn:
    """A score that is in the notebook now.

    Parameters
    ----------
    piece : Piece
    edition : Edition
    was_there : bool
        Whether this very score was in the notebook already; then nothing was changed.
    """

    piece: Piece
    edition: Edition
    was_there: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreToKeep:
    """What a notebook keeps of a score: no note table, so that it is cheap to hand over."""

    sha256: str
    title: str
    composer: str
    canonical_version: int
    canonical: bytes = field(repr=False)
    original: bytes = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovedEdition:
    """An edition with its bytes."""

    edition: Edition
    original: bytes
    canonical: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovedPiece:
    """A piece with all that hung on it; ``versions`` are those of all its remarks.

    Not its analyses: they are computed again.
    """

    piece: Piece
    editions: tuple[RemovedEdition, ...]
    remarks: tuple[Remark, ...]
    versions: tuple[RemarkVersion, ...]
    judgements: tuple[Judgement, ...] = ()


def keep_score(
    store: NotebookStore, read: ReadScore, *, source_name: str, now: datetime
) -> BroughtIn:
    """Keep a score that was read; the same score twice is the piece that is there.

    Parameters
    ----------
    store : NotebookStore
    read : ReadScore
    source_name : str
        Name of the file it was read from. Without its ending it is the piece's title where the
        score has none.
    now : datetime
        Aware.

    Raises
    ------
    StorageError
        It can't be kept.
    """
    return keep(store, to_keep(read), source_name=source_name, now=now)


def to_keep(read: ReadScore) -> ScoreToKeep:
    """What is kept of a score that was read."""
    score = read.score
    return ScoreToKeep(
        sha256=score.sha256,
        title=score.title,
        composer=score.composer,
        canonical_version=score.canonical_version,
        canonical=score.canonical,
        original=read.original,
    )


def keep(store: NotebookStore, score: ScoreToKeep, *, source_name: str, now: datetime) -> BroughtIn:
    """As ``keep_score``, of a score that was read elsewhere. Raises StorageError."""
    with store.unit_of_work() as work:
        known = work.editions.by_hash(score.sha256)
        if known is not None:
            piece = work.pieces.get(known.piece_id)
            return BroughtIn(piece=piece, edition=known, was_there=True)
        file_name = mended_text(PurePath(source_name).name)
        piece = work.pieces.add(_new_piece(score, file_name, now))
        edition = Edition(
            piece_id=piece.id,
            score_sha256=score.sha256,
            canonical_version=score.canonical_version,
            source_name=file_name,
            imported_at=now,
        )
        edition = work.editions.add(edition, score.original, score.canonical)
        work.commit()
    return BroughtIn(piece=piece, edition=edition, was_there=False)


def find_score(store: NotebookStore, sha256: str) -> BroughtIn | None:
    """The piece and the edition of a score that is in the notebook. Raises StorageError."""
    with store.unit_of_work() as work:
        known = work.editions.by_hash(sha256)
        if known is None:
            return None
        return BroughtIn(piece=work.pieces.get(known.piece_id), edition=known, was_there=True)


def canonical_of(store: NotebookStore, piece_id: int) -> tuple[Edition, bytes]:
    """The newest edition of a piece and its canonical MusicXML.

    Raises
    ------
    MissingError
        There is no such piece, or it has no edition.
    """
    with store.unit_of_work() as work:
        editions = work.editions.of_piece(piece_id)
        if not editions:
            work.pieces.get(piece_id)
            raise MissingError("edition of piece", piece_id)
        return editions[0], work.editions.canonical(editions[0].id)


def mark_opened(store: NotebookStore, piece_id: int, now: datetime) -> Piece:
    """Note when a piece was opened last; in a notebook that can only be read, nothing.

    Raises MissingError, StorageError.
    """
    if store.is_read_only:
        with store.unit_of_work() as work:
            return work.pieces.get(piece_id)
    return _changed(store, piece_id, opened_at=now)


def rename_piece(store: NotebookStore, piece_id: int, title: str) -> Piece:
    """Give a piece another title. Undone by the earlier one.

    Raises
    ------
    InvalidEntryError
        The title is empty.
    MissingError
        There is no such piece.
    StorageError
        It can't be kept.
    """
    name = kept_text("title", title).strip()
    if not name:
        raise InvalidEntryError("title", title, "a piece needs a title to be found by")
    return _changed(store, piece_id, title=name)


def remove_piece(store: NotebookStore, piece_id: int) -> RemovedPiece:
    """Take a piece off the shelf; give the whole of it. Raises MissingError, StorageError."""
    with store.unit_of_work() as work:
        removed = RemovedPiece(
            piece=work.pieces.get(piece_id),
            editions=_whole_editions(work, piece_id),
            remarks=work.remarks.of_piece(piece_id),
            versions=work.remarks.versions_of_piece(piece_id),
            judgements=work.judgements.of_piece(piece_id),
        )
        work.pieces.remove(piece_id)
        work.commit()
    return removed


def restore_piece(store: NotebookStore, removed: RemovedPiece) -> Piece:
    """Bring a removed piece back with all that hung on it, under the old ids.

    Raises
    ------
    ConflictError
        It is there already, or its score was brought in again meanwhile.
    StorageError
        It can't be kept.
    """
    with store.unit_of_work() as work:
        work.pieces.add(removed.piece)
        for whole in removed.editions:
            work.editions.add(whole.edition, whole.original, whole.canonical)
        work.remarks.add_removed(removed.remarks, removed.versions)
        for judgement in removed.judgements:
            work.judgements.add(judgement)
        work.commit()
    return removed.piece


def shelf(store: NotebookStore) -> tuple[Piece, ...]:
    """Every piece, the one opened last first, those never opened after them by title."""
    with store.unit_of_work() as work:
        return work.pieces.all()


def _new_piece(score: ScoreToKeep, file_name: str, now: datetime) -> Piece:
    title = mended_text(score.title).strip() or PurePath(file_name).stem
    return Piece(title=title, composer=mended_text(score.composer).strip(), created_at=now)


def _changed(store: NotebookStore, piece_id: int, **fields: object) -> Piece:
    with store.unit_of_work() as work:
        changed: Piece = replace(work.pieces.get(piece_id), **fields)  # type: ignore[arg-type]
        work.pieces.replace(changed)
        work.commit()
    return changed


def _whole_editions(work: UnitOfWork, piece_id: int) -> tuple[RemovedEdition, ...]:
    return tuple(
        RemovedEdition(
            edition=edition,
            original=work.editions.original(edition.id),
            canonical=work.editions.canonical(edition.id),
        )
        for edition in work.editions.of_piece(piece_id)
    )
