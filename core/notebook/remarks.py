"""Remarks: what a person writes in the margin of a piece.

Conventions
-----------
A body is CommonMark, kept as typed, in NFC. ``edited_at`` moves when the words change, not when
a remark is moved or gets another kind. Each function is one transaction; what takes something
away returns the whole of it, and its counterpart puts exactly that back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from core.errors import ConflictError, InvalidEntryError
from core.notebook.anchors import does_speak_of, is_at_statement
from core.notebook.ports import NotebookStore, RemarkRepository
from core.notebook.text import kept_text
from core.notebook.values import Anchor, AnchorKind, Remark, RemarkKind, RemarkVersion
from core.score.places import Passage
from core.score.score import Score
from core.score.statements import Statement

BODY = "remark"


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovedRemark:
    """A remark with its earlier wordings, the one kept last first."""

    remark: Remark
    versions: tuple[RemarkVersion, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RewordedRemark:
    """A remark before and after its words changed.

    Two that follow one another are undone as one by ``earlier`` of the first and ``remark`` of
    the second.
    """

    earlier: RemovedRemark
    remark: Remark


def write_remark(
    store: NotebookStore,
    *,
    piece_id: int,
    body: str,
    kind: RemarkKind | None,
    anchor: Anchor,
    now: datetime,
    zone: str,
) -> Remark:
    """Keep a new remark.

    Parameters
    ----------
    store : NotebookStore
    piece_id : int
    body : str
        CommonMark.
    kind : RemarkKind or None
    anchor : Anchor
        Of ``anchors.anchor_for``.
    now : datetime
        Aware.
    zone : str
        IANA name of the zone of the person's clock ("Europe/Vienna").

    Raises
    ------
    InvalidEntryError
        The body is empty.
    MissingError
        There is no such piece.
    StorageError
        It can't be kept.
    """
    remark = Remark(
        piece_id=piece_id,
        kind=kind,
        body=_kept_body(body),
        anchor=anchor,
        created_at=now,
        edited_at=now,
        zone=zone,
    )
    with store.unit_of_work() as work:
        written = work.remarks.add(remark)
        work.commit()
    return written


def reword_remark(
    store: NotebookStore, remark_id: int, body: str, now: datetime, *, begins_sitting: bool
) -> RewordedRemark:
    """Give a remark other words; the same words change nothing.

    Parameters
    ----------
    store : NotebookStore
    remark_id : int
    body : str
        CommonMark.
    now : datetime
        Aware.
    begins_sitting : bool
        Whether this is the first change of a sitting: then the earlier wording is kept as a
        version. Later changes of the same sitting replace one another.

    Raises
    ------
    InvalidEntryError
        The body is empty; such a remark is removed instead.
    MissingError
        There is no such remark.
    StorageError
        It can't be kept.
    """
    words = _kept_body(body)
    with store.unit_of_work() as work:
        earlier = _whole(work.remarks, remark_id)
        if earlier.remark.body == words:
            return RewordedRemark(earlier=earlier, remark=earlier.remark)
        if begins_sitting:
            work.remarks.add_version(_version_of(earlier.remark))
        reworded = replace(earlier.remark, body=words, edited_at=now)
        work.remarks.replace(reworded)
        work.commit()
    return RewordedRemark(earlier=earlier, remark=reworded)


def restore_wording(store: NotebookStore, reworded: RewordedRemark) -> Remark:
    """Put a remark back exactly as it was before it was reworded, versions included.

    Raises
    ------
    ConflictError
        The remark isn't as rewording left it: somebody changed it meanwhile.
    MissingError
        There is no such remark any more.
    StorageError
        It can't be kept.
    """
    earlier = reworded.earlier
    with store.unit_of_work() as work:
        if work.remarks.get(earlier.remark.id) != reworded.remark:
            raise ConflictError("remark", earlier.remark.id)
        work.remarks.replace(earlier.remark)
        work.remarks.forget_versions(earlier.remark.id)
        _add_versions(work.remarks, earlier)
        work.commit()
    return earlier.remark


def change_kind(store: NotebookStore, remark_id: int, kind: RemarkKind | None) -> Remark:
    """Make a remark an observation, a question ..., or nothing in particular.

    Undone by the earlier kind. Raises MissingError, StorageError.
    """
    with store.unit_of_work() as work:
        changed = replace(work.remarks.get(remark_id), kind=kind)
        work.remarks.replace(changed)
        work.commit()
    return changed


def move_remark(store: NotebookStore, remark_id: int, anchor: Anchor) -> Remark:
    """Hang a remark elsewhere in its piece.

    Undone by the earlier anchor. Raises MissingError, StorageError.
    """
    with store.unit_of_work() as work:
        moved = replace(work.remarks.get(remark_id), anchor=anchor)
        work.remarks.replace(moved)
        work.commit()
    return moved


def remove_remark(store: NotebookStore, remark_id: int) -> RemovedRemark:
    """Take a remark away; give the whole of it. Raises MissingError, StorageError."""
    with store.unit_of_work() as work:
        removed = _whole(work.remarks, remark_id)
        work.remarks.remove(remark_id)
        work.commit()
    return removed


def restore_remark(store: NotebookStore, removed: RemovedRemark) -> Remark:
    """Bring a removed remark back under its old id.

    Raises
    ------
    ConflictError
        It is there already.
    MissingError
        Its piece is gone.
    StorageError
        It can't be kept.
    """
    with store.unit_of_work() as work:
        work.remarks.add_removed((removed.remark,), removed.versions)
        work.commit()
    return removed.remark


def remarks_of(store: NotebookStore, piece_id: int) -> tuple[Remark, ...]:
    """All remarks of a piece, the newest first."""
    with store.unit_of_work() as work:
        return work.remarks.of_piece(piece_id)


def versions_of(store: NotebookStore, remark_id: int) -> tuple[RemarkVersion, ...]:
    """A remark's earlier wordings, the one kept last first."""
    with store.unit_of_work() as work:
        return work.remarks.versions(remark_id)


