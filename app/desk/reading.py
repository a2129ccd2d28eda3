"""What the desk does off the window's thread: read files, fetch pieces, read their scores.

Nothing here touches Qt. Heavy imports stand inside the functions, so that the window is on the
screen before they are paid for.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from core.errors import MissingError
from core.score.formats.converting import FORMAT_NAMES, SUFFIXES
from core.score.formats.tune_books import scores_in

if TYPE_CHECKING:
    from core.notebook.ports import NotebookStore
    from core.notebook.values import Edition, Piece, Remark
    from core.score.reading import ReadScore
    from core.score.score import Score

    Reader = Callable[[Path], ReadScore]

FORMATS = ", ".join(FORMAT_NAMES)
"""What can be read, for people."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Opened:
    """A piece with all that the desk shows of it; ``score`` where it is already read."""

    piece: Piece
    edition: Edition
    canonical: bytes
    remarks: tuple[Remark, ...]
    score: Score | None = None


def score_files(
    paths: Iterable[Path], is_stopped: Callable[[], bool] = lambda: False
) -> Iterator[Path]:
    """The files, and the scores inside the folders, in the order of their names.

    A book of tunes gives each tune. Hidden files in a folder are leftovers of other programs,
    such as the "._" files of a Mac's archive.
    """
    for path in paths:
        if not path.is_dir():
            yield from scores_in(path)
            continue
        for folder, folders, names in os.walk(path):
            if is_stopped():
                return
            folders.sort()
            for name in sorted(names):
                if name.casefold().endswith(SUFFIXES) and not name.startswith("."):
                    yield from scores_in(Path(folder, name))


def bring_in(store: NotebookStore, path: Path, now: datetime, read: Reader) -> Opened:
    """Read a file and keep it; a score that is already there gives its piece.

    Raises
    ------
    PostilError
        The file can't be read, or the notebook can't be written.
    """
    from core.notebook.pieces import keep_score

    brought = read(path)
    kept = keep_score(store, brought, source_name=path.name, now=now)
    opened = fetch(store, kept.piece.id, now)
    if opened.canonical != brought.score.canonical:
        # An earlier version made it canonical; what was just read doesn't speak of that form.
        return opened
    return replace(opened, score=brought.score)


def read_file(path: Path) -> ReadScore:
    """Read a score's file. Raises UnreadableFileError, UnsupportedScoreError, JobError."""
    from app.desk.converting_apart import convert_apart
    from core.score.reading import read_score

    return read_score(path, convert=convert_apart)


def fetch(store: NotebookStore, piece_id: int, now: datetime) -> Opened:
    """The piece with its newest edition and its remarks; notes that it was opened now.

    Raises
    ------
    PostilError
        It is not there, or the notebook can't be read.
    """
    with store.unit_of_work() as work:
        piece = work.pieces.get(piece_id)
        editions = work.editions.of_piece(piece_id)
        if not editions:
            raise MissingError("edition of piece", piece_id)
        if not store.is_read_only:
            piece = replace(piece, opened_at=now)
            work.pieces.replace(piece)
            work.commit()
        return Opened(
            piece=piece,
            edition=editions[0],
            canonical=work.editions.canonical(editions[0].id),
            remarks=work.remarks.of_piece(piece_id),
        )


def pieces_of(store: NotebookStore) -> tuple[Piece, ...]:
    """Every piece of the notebook, the one opened last first. Raises StorageError."""
    with store.unit_of_work() as work:
        return work.pieces.all()


def read_canonical(opened: Opened) -> Score:
    """The score of an opened piece, read from its canonical form."""
    from core.score.reading import score_from_canonical

    return score_from_canonical(opened.canonical, sha256=opened.edition.score_sha256)
