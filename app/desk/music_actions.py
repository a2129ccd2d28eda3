"""What can be done with the score, what is found in it, and how it sounds."""

from __future__ import annotations

from app.desk.actions import Action, Need

SCORE: tuple[Action, ...] = (
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
        standard="ZoomIn",
    ),
    Action(
        id="zoom_out",
        name="Smaller",
        keys=("Ctrl+-",),
        needs=Need.PIECE,
        also="zoom out",
        group="Score",
        standard="ZoomOut",
    ),
    Action(
        id="zoom_reset",
        name="Size as at first",
        keys=("Ctrl+0",),
        needs=Need.PIECE,
        also="zoom reset",
        group="Score",
    ),
    Action(
        id="one_line",
        name="One long line, or pages",
        keys=("Ctrl+Shift+P",),
        needs=Need.PIECE,
        also="layout continuous horizontal system strip view",
        group="Score",
    ),
    Action(
        id="print",
        name="Print to PDF…",
        keys=("Ctrl+P",),
        needs=Need.SCORE,
        also="paper export document pages sheet",
        group="Score",
        standard="Print",
    ),
)

FINDINGS: tuple[Action, ...] = (
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
)

HEARING: tuple[Action, ...] = (
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
)
