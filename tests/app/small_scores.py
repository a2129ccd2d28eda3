"""Small invented scores for tests of the window, and a desk with one of them on it."""

from __future__ import annotations

from pathlib import Path

from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from core.score.reading import read_bytes
from core.score.score import Score

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0">'
PATIENCE_MS = 30_000
"""Some formats load a large library, on a machine that has other things to do."""


def measure(number: str, quarters: int = 4, *, before: str = "", is_implicit: bool = False) -> str:
    """A measure of quarter notes."""
    implicit = ' implicit="yes"' if is_implicit else ""
    note = (
        "<note><pitch><step>G</step><octave>4</octave></pitch>"
        "<duration>2</duration><type>quarter</type></note>"
    )
    return f'<measure number="{number}"{implicit}>{before}{note * quarters}</measure>'


def signature(upper: str, lower: str) -> str:
    """Attributes with a time signature; two divisions a quarter."""
    return (
        f"<attributes><divisions>2</divisions><time><beats>{upper}</beats>"
        f"<beat-type>{lower}</beat-type></time></attributes>"
    )


def words(text: str) -> str:
    """A printed direction."""
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def music(*measures: str, title: str = "Small Piece") -> bytes:
    """A whole file."""
    return (
        f"{HEAD}<work><work-title>{title}</work-title></work>"
        '<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(measures)}</part></score-partwise>'
    ).encode()


def score_of(*measures: str) -> Score:
    """The score of some measures."""
    return read_bytes(music(*measures), name="small.musicxml").score


def four_measures(title: str = "Small Piece") -> bytes:
    """Four measures of 4/4 with two printed directions."""
    return music(
        measure("1", before=signature("4", "4") + words("dolce")),
        measure("2"),
        measure("3", before=words("poco rit.")),
        measure("4"),
        title=title,
    )


def write(folder: Path, name: str = "small.musicxml", title: str = "Small Piece") -> Path:
    """The four measures as a file."""
    path = folder / name
    path.write_bytes(four_measures(title))
    return path


def bring_in(qtbot: QtBot, desk: DeskModel, *paths: Path) -> None:
    """Bring files in and wait until they are there and the first one is read."""
    with qtbot.waitSignal(desk.pieces_changed, timeout=PATIENCE_MS):
        desk.bring_in(paths)
    qtbot.waitUntil(lambda: desk.piece is None or desk.score is not None, timeout=PATIENCE_MS)
