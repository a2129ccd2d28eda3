"""What kind of file it is, and its reader.

Conventions: a file is known by its first bytes, whatever it is called.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING

from core.errors import UnsupportedScoreError
from core.score.looks_like import what_it_looks_like

if TYPE_CHECKING:
    from core.score.formats.drafts import Draft


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A format that is written out as MusicXML first.

    Parameters
    ----------
    name : str
        As musicians know it.
    suffixes : tuple of str
        Of its files, in lower case.
    looks_like : str
        What ``looks_like`` calls it.
    reader : str
        Module and function; imported when such a file is read.
    """

    name: str
    suffixes: tuple[str, ...]
    looks_like: str
    reader: str


FORMATS = (
    Format(
        name="Humdrum",
        suffixes=(".krn", ".kern"),
        looks_like="a Humdrum file",
        reader="humdrum.read_humdrum",
    ),
    Format(
        name="ABC",
        suffixes=(".abc",),
        looks_like="an ABC file",
        reader="abc.read_abc",
    ),
    Format(
        name="MEI",
        suffixes=(".mei",),
        looks_like="an MEI file",
        reader="mei.read_mei",
    ),
    Format(
        name="MIDI",
        suffixes=(".mid", ".midi"),
        looks_like="a MIDI file",
        reader="midi.read_midi",
    ),
)

FORMAT_NAMES = ("MusicXML", "MXL", *(known.name for known in FORMATS))
"""All that can be read, as musicians know them."""
SUFFIXES = (".musicxml", ".xml", ".mxl", *(s for known in FORMATS for s in known.suffixes))
"""What is looked for in a folder; a file named by itself may have any."""
_WIDE_STARTS = (
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
    (b"<\x00", "utf-16-le"),
    (b"\x00<", "utf-16-be"),
)
_HEAD_BYTES = 8192


def format_of(data: bytes) -> Format | None:
    """The format to be converted; None for MusicXML and for what is no score."""
    head = data[:_HEAD_BYTES]
    wide = next((encoding for start, encoding in _WIDE_STARTS if head.startswith(start)), None)
    if wide is not None:
        head = head.decode(wide, "replace").encode("utf-8", "replace")
    what = what_it_looks_like(head)
    return next((known for known in FORMATS if known.looks_like == what), None)


def converted(data: bytes, known: Format, *, name: str) -> bytes:
    """The file as MusicXML.

    Parameters
    ----------
    data : bytes
    known : Format
        As ``format_of`` found it.
    name : str
        The file as the person named it, for errors.

    Raises
    ------
    UnreadableFileError
        It is broken, or no such file after all.
    UnsupportedScoreError
        It is well formed, and can't be one score.
    """
    with _without_collections():
        return _written(data, known, name)


def _written(data: bytes, known: Format, name: str) -> bytes:
    from core.score.formats.draft_writer import written_out

    module, function = known.reader.split(".")
    read: Callable[..., Draft] = getattr(import_module(f"core.score.formats.{module}"), function)
    draft = read(data, name=name)
    if not draft.parts:
        raise UnsupportedScoreError(
            name, "There is not one note in it. Export it again from a score with notes."
        )
    return written_out(draft)


@contextmanager
def _without_collections() -> Iterator[None]:
    """Put garbage collection off: nearly all that a parser makes is alive until it is done.

    Each full collection meanwhile looked at everything for nothing (0.25 s, as long as parsing
    600 notes takes; measured with music21 10.5).
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
