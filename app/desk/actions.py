"""What an action is, and why it can't be done now; ``action_table`` lists them all.

Keys are portable texts of ``QKeySequence`` ("Ctrl" is the command key on a Mac). ``needs`` names
what must be there; what is missing is said as the reason why an action can't be done now.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.desk.desk_model import DeskModel


class Need(StrEnum):
    """What must be there before something can be done."""

    NOTHING = "nothing"
    WRITING = "writing"
    PIECE = "piece"
    PIECE_WRITING = "piece and writing"
    SCORE = "score"
    SELECTION = "selection"
    UNDO = "undo"
    REDO = "redo"
    READING = "reading"
    BROUGHT = "brought"


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """One thing that can be done.

    Parameters
    ----------
    id : str
        What the window looks its doing up by.
    name : str
        As do… lists it.
    keys : tuple of str
        The first one is shown.
    also : str
        Other words it is found by.
    group : str
        Heading on the page of keys.
    standard : str
        Name in ``QKeySequence.StandardKey``: where the platform has keys for this, they count
        first.
    """

    id: str
    name: str
    keys: tuple[str, ...] = ()
    needs: Need = Need.NOTHING
    also: str = ""
    group: str = "Window"
    standard: str = ""


def reason_against(action: Action, desk: DeskModel) -> str:
    """Why an action can't be done now; empty where it can."""
    check, reason = _CHECKS[action.needs]
    return "" if check(desk) else reason(desk)


def _no_writing(desk: DeskModel) -> str:
    return "this notebook can only be read now" if desk.is_read_only else "no piece is open"


def _always(reason: str) -> Callable[[DeskModel], str]:
    return lambda _desk: reason


_CHECKS: Mapping[Need, tuple[Callable[[DeskModel], bool], Callable[[DeskModel], str]]] = {
    Need.NOTHING: (lambda _desk: True, _always("")),
    Need.WRITING: (lambda desk: not desk.is_read_only, _no_writing),
    Need.PIECE: (lambda desk: desk.piece is not None, _always("no piece is open")),
    Need.PIECE_WRITING: (
        lambda desk: desk.piece is not None and not desk.is_read_only,
        _no_writing,
    ),
    Need.SCORE: (lambda desk: desk.score is not None, _always("no score is open")),
    Need.SELECTION: (lambda desk: desk.selection is not None, _always("nothing is selected")),
    Need.UNDO: (lambda desk: desk.undo_stack.canUndo(), _always("nothing to undo")),
    Need.REDO: (lambda desk: desk.undo_stack.canRedo(), _always("nothing to do again")),
    Need.READING: (lambda desk: desk.is_reading, _always("nothing is being read")),
    Need.BROUGHT: (
        lambda desk: desk.bringing.batch is not None,
        _always("no files were brought in together since the window was opened"),
    ),
}
