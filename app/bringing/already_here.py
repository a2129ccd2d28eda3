"""Whether a file's score is on the shelf already: the same bytes, or the same notes.

Conventions: to compare notes a score from the shelf has to be read, which is only worth it where
as many notes begin in both; they are counted in the canonical form without reading it, each once.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from app.bringing.brought_files import Twin
from core.errors import MissingError
from core.notebook.pieces import canonical_of, find_score, shelf
from core.score.same_notes import note_count_in

if TYPE_CHECKING:
    from core.notebook.pieces import BroughtIn
    from core.notebook.ports import NotebookStore
    from core.notebook.values import Edition, Piece


class AlreadyHere:
    """The shelf, by what its scores hold. Used on one thread; each look is one transaction."""

    def __init__(self, store: NotebookStore) -> None:
        self._store = store
        self._by_count: dict[int, set[int]] | None = None
        self._digests: dict[int, str] = {}

    def same_file(self, sha256: str) -> Twin | None:
        """The piece with this very score. Raises StorageError."""
        known = find_score(self._store, sha256)
        return None if known is None else _twin(known.piece, known.edition, is_same_file=True)

    def candidates(self, note_count: int) -> list[int]:
        """Ids of the pieces in which as many notes begin. Raises StorageError."""
        if self._by_count is None:
            self._by_count = defaultdict(set)
            for piece in shelf(self._store):
                self._count(piece.id)
        return sorted(self._by_count.get(note_count, ()))

    def digest(self, piece_id: int) -> str | None:
        """What was learned of a piece's notes; None where that is still to be found out."""
        return self._digests.get(piece_id)

    def canonical(self, piece_id: int) -> bytes | None:
        """The score of a piece; None if it was taken away. Raises StorageError."""
        try:
            return canonical_of(self._store, piece_id)[1]
        except MissingError:
            return None

    def learn(self, piece_id: int, digest: str) -> None:
        """Note what a piece of the shelf holds."""
        self._digests[piece_id] = digest

    def add(self, brought: BroughtIn, note_count: int, digest: str) -> None:
        """A piece that was brought in just now."""
        if self._by_count is not None:
            self._by_count[note_count].add(brought.piece.id)
        self.learn(brought.piece.id, digest)

    def twin(self, piece_id: int) -> Twin | None:
        """The piece as one that holds the same notes; None if it was taken away."""
        try:
            with self._store.unit_of_work() as work:
                piece, editions = work.pieces.get(piece_id), work.editions.of_piece(piece_id)
        except MissingError:
            return None
        return _twin(piece, editions[0], is_same_file=False) if editions else None

    def _count(self, piece_id: int) -> None:
        canonical = self.canonical(piece_id)
        if canonical is not None and self._by_count is not None:
            self._by_count[note_count_in(canonical)].add(piece_id)


def _twin(piece: Piece, edition: Edition, *, is_same_file: bool) -> Twin:
    return Twin(
        piece_id=piece.id,
        title=piece.title,
        brought_in_at=edition.imported_at,
        is_same_file=is_same_file,
    )
