"""What can be done with pieces and remarks."""

from __future__ import annotations

from app.desk.actions import Action, Need

PIECES: tuple[Action, ...] = (
    Action(
        id="bring_in",
        name="Bring scores in…",
        keys=("Ctrl+O",),
        needs=Need.WRITING,
        also="open import add file",
        group="Pieces",
        standard="Open",
    ),
    Action(
        id="bring_in_folder",
        name="Bring a folder of scores in…",
        keys=("Ctrl+Shift+O",),
        needs=Need.WRITING,
        also="open import add directory",
        group="Pieces",
    ),
    Action(
        id="stop_reading",
        name="Stop reading",
        keys=("Ctrl+.",),
        needs=Need.READING,
        also="bringing in cancel",
        group="Pieces",
    ),
    Action(
        id="brought_in",
        name="What was brought in last",
        needs=Need.BROUGHT,
        also="bringing files folder import",
        group="Pieces",
    ),
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
        standard="Close",
    ),
    Action(
        id="sample",
        name="Look at the sample",
        also="demo example",
        group="Pieces",
    ),
)

REMARKS: tuple[Action, ...] = (
    Action(
        id="write",
        name="Write here",
        keys=("Ctrl+Return",),
        needs=Need.PIECE_WRITING,
        also="remark note margin",
        group="Remarks",
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
    Action(
        id="undo", name="Undo", keys=("Ctrl+Z",), needs=Need.UNDO, group="Remarks", standard="Undo"
    ),
    Action(
        id="redo",
        name="Redo",
        keys=("Ctrl+Shift+Z", "Ctrl+Y"),
        needs=Need.REDO,
        group="Remarks",
        standard="Redo",
    ),
    Action(
        id="show_glosses",
        name="Show or put away the brackets of remarks",
        needs=Need.PIECE,
        also="overlay hide numbers",
        group="Remarks",
    ),
)