def remarks_here(
    remarks: Iterable[Remark],
    passage: Passage | None,
    score: Score,
    *,
    statement: Statement | None = None,
    statements: Sequence[Statement] = (),
) -> tuple[Remark, ...]:
    """The remarks that speak of the current place, the newest first.

    Parameters
    ----------
    remarks : iterable of Remark
        Of one piece.
    passage : Passage or None
        What is selected; None for nothing, or for all of ``statement``.
    score : Score
        What the passage counts in; a remark that hangs on another edition isn't at a place here.
    statement : Statement or None
        Which sounding is meant: then those on another sounding are left out. None for none in
        particular: then they are all there, and ``anchors.statement_name`` says which they mean.
    statements : sequence of Statement
        All of the playing order, to tell soundings of sections inside one another.

    Returns
    -------
    tuple of Remark
        With a passage, those whose own one has time in common with it, on whatever staff.
        Without one, all: those on the whole piece first, then the others.
    """
    listed = sorted(remarks, key=lambda remark: (remark.created_at, remark.id), reverse=True)
    if statement is not None:
        passage = statement.passage if passage is None else passage
        listed = [r for r in listed if _does_hold_at(r.anchor, statement, statements)]
    if passage is not None:
        return tuple(r for r in listed if does_speak_of(r.anchor, passage, score))
    return tuple(sorted(listed, key=lambda remark: remark.anchor.passage is not None))


def _does_hold_at(anchor: Anchor, statement: Statement, statements: Sequence[Statement]) -> bool:
    is_of_one = anchor.kind is AnchorKind.STATEMENT
    return not is_of_one or is_at_statement(anchor, statement, statements)


def _whole(remarks: RemarkRepository, remark_id: int) -> RemovedRemark:
    return RemovedRemark(remark=remarks.get(remark_id), versions=remarks.versions(remark_id))


def _add_versions(remarks: RemarkRepository, whole: RemovedRemark) -> None:
    for version in reversed(whole.versions):
        remarks.add_version(version)


def _version_of(remark: Remark) -> RemarkVersion:
    return RemarkVersion(
        remark_id=remark.id, kind=remark.kind, body=remark.body, written_at=remark.edited_at
    )


def _kept_body(body: str) -> str:
    words = kept_text(BODY, body)
    if not words.strip():
        raise InvalidEntryError(BODY, body, "write something; to take a remark away, remove it")
    return words
