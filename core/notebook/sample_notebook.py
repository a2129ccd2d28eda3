"""The sample notebook: an invented person's remarks and judgements on the invented pieces.

It comes as a plain text (``sample_library/notebook.toml``) in a musician's terms: printed measure
numbers, names of notes, words of directions. Here it is read, and written into a notebook by the
same acts that a person's own writing goes through.

Conventions: days count back from the moment it is written down, so that the sample is never out
of date. No analysis is asked: what a remark says of a section or a finding stands in the text, and
a test holds it against today's analysis.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from core.analysis.keys import KEYS, Key, tonic_name
from core.analysis.scales import ScaleInUse
from core.notebook.judgements import judge
from core.notebook.ports import NotebookStore
from core.notebook.remarks import reword_remark, write_remark
from core.notebook.sample_places import NamedPlace, anchor_of, passage_of
from core.notebook.values import JudgedValue, RemarkKind, Ruling
from core.score.findings import Finding
from core.score.score import Score

FILE = "notebook.toml"
_BETWEEN = timedelta(minutes=7)
"""From one entry of a day to the next."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EarlierWording:
    """How a remark was worded before."""

    days_ago: int
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleRemark(NamedPlace):
    """A remark of the sample; ``earlier`` is the oldest wording first."""

    kind: RemarkKind
    days_ago: int
    body: str
    earlier: tuple[EarlierWording, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleJudgement(NamedPlace):
    """A word on a finding of the sample.

    Parameters
    ----------
    found : str
        What is computed, as the command line writes it.
    key : str or None
        Where a key is found, its name ("D major").
    scale : mapping or None
        Where a scale is found: ``tonic``, ``name``, and ``altered`` and ``bent`` degrees.
    own : str
        What is said instead; empty for nothing.
    """

    finding: str
    found: str
    ruling: Ruling
    days_ago: int
    key: str | None = None
    scale: Mapping[str, Any] | None = None
    own: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SamplePiece:
    """A piece of the sample, and what is kept about it; ``file`` lies beside the text."""

    file: str
    opened_days_ago: int
    remarks: tuple[SampleRemark, ...] = ()
    judgements: tuple[SampleJudgement, ...] = ()


def read_sample(folder: Path) -> tuple[SamplePiece, ...]:
    """The sample notebook in a folder, the piece to be opened first.

    Raises
    ------
    OSError
        It isn't there.
    ValueError
        It is no TOML.
    TypeError
        It has a key that means nothing here, or lacks one.
    """
    import tomllib

    with (folder / FILE).open("rb") as text:
        tables = tomllib.load(text)
    return tuple(_piece(table) for table in tables["piece"])


def write_down(
    store: NotebookStore,
    sample: SamplePiece,
    *,
    piece_id: int,
    score: Score,
    now: datetime,
    zone: str,
) -> None:
    """Write what the sample says of one piece into a notebook.

    Parameters
    ----------
    store : NotebookStore
    sample : SamplePiece
    piece_id : int
        The piece as it is kept.
    score : Score
        Its score.
    now : datetime
        Aware; the days count back from it.
    zone : str
        IANA name of the zone of the person's clock.

    Raises
    ------
    InvalidEntryError, ValueError
        The sample names a place that the score doesn't have.
    MissingError
        There is no such piece.
    StorageError
        It can't be kept.
    """
    for remark, later in _with_moments(sample.remarks):
        _write(store, remark, piece_id, score, now + later, zone)
    for judgement, later in _with_moments(sample.judgements):
        passage = passage_of(score, judgement)
        judge(
            store,
            piece_id=piece_id,
            finding=Finding(
                kind=judgement.finding, passage=passage, value=_found(judgement), confidence=1.0
            ),
            score_sha256=score.sha256,
            ruling=judgement.ruling,
            own_value=JudgedValue(text=judgement.own) if judgement.own else None,
            reason=judgement.reason,
            now=now + later - timedelta(days=judgement.days_ago),
            zone=zone,
        )


def _piece(table: dict[str, Any]) -> SamplePiece:
    return SamplePiece(
        file=table["file"],
        opened_days_ago=table["opened_days_ago"],
        remarks=tuple(_remark(each) for each in table.get("remark", ())),
        judgements=tuple(_judgement(each) for each in table.get("judgement", ())),
    )


def _remark(table: dict[str, Any]) -> SampleRemark:
    known = {
        "kind": RemarkKind(table["kind"]),
        "body": table["body"].strip(),
        "earlier": tuple(EarlierWording(**each) for each in table.get("earlier", ())),
    }
    return SampleRemark(**_placed(table) | known)


def _judgement(table: dict[str, Any]) -> SampleJudgement:
    return SampleJudgement(**_placed(table) | {"ruling": Ruling(table["ruling"])})


def _placed(table: dict[str, Any]) -> dict[str, Any]:
    """A table with its pair of measures as one."""
    if "measures" not in table:
        return table
    first, last = table["measures"]
    return table | {"measures": (first, last)}


def _with_moments(entries: tuple[Any, ...]) -> Iterator[tuple[Any, timedelta]]:
    """Entries with how much later than the first of their day each was written."""
    for number, entry in enumerate(entries):
        yield entry, (number - len(entries)) * _BETWEEN


def _write(
    store: NotebookStore,
    remark: SampleRemark,
    piece_id: int,
    score: Score,
    now: datetime,
    zone: str,
) -> None:
    """A remark with its earlier wordings, one after the other as they were written."""
    wordings = [*((each.days_ago, each.body) for each in remark.earlier)]
    wordings.append((remark.days_ago, remark.body))
    (first_days, first), *later = wordings
    written = write_remark(
        store,
        piece_id=piece_id,
        body=first,
        kind=remark.kind,
        anchor=anchor_of(score, remark),
        now=now - timedelta(days=first_days),
        zone=zone,
    )
    for days_ago, body in later:
        moment = now - timedelta(days=days_ago)
        reword_remark(store, written.id, body, moment, begins_sitting=True)


def _found(judgement: SampleJudgement) -> Key | ScaleInUse | str:
    """What was found, as far as its own value is asked for again: keys and scales; else words."""
    if judgement.key is not None:
        return next(key for key in KEYS if key.name == judgement.key)
    if judgement.scale is None:
        return judgement.found
    table = judgement.scale
    return ScaleInUse(
        tonic=next(fifths for fifths in range(-8, 13) if tonic_name(fifths) == table["tonic"]),
        scale=table["name"],
        altered=tuple(table.get("altered", ())),
        bent=tuple(table.get("bent", ())),
    )
