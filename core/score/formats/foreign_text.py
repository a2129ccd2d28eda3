"""Bytes of a text format as text, and music21's parser kept within bounds."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from contextlib import redirect_stderr
from typing import Any, NoReturn

from core.errors import UnreadableFileError
from core.score.quoting import shown

_WIDE_MARKS = (
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), *_WIDE_MARKS)
_OLD = "cp1252"
"""What text without a mark that is no UTF-8 was mostly written in."""
_NO_EVENT = re.compile(r"Error in parsing event \((.*)\) at line (\d+)")
_NO_PITCH = re.compile(r"Could not get pitch information from note:(.*), assuming C")
_SLIPS = (LookupError, TypeError, AttributeError)
"""What such an error says is about the parser, not about the file."""
_TOLD_ONE_BY_ONE = 20
CHECK = "Check the file where it was made, or export the piece as MusicXML."
MOST_BEATS = 128
"""Of a measure; music21 makes a tree of them."""
OLD_ENCODING_GUESSED = "Its text is no UTF-8; it is read as Western European (Windows-1252)."


def text_of(data: bytes, *, name: str, kind: str) -> tuple[str, list[str]]:
    """The text with single line feeds, and what was guessed of its encoding.

    Raises
    ------
    UnreadableFileError
        The bytes are no text, or empty.
    """
    if not data.strip(b" \t\r\n\x00"):
        raise UnreadableFileError(name, "The file is empty. Get a whole copy, or export it again.")
    encoding = next((e for mark, e in _MARKS if data.startswith(mark)), "utf-8")
    guesses: list[str] = []
    try:
        text = data.decode(encoding)
    except UnicodeError:
        text = data.decode(_OLD, "replace")
        guesses.append(OLD_ENCODING_GUESSED)
    at = text.find("\0")
    if at >= 0:
        line = text.count("\n", 0, at) + 1
        reason = f"It holds bytes that are no text, so it is no {kind}. Get a whole copy."
        raise UnreadableFileError(name, reason, f"line {line}")
    return text.replace("\r\n", "\n").replace("\r", "\n"), guesses


def parsed(
    text: str, parse: Callable[[str], Any], *, kind: str, name: str
) -> tuple[Any, list[str]]:
    """What music21 makes of the text, and what it stumbled over, one sentence each.

    Parameters
    ----------
    parse : callable
        Calls music21; may raise anything.

    Raises
    ------
    UnreadableFileError
        It gave up.
    """
    said = io.StringIO()
    with warnings.catch_warnings(), redirect_stderr(said):
        warnings.simplefilter("ignore")
        try:
            score = parse(text)
        except Exception as error:
            # music21 meets a broken file with whatever it stumbles over, bugs of its own too.
            raise not_understood(error, name=name, kind=kind) from error
    return score, _stumbles(said.getvalue())


def refuse_number(digits: str, *, line: int, name: str) -> NoReturn:
    """Send a file back for a number that would keep its parser busy for hours."""
    raise UnreadableFileError(
        name,
        f"The number {shown(digits)} can't be meant as a duration or a metre. {CHECK}",
        f"line {line}",
    )


def refuse_metre(text: str, *, line: int, name: str) -> None:
    """Send a file back for a metre of so many beats."""
    for number in re.findall(r"\d+", text):
        if len(number) > 3 or int(number) > MOST_BEATS:
            refuse_number(number, line=line, name=name)


def _stumbles(said: str) -> list[str]:
    """music21's warnings, which it prints, as sentences."""
    told = []
    for line in said.splitlines():
        event, pitch = _NO_EVENT.search(line), _NO_PITCH.search(line)
        if event is not None:
            told.append(f"Line {event[2]}: {shown(event[1])} can't be read and is left out.")
        elif pitch is not None:
            told.append(f"The pitch of {shown(pitch[1])!r} can't be read; C is assumed.")
        elif "WARNING" in line:
            told.append(f"Its reader says: {shown(line.partition('WARNING: ')[2], longest=160)}")
    more = len(told) - _TOLD_ONE_BY_ONE
    return told if more <= 0 else [*told[:_TOLD_ONE_BY_ONE], f"{more} more like these."]


def not_understood(error: Exception, *, name: str, kind: str) -> UnreadableFileError:
    """The sentence for a file that its parser gave up on."""
    detail = shown(str(error), longest=120).rstrip(". ")
    said = f" ({detail})" if detail and not isinstance(error, _SLIPS) else ""
    return UnreadableFileError(
        name,
        f"It can't be understood as {kind}{said}. {CHECK}",
    )
