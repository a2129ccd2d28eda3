"""Everything that can be done, with its keys: one table for the window, do… and the help page.

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
    """

    id: str
    name: str
    keys: tuple[str, ...] = ()
    needs: Need = Need.NOTHING
    also: str = ""
    group: str = "Window"


ACTIONS: tuple[Action, ...] = (
    Action(
        id="bring_in",
        name="Bring scores in…",
        keys=("Ctrl+O",),
        needs=Need.WRITING,
        also="open import add file",
        group="Pieces",
    ),
    Action(
        id="bring_in_folder",
        name="Bring a folder of scores in…",
        keys=("Ctrl+Shift+O",),
        needs=Need.WRITING,
        also="open import add directory",
        group="Pieces",
    ),
    Action(id="stop_reading", name="Stop reading", needs=Need.READING, group="Pieces"),
    Action(
        id="rename_piece",
        name="Rename the piece",
        keys=("Shift+F2",),
        needs=Need.PIECE_WRITING,
        also="title",
        group="Pieces",
    ),
    Action(
        id="remove_piece",
        name="Remove the piece",
        needs=Need.PIECE_WRITING,
        also="delete",
        group="Pieces",
    ),
    Action(
        id="close_piece",
        name="Close the piece",
        keys=("Ctrl+W",),
        needs=Need.PIECE,
        group="Pieces",
    ),
    Action(
        id="sample",
        name="Look at the sample",
        also="demo example",
        group="Pieces",
    ),
    Action(id="do", name="Do…", keys=("Ctrl+K",), also="find search"),
    Action(
        id="write",
        name="Write here",
        keys=("Ctrl+Return",),
        needs=Need.PIECE_WRITING,
        also="remark note margin",
        group="Remarks",
    ),
    Action(
        id="findings",
        name="Go to the findings",
        keys=("Ctrl+J",),
        needs=Need.PIECE,
        also="computed key scale form why confirm overrule",
        group="Findings",
    ),
    Action(
        id="write_on_finding",
        name="Write on the finding",
        keys=("Ctrl+Shift+Return",),
        needs=Need.PIECE_WRITING,
        also="remark note on a result",
        group="Findings",
    ),
    Action(
        id="move_remark",
        name="Move the remark to this place",
        keys=("Ctrl+Shift+M",),
        needs=Need.PIECE_WRITING,
        also="hang anchor elsewhere",
        group="Remarks",
    ),
    Action(
        id="kind_1",
        name="Make the remark an observation",
        keys=("Ctrl+1",),
        needs=Need.PIECE_WRITING,
        also="kind of remark",
        group="Remarks",
    ),
    Action(
        id="kind_2",
        name="Make the remark a question",
        keys=("Ctrl+2",),
        needs=Need.PIECE_WRITING,
        also="kind of remark",
        group="Remarks",
    ),
    Action(
        id="kind_3",
        name="Make the remark a reading",
        keys=("Ctrl+3",),
        needs=Need.PIECE_WRITING,
        also="kind of remark",
        group="Remarks",
    ),
    Action(
        id="kind_4",
        name="Make the remark a memory cue",
        keys=("Ctrl+4",),
        needs=Need.PIECE_WRITING,
        also="kind of remark",
        group="Remarks",
    ),
    Action(
        id="kind_5",
        name="Make the remark an exercise",
        keys=("Ctrl+5",),
        needs=Need.PIECE_WRITING,
        also="kind of remark",
        group="Remarks",
    ),
    Action(
        id="whole_piece",
        name="Speak of the whole piece",
        keys=("Ctrl+Shift+A",),
        needs=Need.SELECTION,
        also="select nothing",
        group="Remarks",
    ),
    Action(id="undo", name="Undo", keys=("Ctrl+Z",), needs=Need.UNDO, group="Remarks"),
    Action(
        id="redo", name="Redo", keys=("Ctrl+Shift+Z", "Ctrl+Y"), needs=Need.REDO, group="Remarks"
    ),
    Action(
        id="list_measure",
        name="List the current measure",
        keys=("Ctrl+L",),
        needs=Need.SCORE,
        also="accessible notes screen reader",
        group="Score",
    ),
    Action(
        id="zoom_in",
        name="Larger",
        keys=("Ctrl++", "Ctrl+="),
        needs=Need.PIECE,
        also="zoom in",
        group="Score",
    ),
    Action(
        id="zoom_out",
        name="Smaller",
        keys=("Ctrl+-",),
        needs=Need.PIECE,
        also="zoom out",
        group="Score",
    ),
    Action(
        id="zoom_reset",
        name="Size as at first",
        keys=("Ctrl+0",),
        needs=Need.PIECE,
        also="zoom reset",
        group="Score",
    ),
    Action(id="fold_shelf", name="Fold the shelf", keys=("F7",), also="hide show panel pieces"),
    Action(
        id="fold_form",
        name="Fold the form line",
        keys=("F9",),
        also="hide show panel sections statements",
    ),
    Action(id="fold_here", name="Fold Here", keys=("F8",), also="hide show panel margin remarks"),
    Action(id="next_pane", name="Next pane", keys=("F6",), also="focus"),
    Action(id="previous_pane", name="Previous pane", keys=("Shift+F6",), also="focus"),
    Action(
        id="play",
        name="Play, or stop",
        needs=Need.SCORE,
        also="hear listen sound piano",
        group="Hearing",
    ),
    Action(
        id="loop",
        name="Play again and again, or once",
        keys=("Ctrl+Shift+L",),
        needs=Need.SCORE,
        also="loop hear repeat",
        group="Hearing",
    ),
    Action(
        id="slower",
        name="Play slower",
        keys=("Ctrl+Shift+Down",),
        needs=Need.SCORE,
        also="tempo hear speed",
        group="Hearing",
    ),
    Action(
        id="faster",
        name="Play faster",
        keys=("Ctrl+Shift+Up",),
        needs=Need.SCORE,
        also="tempo hear speed",
        group="Hearing",
    ),
    Action(
        id="hand",
        name="Play both hands, the right, or the left",
        keys=("Ctrl+Shift+H",),
        needs=Need.SCORE,
        also="hear one hand",
        group="Hearing",
    ),
    Action(
        id="export_wav",
        name="Write what will play as a sound file…",
        needs=Need.SCORE,
        also="wav export audio hear",
        group="Hearing",
    ),
    Action(
        id="export_midi",
        name="Write what will play as a MIDI file…",
        needs=Need.SCORE,
        also="mid export hear",
        group="Hearing",
    ),
    Action(
        id="next_port",
        name="Play to the next MIDI port, or the built-in piano",
        needs=Need.SCORE,
        also="midi out instrument hear",
        group="Hearing",
    ),
    Action(
        id="show_keys",
        name="Show or put away keys and scales over the score",
        needs=Need.PIECE,
        also="overlay hide",
        group="Findings",
    ),
    Action(
        id="show_bent",
        name="Show or put away bent degrees over the score",
        needs=Need.PIECE,
        also="overlay hide altered",
        group="Findings",
    ),
    Action(
        id="show_letters",
        name="Show or put away section letters beside the score",
        needs=Need.PIECE,
        also="overlay hide form",
        group="Findings",
    ),
    Action(
        id="show_glosses",
        name="Show or put away the brackets of remarks",
        needs=Need.PIECE,
        also="overlay hide numbers",
        group="Remarks",
    ),
    Action(id="light", name="Light", also="theme look day"),
    Action(id="dark", name="Dark", also="theme look night"),
    Action(id="as_platform", name="Light or dark as the system", also="theme look"),
    Action(id="white_page", name="Keep the page white", also="theme look dark page"),
    Action(id="full_screen", name="Full screen", keys=("F11",)),
    Action(id="keys", name="Keys", keys=("F1",), also="help shortcuts keyboard"),
    Action(id="quit", name="Quit", keys=("Ctrl+Q",), also="exit close window"),
)

