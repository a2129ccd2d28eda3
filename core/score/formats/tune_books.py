"""ABC files with several tunes: each tune is a score, named by its place in the file.

Conventions: ``book.abc#3`` is the third tune of ``book.abc``, counted from 1. A tune is its own
lines with the file's header before them, as they stand in the file.

Source: C. Walshaw et al., The ABC Music Standard 2.1, 2011, 2.2 (a tune begins with ``X:``; what
stands before the first is the file header).
"""

from __future__ import annotations

import re
from pathlib import Path

_TUNE = re.compile(rb"^[ \t]*X:", re.MULTILINE)
_NAMED = re.compile(r"(.+)#(\d{1,6})")
SUFFIX = ".abc"


def tunes_in(data: bytes) -> list[bytes]:
    r"""The tunes of a file, each with the file's header; one without ``X:`` is one tune.

    Examples
    --------
    >>> tunes_in(b"%abc\nX:1\nK:C\nC|\nX:2\nK:D\nD|\n")
    [b'%abc\nX:1\nK:C\nC|\n', b'%abc\nX:2\nK:D\nD|\n']
    """
    starts = [found.start() for found in _TUNE.finditer(data)]
    if len(starts) < 2:
        return [data]
    header = data[: starts[0]]
    ends = [*starts[1:], len(data)]
    return [header + data[start:end] for start, end in zip(starts, ends, strict=True)]


def place_in_book(path: Path) -> tuple[Path, int] | None:
    """The book and the number of the tune, where a name asks for one.

    Examples
    --------
    >>> place_in_book(Path("book.abc#3")), place_in_book(Path("book.abc"))
    ((PosixPath('book.abc'), 3), None)
    """
    named = _NAMED.fullmatch(path.name)
    if named is None or not named[1].lower().endswith(SUFFIX):
        return None
    return path.with_name(named[1]), int(named[2])


def scores_in(path: Path) -> list[Path]:
    """The names of all tunes of a book; of any other file its own name."""
    if path.suffix.lower() != SUFFIX:
        return [path]
    try:
        count = len(_TUNE.findall(path.read_bytes()))
    except OSError:
        return [path]  # whoever reads it says why it can't be read
    if count < 2:
        return [path]
    return [path.with_name(f"{path.name}#{number}") for number in range(1, count + 1)]
