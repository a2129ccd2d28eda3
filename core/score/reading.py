"""Bringing a score in: a file's bytes into a ``Score``.

Conventions: the original bytes are kept beside the canonical form, untouched. A score is known
by the SHA-256 of the original bytes; for MXL, of the score inside.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

from lxml import etree

from core.score.musicxml import Tables, read_tables
from core.score.score import Score
from core.score.score_files import bytes_of, canonical_tree, score_root
from core.score.score_names import composer_of, title_of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadScore:
    """A score and the bytes of the file it was read from (for MXL, the container's)."""

    score: Score
    original: bytes = field(repr=False)


def read_score(path: Path) -> ReadScore:
    """Read a MusicXML or MXL file.

    Raises
    ------
    UnreadableFileError
        The file isn't there, can't be opened, or is no score.
    UnsupportedScoreError
        It is a score, and holds no note or can't be counted exactly.
    """
    return read_bytes(bytes_of(path), name=str(path))


def read_bytes(data: bytes, *, name: str) -> ReadScore:
    """Read MusicXML or MXL from memory.

    Parameters
    ----------
    data : bytes
    name : str
        The file as the person named it, for errors.

    Raises
    ------
    UnreadableFileError, UnsupportedScoreError
        As ``read_score``.
    """
    inside, made = canonical_tree(data, name=name)
    tables = read_tables(made.root, name=name, note_ids=made.note_ids)
    score = _score(
        made.root,
        tables,
        canonical=made.text,
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
    root = score_root(canonical, name)
    return _score(root, read_tables(root, name=name), canonical=canonical, sha256=sha256)


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
