"""What do… finds: places, acts, pieces, remarks and printed words, by nearness.

Free of widgets: takes the desk and a text, gives the rows to be drawn. A row is found when each
word of the text stands in it, the accents and case apart; a word that begins a word of the row
counts more. A number is a place first.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from app.desk.action_table import ACTIONS
from app.desk.actions import reason_against
from app.desk.shortcuts import key_of
from core.notebook.values import AnchorKind, Piece, Remark
from core.score.places import Passage, Place
from core.score.score import RawDirection

if TYPE_CHECKING:
    from app.desk.desk_model import DeskModel

SPAN = re.compile(
    r"^(?:m\.?|measures?|mm\.?)?\s*(\w+)\s*(?:-|–|to)\s*(?:m\.?\s*)?(\w+)$", re.IGNORECASE
)
AT_MOST = 200
UNAVAILABLE = 5
"""Nearness that a row loses while it can't be done."""


class Kind(StrEnum):
    """What a row is; Tab narrows to one."""

    ALL = "all"
    DO = "do"
    PLACE = "places"
    PIECE = "pieces"
    REMARK = "remarks"
    PRINTED = "printed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One thing found.

    Parameters
    ----------
    kind : Kind
    text : str
        What it is found by and shown as.
    beside : str
        Said quietly after it.
    name : str
        Name of the kind at the right.
    keys : str
    reason : str
        Why it can't be done now; empty where it can.
    matched : tuple of (int, int)
        Start and end of what matched in ``text``.
    target : object
        Action id, passage, piece, remark or direction.
    score : int
        Nearness; larger is nearer.
    """

    kind: Kind
    text: str
    beside: str = ""
    name: str = ""
    keys: str = ""
    reason: str = ""
    matched: tuple[tuple[int, int], ...] = ()
    target: object = None
    score: int = 0


def search(desk: DeskModel, text: str, only: Kind = Kind.ALL) -> tuple[Row, ...]:
    """The rows that answer a text, the nearest first; without one, all that can be done."""
    wanted = text.strip()
    places = list(_places(desk, wanted)) if only in (Kind.ALL, Kind.PLACE) else []
    others = [row for row in _all_rows(desk, only) if only in (Kind.ALL, row.kind)]
    found = [row for row in (_matched(row, wanted) for row in others) if row is not None]
    if wanted:
        found.sort(key=lambda row: -row.score + (UNAVAILABLE if row.reason else 0))
    rows = [*places, *found][:AT_MOST]
    if wanted and only in (Kind.ALL, Kind.DO) and desk.piece and not desk.is_read_only:
        rows.append(_write_row(wanted, desk))
    return tuple(rows)


def _places(desk: DeskModel, text: str) -> Iterator[Row]:
    """The measure with this printed number, or the span of two."""
    score = desk.score
    if score is None or not text:
        return
    index = desk.measure_index_of_number(text)
    if index is not None:
        yield _place_row(desk, Passage.of_measures(index, index))
    span = SPAN.match(text)
    if span is not None:
        ends = [desk.measure_index_of_number(number) for number in span.groups()]
        first, last = ends
        if first is not None and last is not None:
            yield _place_row(desk, Passage.of_measures(min(first, last), max(first, last)))


def _place_row(desk: DeskModel, passage: Passage) -> Row:
    words = [
        direction.text
        for direction in (desk.score.directions if desk.score else ())
        if direction.measure_index == passage.start.measure_index and direction.text
    ]
    name = desk.name_of(passage)
    return Row(
        kind=Kind.PLACE,
        text=name,
        beside=", ".join(words[:3]),
        name="place",
        keys="Enter",
        matched=((name.find(" ") + 1, len(name)),),
        target=passage,
    )


def _all_rows(desk: DeskModel, only: Kind) -> Iterable[Row]:
    if only in (Kind.ALL, Kind.DO):
        yield from _action_rows(desk)
    if only in (Kind.ALL, Kind.PIECE):
        yield from (_piece_row(piece) for piece in desk.pieces)
    if only in (Kind.ALL, Kind.REMARK):
        yield from (_remark_row(desk, remark) for remark in desk.remarks)
    if only in (Kind.ALL, Kind.PRINTED):
        yield from (
            _direction_row(desk, direction)
            for direction in (desk.score.directions if desk.score else ())
            if direction.text
        )


def _action_rows(desk: DeskModel) -> Iterator[Row]:
    for action in ACTIONS:
        if action.id == "do":
            continue
        name = action.name
        if action.id in {"undo", "redo"}:
            stack = desk.undo_stack
            what = stack.undoText() if action.id == "undo" else stack.redoText()
            name = f"{name} {what}" if what else name
        yield Row(
            kind=Kind.DO,
            text=name,
            beside=action.also,
            name="do",
            keys=key_of(action.id),
            reason=reason_against(action, desk),
            target=action.id,
        )


def _piece_row(piece: Piece) -> Row:
    return Row(kind=Kind.PIECE, text=piece.title, beside=piece.composer, name="piece", target=piece)


def _remark_row(desk: DeskModel, remark: Remark) -> Row:
    return Row(
        kind=Kind.REMARK,
        text=" ".join(remark.body.split()),
        beside=desk.name_of(remark.anchor.passage),
        name=remark.kind.value if remark.kind else "remark",
        target=remark,
    )


def _direction_row(desk: DeskModel, direction: RawDirection) -> Row:
    return Row(
        kind=Kind.PRINTED,
        text=direction.text,
        beside=desk.name_of(Passage.of_measures(direction.measure_index, direction.measure_index)),
        name="printed",
        target=direction,
    )


def _write_row(text: str, desk: DeskModel) -> Row:
    return Row(
        kind=Kind.DO,
        text=f"Write “{text}”",
        beside=desk.where(),
        name="do",
        target=("write", text),
        matched=((7, 7 + len(text)),),
    )


def passage_of(desk: DeskModel, direction: RawDirection) -> Passage:
    """The point where a direction stands."""
    assert desk.score is not None
    measure = desk.score.measures[direction.measure_index]
    offset = max(desk.score.quarters(direction.onset - measure.onset), desk.score.quarters(0))
    return Passage.at(
        Place(measure_index=direction.measure_index, offset_quarters=offset, staff=direction.staff)
    )


DIRECTION = AnchorKind.DIRECTION


def _matched(row: Row, wanted: str) -> Row | None:
    """The row with what matched and how near; None where a word of the text is not in it."""
    if not wanted:
        return row
    shown, other = folded(row.text), folded(row.beside)
    spans: list[tuple[int, int]] = []
    nearness = 0
    for word in folded(wanted).split():
        at = _found_at(shown, word)
        if at >= 0:
            spans.append((at, at + len(word)))
            begins = at == 0 or not shown[at - 1].isalnum()
            nearness += (8 if at == 0 else 6 if begins else 2) + (shown == word) * 8
        elif word in other:
            nearness += 1
        else:
            return None
    return Row(
        kind=row.kind,
        text=row.text,
        beside=row.beside,
        name=row.name,
        keys=row.keys,
        reason=row.reason,
        target=row.target,
        matched=tuple(sorted(spans)),
        score=nearness,
    )


def _found_at(text: str, word: str) -> int:
    """Where a word stands, at the beginning of a word of the text if it can."""
    start = re.search(rf"(?<!\w){re.escape(word)}", text)
    return start.start() if start else text.find(word)


def folded(text: str) -> str:
    """Letters without case and accents, one for one, so that positions stay."""
    return "".join((unicodedata.normalize("NFD", letter)[0].lower()[:1]) for letter in text)
