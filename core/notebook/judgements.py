"""Judgements: a person's word on what was computed.

Conventions
-----------
A judgement keeps where the finding was, what it said, and what the person says, and hangs on no
analysis; ``judged_findings`` brings the two together again. Each function is one transaction;
what takes something away returns the whole of it, and its counterpart puts exactly that back.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from core.errors import ConflictError, InvalidEntryError
from core.notebook.ports import NotebookStore, UnitOfWork
from core.notebook.text import kept_text
from core.notebook.typed_json import to_json
from core.notebook.values import JudgedValue, Judgement, Ruling
from core.score.findings import Finding

_SAYS = ("name", "label", "pattern", "signature", "figure", "text", "relation", "kind")
"""Fields and properties of computed values that say what they are as the command line does, the
first one that is there. A value of several fields has a ``name`` that holds them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A judgement, and what stood in its place before; None for nothing."""

    judgement: Judgement
    earlier: Judgement | None = None


def judge(
    store: NotebookStore,
    *,
    piece_id: int,
    finding: Finding[Any],
    score_sha256: str,
    ruling: Ruling,
    own_value: JudgedValue | None = None,
    reason: str = "",
    now: datetime,
    zone: str = "UTC",
    replaces: int | None = None,
) -> Judged:
    """Keep what a person says of a finding.

    Undone by ``take_back``, done again by ``judge_again``.

    Parameters
    ----------
    store : NotebookStore
    piece_id : int
    finding : Finding
        As computed.
    score_sha256 : str
        Of the score that the finding is of.
    ruling : Ruling
    own_value : JudgedValue or None
        What the person says instead; only where it is overruled.
    reason : str
        In the person's words.
    now : datetime
        Aware.
    zone : str
        IANA name of the zone of the person's clock.
    replaces : int or None
        Id of the judgement that the finding carries already (``JudgedFinding.judgement``).

    Raises
    ------
    InvalidEntryError
        The own value is empty, or a text can't be kept.
    MissingError
        There is no such piece, or no judgement to replace.
    StorageError
        It can't be kept.
    ValueError
        A confirmed finding with an own value.
    """
    judgement = Judgement(
        piece_id=piece_id,
        finding_kind=finding.kind,
        score_sha256=None if finding.passage is None else score_sha256,
        passage=finding.passage,
        ruling=ruling,
        value=judged_value(finding.value),
        own_value=_kept_value(ruling, own_value),
        reason=kept_text("reason", reason),
        created_at=now,
        edited_at=now,
        zone=zone,
    )
    with store.unit_of_work() as work:
        judged = _put(work, judgement, replaces)
        work.commit()
    return judged


def change_judgement(
    store: NotebookStore,
    judgement_id: int,
    *,
    ruling: Ruling,
    own_value: JudgedValue | None = None,
    reason: str = "",
    now: datetime,
) -> Judged:
    """Say something else, whether or not there is a finding it speaks of now.

    Undone by ``take_back``. Raises as ``judge``.
    """
    own = _kept_value(ruling, own_value)
    words = kept_text("reason", reason)
    with store.unit_of_work() as work:
        earlier = work.judgements.get(judgement_id)
        changed = replace(earlier, ruling=ruling, own_value=own, reason=words, edited_at=now)
        work.judgements.replace(changed)
        work.commit()
    return Judged(judgement=changed, earlier=earlier)


def take_back(store: NotebookStore, judged: Judged) -> Judgement | None:
    """Undo ``judge`` or ``change_judgement``; give what stands there now.

    Raises
    ------
    ConflictError
        The judgement isn't as it was left: somebody changed it meanwhile.
    MissingError
        It is gone.
    StorageError
        It can't be kept.
    """
    with store.unit_of_work() as work:
        _check_unchanged(work, judged.judgement)
        if judged.earlier is None:
            work.judgements.remove(judged.judgement.id)
        else:
            work.judgements.replace(judged.earlier)
        work.commit()
    return judged.earlier


def judge_again(store: NotebookStore, judged: Judged) -> Judgement:
    """Redo what ``take_back`` undid, under the same id and moments. Raises as it does."""
    with store.unit_of_work() as work:
        if judged.earlier is None:
            work.judgements.add(judged.judgement)
        else:
            _check_unchanged(work, judged.earlier)
            work.judgements.replace(judged.judgement)
        work.commit()
    return judged.judgement


def withdraw(store: NotebookStore, judgement_id: int) -> Judgement:
    """Take a judgement away; give the whole of it. Raises MissingError, StorageError."""
    with store.unit_of_work() as work:
        withdrawn = work.judgements.get(judgement_id)
        work.judgements.remove(judgement_id)
        work.commit()
    return withdrawn


def restore(store: NotebookStore, withdrawn: Judgement) -> Judgement:
    """Bring a withdrawn judgement back under its old id.

    Raises ConflictError (it is there), MissingError (its piece is gone), StorageError.
    """
    with store.unit_of_work() as work:
        work.judgements.add(withdrawn)
        work.commit()
    return withdrawn


def judgements_of(store: NotebookStore, piece_id: int) -> tuple[Judgement, ...]:
    """All judgements of a piece, the one edited last first."""
    with store.unit_of_work() as work:
        return work.judgements.of_piece(piece_id)


def judged_value(value: object) -> JudgedValue:
    """A computed value as a judgement keeps it: in the words of the command line, and as JSON."""
    return JudgedValue(text=value_text(value), data=to_json(value).decode())


def value_text(value: object) -> str:
    """What a computed value says, in the words of the command line.

    Examples
    --------
    >>> from core.analysis.keys import Key
    >>> value_text(Key(tonic=-2, mode="major")), value_text("4/4")
    ('Bb major', '4/4')
    """
    said = (getattr(value, name, None) for name in _SAYS)
    return next((words for words in said if isinstance(words, str)), str(value))


def _put(work: UnitOfWork, judgement: Judgement, replaces: int | None) -> Judged:
    if replaces is None:
        return Judged(judgement=work.judgements.add(judgement))
    earlier = work.judgements.get(replaces)
    changed = replace(judgement, id=earlier.id, created_at=earlier.created_at)
    work.judgements.replace(changed)
    return Judged(judgement=changed, earlier=earlier)


def _check_unchanged(work: UnitOfWork, expected: Judgement) -> None:
    if work.judgements.get(expected.id) != expected:
        raise ConflictError("judgement", expected.id)


def _kept_value(ruling: Ruling, own_value: JudgedValue | None) -> JudgedValue | None:
    if own_value is None:
        return None
    if ruling is not Ruling.OVERRULED:
        raise ValueError(f"own_value is {own_value.text!r} and ruling {ruling.value}; overruled?")
    words = kept_text("own value", own_value.text).strip()
    if not words:
        rule = "write what it is instead, or overrule without saying what it is"
        raise InvalidEntryError("own value", own_value.text, rule)
    return JudgedValue(text=words, data=kept_text("own value", own_value.data))
