"""What is done with each damaged file: read, kept in a notebook, analysed, told, kept again.

Conventions: a file is either read or sent back with a sentence (``PostilError``). Whatever else
is raised is a failure, warnings too; so is a notebook that holds anything but what was kept.
"""

from __future__ import annotations

import random
import resource
import sqlite3
import time
import traceback
import warnings
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from core.errors import PostilError, UnreadableFileError, UnsupportedScoreError
from core.exchange.contract_json import analysis_object, json_line
from core.notebook.analyses import analyse_score
from core.notebook.kept_analyses import keep, kept
from core.notebook.pieces import BroughtIn, keep_score
from core.notebook.ports import NotebookStore
from core.score.reading import ReadScore, read_bytes, score_from_canonical
from core.storage import open_store
from tests.mutations.mutating import mutated
from tests.mutations.sources import Source

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
LONGEST_SENTENCE = 700
"""Characters; a longer one has something of the file in it that nobody wants to read."""
NOTEBOOK_FILES = {f"notebook.postil{end}" for end in ("", "-wal", "-shm", ".lock")}
READ, REFUSED, FAILED = "read", "refused", "failed"


class Outcome(NamedTuple):
    """What became of one file; ``said`` is the sentence, or the failure."""

    index: int
    kind: str
    file: str
    damage: str
    said: str
    seconds: float
    peak_bytes: int


class InconsistentError(Exception):
    """The notebook, or what is read from it, isn't what was kept."""


@dataclass(slots=True)
class Trial:
    """A worker's notebook, and how many pieces were kept in it."""

    folder: Path
    store: NotebookStore
    count: int = 0

    @classmethod
    def begun(cls, folder: Path) -> Trial:
        """An empty notebook in a folder."""
        warnings.simplefilter("error")
        return cls(folder, open_store(folder / "notebook.postil"))

    def outcome(self, source: Source, *, seed: int, index: int) -> Outcome:
        """Damage a file and take it all the way."""
        data, damage = damaged(source, seed=seed, index=index)
        began = time.process_time()
        try:
            kind, said = self.take(data, source.name)
        except Exception:  # noqa: BLE001 - any other exception is what is looked for
            kind, said = FAILED, traceback.format_exc()
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
        spent = time.process_time() - began
        return Outcome(index, kind, source.name, damage, said, spent, peak)

    def take(self, data: bytes, name: str) -> tuple[str, str]:
        """Read, keep, analyse; say what came of it."""
        try:
            read = read_bytes(data, name=name)
        except PostilError as error:
            self._check_sentence(error, name)
            self._check_notebook()
            return REFUSED, str(error)
        brought = keep_score(self.store, read, source_name=name, now=NOW)
        self.count += not brought.was_there
        analysis = analyse_score(read.score)
        json_line(analysis_object(analysis, path=name))
        version = read.score.canonical_version
        keep(self.store, analysis, canonical_version=version)
        if kept(self.store, analysis.sha256, canonical_version=version) != analysis:
            raise InconsistentError("The kept analysis is another.")
        self._check_kept(read, brought)
        self._check_notebook()
        return READ, f"{len(read.score.notes)} notes"

    def _check_sentence(self, error: PostilError, name: str) -> None:
        if not isinstance(error, UnreadableFileError | UnsupportedScoreError):
            raise InconsistentError(f"No error of a file: {error!r}") from error
        said = str(error)
        is_sentence = said.startswith(name) and said.endswith((".", "...")) and "\n" not in said
        if not is_sentence or len(said) > LONGEST_SENTENCE or not said.isprintable():
            raise InconsistentError(f"No sentence: {said!r}") from error

    def _check_kept(self, read: ReadScore, brought: BroughtIn) -> None:
        with self.store.unit_of_work() as work:
            original = work.editions.original(brought.edition.id)
            canonical = work.editions.canonical(brought.edition.id)
        if not brought.was_there and (original, canonical) != (read.original, read.score.canonical):
            raise InconsistentError("The kept bytes are others.")
        again = score_from_canonical(canonical, sha256=read.score.sha256)
        if again.notes.ids != read.score.notes.ids or again.guesses != read.score.guesses:
            raise InconsistentError("The canonical form is read differently.")

    def _check_notebook(self) -> None:
        """Every piece has its one edition, and there is nothing else."""
        with closing(sqlite3.connect(self.folder / "notebook.postil")) as connection:
            counts = [
                connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
                for table in ("pieces", "editions", "edition_bytes")
            ]
            broken = connection.execute("PRAGMA foreign_key_check").fetchall()
        if counts != [self.count] * 3 or broken:
            raise InconsistentError(f"{self.count} pieces were kept; there are {counts}, {broken}")
        files = {path.name for path in self.folder.iterdir()}
        if not files <= NOTEBOOK_FILES:
            raise InconsistentError(f"Files are left over: {sorted(files - NOTEBOOK_FILES)}")

    def end(self) -> None:
        """Close the notebook."""
        self.store.close()


def damaged(source: Source, *, seed: int, index: int) -> tuple[bytes, str]:
    """The bytes of one case, the same each time, and what was done to them."""
    return mutated(source, random.Random(f"{seed}:{index}"))