HELD_KEYS: tuple[tuple[str, str, str], ...] = (
    ("Score", "a number", "go to that measure, once Enter is pressed"),
    ("Score", "any letter", "begins to write here"),
    ("Score", "Left, Right, Up, Down", "from note to note; with Ctrl from measure to measure"),
    ("Score", "Shift+arrows", "select; with Ctrl whole measures"),
    ("Score", "Escape", "select nothing: the whole piece"),
    ("Hearing", "Space in the score or the form line", "play what is selected, or stop"),
    ("Remarks", "Enter, Escape", "end the remark (Shift+Enter: a new line)"),
    (
        "Remarks",
        "Alt+1, Alt+2 … while writing",
        "for the 1st, 2nd sounding only; Alt+0 for every one",
    ),
    ("Remarks", "Tab, Up, Down", "from remark to remark"),
    ("Remarks", "Enter on a remark", "edit it"),
    ("Remarks", "Delete on a remark", "remove it"),
    ("Findings", "Tab, Up, Down", "from finding to finding, then to the remarks"),
    ("Findings", "Enter on a finding", "why? and its evidence in the score"),
    ("Findings", "Y on a finding", "confirm it; again takes that back"),
    ("Findings", "N on a finding", "overrule it, and say what it is instead"),
    ("Findings", "Delete on a finding", "take your word on it back"),
    ("Findings", "any other letter", "begins a remark on it"),
    ("Pieces", "letters in the shelf", "filter"),
    ("Pieces", "Enter, F2, Delete in the shelf", "open, rename, remove"),
    ("Window", "Escape", "a step back: dismiss a message, leave a panel"),
)
"""Keys that a pane handles itself, for the page of keys: group, key, what it does."""


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
}
