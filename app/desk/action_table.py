"""Everything that can be done, with its keys: one table for the window, do… and the help pages.

The rows stand by group: here those of the window, in ``notebook_actions`` and ``music_actions``
the others. Whoever looks for an action asks here.
"""

from __future__ import annotations

from app.desk.actions import Action
from app.desk.music_actions import FINDINGS, HEARING, SCORE
from app.desk.notebook_actions import PIECES, REMARKS

WINDOW: tuple[Action, ...] = (
    Action(id="do", name="Do…", keys=("Ctrl+K",), also="find search"),
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
    Action(id="light", name="Light", also="theme look day"),
    Action(id="dark", name="Dark", also="theme look night"),
    Action(id="as_platform", name="Light or dark as the system", also="theme look"),
    Action(id="white_page", name="Keep the page white", also="theme look dark page"),
    Action(id="full_screen", name="Full screen", keys=("F11",), standard="FullScreen"),
    Action(id="quit", name="Quit", keys=("Ctrl+Q",), also="exit close window", standard="Quit"),
)

HELP: tuple[Action, ...] = (
    Action(
        id="help",
        name="Help",
        keys=("F1",),
        also="manual guide what does this mean",
        group="Help",
        standard="HelpContents",
    ),
    Action(id="first_minutes", name="The first ten minutes", also="help begin", group="Help"),
    Action(
        id="what_findings_mean",
        name="What findings mean, and where that is known from",
        also="help sources computed key scale chord cadence section",
        group="Help",
    ),
    Action(
        id="keys", name="Keys", keys=("Shift+F1",), also="help shortcuts keyboard", group="Help"
    ),
    Action(
        id="settings",
        name="Settings",
        keys=("Ctrl+,",),
        also="preferences options theme look midi port sound",
        group="Help",
        standard="Preferences",
    ),
    Action(id="show_log", name="Show the log", also="errors bug report file", group="Help"),
    Action(id="about", name="About Postil", also="version licence license credits", group="Help"),
)

ACTIONS: tuple[Action, ...] = (*PIECES, *REMARKS, *SCORE, *FINDINGS, *HEARING, *WINDOW, *HELP)

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
    ("Form line", "Left, Right, Home, End", "from statement to statement; with Shift, select"),
    ("Form line", "Enter", "go to the current place in the score"),
    ("Form line", "+, -", "closer, farther"),
    ("Window", "Tab in do…", "only pieces, remarks, printed words or places"),
    ("Window", "Escape", "a step back: dismiss a message, leave a panel"),
)
"""Keys that a pane handles itself, for the page of keys: group, key, what it does."""
