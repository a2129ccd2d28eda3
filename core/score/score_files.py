"""A file's bytes on their way to the canonical form, before any note is read from it.

Apart from ``reading`` because the engraving process needs the canonical form alone, and is
faster there without the tables and numpy.
"""

from __future__ import annotations

import hashlib
import stat
from pathlib import Path
from typing import Protocol

from lxml import etree

from core.errors import UnreadableFileError
from core.score.canonical import Canonical, canonicalise
from core.score.containers import is_zip, score_inside
from core.score.formats.converting import Format, converted, format_of
from core.score.formats.tune_books import place_in_book, tunes_in
from core.score.looks_like import no_score
from core.score.quoting import shown
from core.score.safe_xml import BYTES_LIMIT, parse_xml, utf8_text

_ROOTS = ("score-partwise", "score-timewise")


class Converter(Protocol):
    """Makes MusicXML of a file in another format; raises as ``converting.converted``."""

    def __call__(self, data: bytes, known: Format, *, name: str) -> bytes:
        """As ``converting.converted``."""


def canonical_form(path: Path) -> bytes | None:
    """The canonical form of a file, the same as ``reading.read_score`` finds in it.

    Returns
    -------
    bytes or None
        None for a file that has to be converted first, which takes too long to be done twice.

    Raises
    ------
    UnreadableFileError
        The file isn't there, can't be opened, or is no score.
    """
    data = bytes_of(path)
    if format_of(data) is not None:
        return None
    _, made = canonical_tree(data, name=str(path))
    return made.text


def canonical_tree(
    data: bytes, *, name: str, convert: Converter = converted
) -> tuple[bytes, Canonical]:
    """The score's own bytes (for MXL, of the score inside), and its tree made canonical.

    Parameters
    ----------
    data : bytes
    name : str
        The file as the person named it, for errors.
    convert : callable
        Makes MusicXML of another format, as ``formats.converting.converted`` does.

    Raises
    ------
    UnreadableFileError
        The bytes are no score.
    UnsupportedScoreError
        They are a score of another format that can't be made MusicXML.
    """
    inside = score_inside(data, name=name) if is_zip(data) else data
    other = format_of(inside)
    text = utf8_text(inside, name=name) if other is None else convert(inside, other, name=name)
    return inside, canonicalise(score_root(text, name), text)


def score_root(data: bytes, name: str) -> etree._Element:
    """The root of a MusicXML score.

    Raises
    ------
    UnreadableFileError
        It is XML of another kind, or none.
    """
    root = parse_xml(data, name=name)
    if root.tag in _ROOTS:
        return root
    if root.tag == "opus":
        reason = "It is a list of several scores. Bring each in by itself."
        raise UnreadableFileError(name, reason)
    raise UnreadableFileError(name, no_score(f"XML of another kind (<{shown(root.tag)}>)"))


def bytes_of(path: Path) -> bytes:
    """A file's bytes; of a tune named in a book, its own (``tune_books``).

    Raises
    ------
    UnreadableFileError
        It isn't there, may not be read, is a folder, or is too long.
    """
    place = place_in_book(path)
    if place is None or path.exists():
        return _bytes_of(path)
    book, number = place
    tunes = tunes_in(_bytes_of(book))
    if not 1 <= number <= len(tunes):
        reason = f"It holds {len(tunes)} tunes, and none is number {number}. Choose another."
        raise UnreadableFileError(book, reason)
    return tunes[number - 1]


def _bytes_of(path: Path) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise UnreadableFileError(path, "This is a folder. Choose a score in it.")
        if not stat.S_ISREG(status.st_mode):
            raise UnreadableFileError(path, "This is no file with contents. Choose a score.")
        _refuse_long(status.st_size, path)
        return path.read_bytes()
    except FileNotFoundError as error:
        reason = "The file is not there, or no longer. Look where it was moved to."
        raise UnreadableFileError(path, reason) from error
    except PermissionError as error:
        reason = "The file may not be read. Change its permissions, or copy it."
        raise UnreadableFileError(path, reason) from error
    except OSError as error:
        reason = f"The file can't be read ({error.strerror}). Copy it to this machine first."
        raise UnreadableFileError(path, reason) from error


def _refuse_long(size: int, path: str | Path) -> None:
    if size > BYTES_LIMIT:
        reason = f"It is longer than {BYTES_LIMIT // 1024**2} MB. Split the score."
        raise UnreadableFileError(path, reason)


def sha256_of(path: Path) -> str:
    """What a file's score is known by, without reading the score.

    Raises
    ------
    UnreadableFileError
        It can't be opened, or is a container with no score.
    """
    data = bytes_of(path)
    inside = score_inside(data, name=str(path)) if is_zip(data) else data
    return hashlib.sha256(inside).hexdigest()


def format_name(data: bytes) -> str:
    """The format of a score's file, as musicians know it."""
    if is_zip(data):
        return "MXL"
    other = format_of(data)
    return "MusicXML" if other is None else other.name
