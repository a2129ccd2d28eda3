"""Bringing a score in: a file's bytes into a ``Score``.

Conventions: the original bytes are kept beside the canonical form, untouched. A score is known
by the SHA-256 of the original bytes; for MXL, of the score inside.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from lxml import etree

from core.score.formats.converting import converted
from core.score.formats.told import guesses_in, losses_in
from core.score.score_files import Converter, bytes_of, canonical_tree, score_root
from core.score.score_names import composer_of, title_of

if TYPE_CHECKING:
    from core.score.musicxml import Tables
    from core.score.score import Score


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstLook:
    """What is known of a score before its notes are read: enough to engrave it."""

    canonical: bytes = field(repr=False)
    title: str
    composer: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadScore:
    """A score and the bytes of the file it was read from (for MXL, the container's)."""

    score: Score
    original: bytes = field(repr=False)


def read_score(
    path: Path,
    *,
    on_look: Callable[[FirstLook], None] | None = None,
    convert: Converter = converted,
) -> ReadScore:
    """Read a score's file, in any of the formats that are known.

    Parameters
    ----------
    path : pathlib.Path
    on_look : callable or None
        Takes what is known as soon as the canonical form is made, so that the score can be
        shown meanwhile; what is raised later still counts.
    convert : callable
        Makes MusicXML of other formats. It loads much and takes long; a window hands over one
        that works in another process.

    Raises
    ------
    UnreadableFileError
        The file isn't there, can't be opened, or is no score.
    UnsupportedScoreError
        It is a score, and holds no note or can't be counted exactly.
    """
    return read_bytes(bytes_of(path), name=str(path), on_look=on_look, convert=convert)


def read_bytes(
    data: bytes,
    *,
    name: str,
    on_look: Callable[[FirstLook], None] | None = None,
    convert: Converter = converted,
) -> ReadScore:
    """Read a score from memory.

    Parameters
    ----------
    data : bytes
    name : str
        The file as the person named it, for errors.
    on_look, convert
        As in ``read_score``.

    Raises
    ------
    UnreadableFileError, UnsupportedScoreError
        As ``read_score``.
    """
    inside, made = canonical_tree(data, name=name, convert=convert)
    if on_look is not None:
        title, composer = title_of(made.root), composer_of(made.root)
        on_look(FirstLook(canonical=made.text, title=title, composer=composer))
    # Only now, so that the first look doesn't wait for numpy.
    from core.score.musicxml import read_tables

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
    from core.score.musicxml import read_tables

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
    from core.score.score import Score

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
        oddities=(*losses_in(root), *oddities, *tables.oddities),
        guesses=guesses_in(root),
    )
