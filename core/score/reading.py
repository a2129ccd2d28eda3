"""Bringing a score in: a file's bytes into a ``Score``.

Conventions: the original bytes are kept beside the canonical form, untouched. A score is known
by the SHA-256 of the original bytes; for MXL, of the score inside.
"""

from __future__ import annotations

import hashlib
import stat
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from lxml import etree

from core.errors import UnreadableFileError
from core.score.canonical import canonical_bytes, canonicalise
from core.score.containers import is_zip, score_inside
from core.score.looks_like import no_score
from core.score.musicxml import Tables, read_tables
from core.score.safe_xml import BYTES_LIMIT, parse_xml, utf8_text
from core.score.score import Score
from core.score.score_names import composer_of, title_of

_ROOTS = ("score-partwise", "score-timewise")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadScore:
    """A score and the bytes of the file it was read from (for MXL, the container's)."""

    score: Score
    original: bytes = field(repr=False)


def read_score(path: Path, *, on_canonical: Callable[[bytes], None] | None = None) -> ReadScore:
    """Read a MusicXML or MXL file.

    Parameters
    ----------
    path : pathlib.Path
    on_canonical : callable or None
        Takes the canonical form as soon as it is made, before the notes are read from it, so
        that engraving can begin meanwhile.

    Raises
    ------
    UnreadableFileError
        The file isn't there, can't be opened, or is no score.
    UnsupportedScoreError
        It is a score, and holds no note or can't be counted exactly.
    """
    return read_bytes(_bytes_of(path), name=str(path), on_canonical=on_canonical)


def read_bytes(
    data: bytes, *, name: str, on_canonical: Callable[[bytes], None] | None = None
) -> ReadScore:
    """Read MusicXML or MXL from memory.

    Parameters
    ----------
    data : bytes
    name : str
        The file as the person named it, for errors.
    on_canonical : callable or None
        As in ``read_score``.

    Raises
    ------
    UnreadableFileError, UnsupportedScoreError
        As ``read_score``.
    """
    inside = score_inside(data, name=name) if is_zip(data) else data
    text = utf8_text(inside, name=name)
    made = canonicalise(_score_root(text, name), text)
    canonical = canonical_bytes(made.root)
    if on_canonical is not None:
        on_canonical(canonical)
    tables = read_tables(made.root, name=name, note_ids=made.note_ids)
    score = _score(
        made.root,
        tables,
        canonical=canonical,
        sha256=hashlib.sha256(inside).hexdigest(),
        oddities=made.oddities,
    )
    return ReadScore(score=score, original=data)


def score_from_canonical(canonical: bytes, *, sha256: str) -> Score:
    """Open a score again from its stored canonical form: same ids, same tables.

    Parameters
    ----------
    canonical : bytes
        As ``Score.canonical``.
    sha256 : str
        Of the original bytes, as the store knows the score.

    Raises
    ------
    UnreadableFileError
        The bytes are damaged.
    """
    name = f"score {sha256[:12]}"
    root = _score_root(canonical, name)
    return _score(root, read_tables(root, name=name), canonical=canonical, sha256=sha256)


def _score_root(data: bytes, name: str) -> etree._Element:
    root = parse_xml(data, name=name)
    if root.tag in _ROOTS:
        return root
    if root.tag == "opus":
        reason = "It is a list of several scores. Bring each in by itself."
        raise UnreadableFileError(name, reason)
    raise UnreadableFileError(name, no_score(f"XML of another kind (<{root.tag}>)"))


def _score(
    root: etree._Element,
    tables: Tables,
    *,
    canonical: bytes,
    sha256: str,
    oddities: tuple[str, ...] = (),
) -> Score:
    return Score(
        sha256=sha256,
        canonical=canonical,
        title=title_of(root),
        composer=composer_of(root),
        parts=tables.parts,
        measures=tables.measures,
        notes=tables.notes,
        rests=tables.rests,
        directions=tables.directions,
        oddities=(*oddities, *tables.oddities),
    )


def _bytes_of(path: Path) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise UnreadableFileError(path, "This is a folder. Choose a score in it.")
        if not stat.S_ISREG(status.st_mode):
            raise UnreadableFileError(path, "This is no file with contents. Choose a score.")
        if status.st_size > BYTES_LIMIT:
            reason = f"It is longer than {BYTES_LIMIT // 1024**2} MB. Split the score."
            raise UnreadableFileError(path, reason)
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
