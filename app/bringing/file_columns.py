"""What the tables of brought-in files show, column by column. No Qt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from app.bringing.brought_files import BroughtFile, FileState, Trouble
from app.margin.dates import day_name

TRY_AGAIN = "try again"
NOTICED = 2
"""Sentences of what was noticed that stand in a row."""
_NO_TROUBLE = Trouble(place="", why="", what_to_do="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column.

    Parameters
    ----------
    title : str
    text : callable
        What it says of a file.
    key : callable, optional
        What it is sorted by, where that is not the text.
    whole : callable, optional
        What it would say with more room: for tips, for copying, and to be found by.
    share : float
        Of the width that is left by the columns with a ``width``.
    width : int
        In pixels, where it never needs more.
    role : str
        Colour of its text.
    is_title, is_number, is_link : bool
        In the serif; at the right; something that can be done.
    wraps : bool
        Whether it takes as many lines as it needs.
    """

    title: str
    text: Callable[[BroughtFile], str]
    key: Callable[[BroughtFile], object] | None = None
    whole: Callable[[BroughtFile], str] | None = None
    share: float = 0.0
    width: int = 0
    role: str = "print"
    is_title: bool = False
    is_number: bool = False
    is_link: bool = False
    wraps: bool = False

    def whole_text(self, file: BroughtFile) -> str:
        """All that it has to say of a file."""
        return (self.whole or self.text)(file)


@dataclass(frozen=True, slots=True, kw_only=True)
class TableSpec:
    """One table: the files in certain states.

    Parameters
    ----------
    title : str
    states : tuple of FileState
    columns : tuple of Column
    rule : str
        Colour of a rule at its left; empty for none.
    """

    title: str
    states: tuple[FileState, ...]
    columns: tuple[Column, ...]
    rule: str = ""


def _trouble(file: BroughtFile) -> Trouble:
    return file.trouble or _NO_TROUBLE


def _measures(file: BroughtFile) -> str:
    return str(file.measures) if file.measures else ""


def _first_noticed(file: BroughtFile) -> str:
    first, more = file.noticed[:NOTICED], len(file.noticed) - NOTICED
    return " ".join([*first, f"And {more} more."] if more > 0 else first)


def _likeness(file: BroughtFile) -> str:
    if file.twin is None:
        return ""
    if file.twin.is_same_file:
        return "the same score"
    ending = "you are asked" if file.state is FileState.ASKS else "not taken"
    return f"note for note; {ending}"


def _brought_in(file: BroughtFile) -> str:
    return "" if file.twin is None else day_name(file.twin.brought_in_at, date.today())


BAD = TableSpec(
    title="Could not be read",
    states=(FileState.BAD,),
    rule="contrary",
    columns=(
        Column(title="file", text=lambda file: file.name, share=0.32, wraps=True),
        Column(
            title="place",
            text=lambda file: _trouble(file).place,
            width=116,
            role="quiet",
            wraps=True,
        ),
        Column(title="why", text=lambda file: _trouble(file).why, share=0.34, wraps=True),
        Column(
            title="what to do",
            text=lambda file: _trouble(file).what_to_do,
            share=0.34,
            role="quiet",
            wraps=True,
        ),
        Column(title="", text=lambda _file: TRY_AGAIN, width=84, is_link=True),
    ),
)
READ = TableSpec(
    title="Read",
    states=(FileState.READ,),
    columns=(
        Column(title="piece", text=lambda file: file.title, share=0.36, is_title=True),
        Column(title="composer", text=lambda file: file.composer, share=0.24, role="quiet"),
        Column(
            title="measures",
            text=_measures,
            key=lambda file: file.measures,
            width=76,
            is_number=True,
        ),
        Column(title="format", text=lambda file: file.format, width=84, role="quiet"),
        Column(
            title="noticed",
            text=_first_noticed,
            whole=lambda file: " ".join(file.noticed),
            share=0.4,
            role="graphite",
            wraps=True,
        ),
    ),
)
HERE = TableSpec(
    title="Already here",
    states=(FileState.HERE, FileState.ASKS),
    columns=(
        Column(
            title="piece",
            text=lambda file: file.twin.title if file.twin else "",
            share=0.36,
            is_title=True,
        ),
        Column(
            title="brought in",
            text=_brought_in,
            key=lambda file: file.twin.brought_in_at.timestamp() if file.twin else 0.0,
            width=120,
            role="quiet",
        ),
        Column(title="file", text=lambda file: file.name, share=0.36, wraps=True),
        Column(title="how it is the same", text=_likeness, share=0.28, role="graphite"),
    ),
)
