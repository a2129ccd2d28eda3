"""Reads many files in workers and keeps what they hold, on a thread of its own. No Qt.

Read, keep, tell: a worker reads, this thread keeps (one transaction a file, so that nothing is
ever half stored), and whoever listens is told what became of the file. Files are given to the
workers a few at a time, so that few scores are in memory and a stop is heeded at once.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from app import patience
from app.bringing import reading_apart
from app.bringing.already_here import AlreadyHere
from app.bringing.brought_files import BroughtFile, FileState, trouble_of
from app.crew import Crew, Terms
from app.job_process import NICENESS
from app.outcomes import TookTooLongError, TookTooMuchError, WorkerDiedError
from core.errors import PostilError, StorageError
from core.score.score_files import sha256_of

if TYPE_CHECKING:
    from app.bringing.brought_files import Twin
    from app.bringing.reading_apart import ReadFile
    from core.notebook.ports import NotebookStore

    Work = Callable[[Path | bytes], ReadFile | str]

AT_MOST = 4
"""Workers; the window and what sounds keep a processor where there are several."""
MEMORY_BYTES = 2**30
LOOK_SECONDS = 0.1
"""How soon a stop, or another file, is noticed while nothing comes back."""


_AS_KEPT = Path("kept.musicxml")
"""The canonical form is MusicXML."""


@dataclass(frozen=True, slots=True)
class _File:
    index: int


@dataclass(frozen=True, slots=True)
class _Shelved:
    piece_id: int


class FolderReader:
    """Reads files until there are none left, or it is stopped.

    Parameters
    ----------
    store : NotebookStore
    tell : callable
        Takes each file as it stands now; called on the reader's thread.
    tell_error : callable
        Takes what is more than one file's trouble: a bug, or a notebook that can't be written.
    work : callable, optional
        What workers do with a file, or with a canonical form; importable by name.
    workers : int, optional
        How many; by default one less than there are processors, at least one.
    """

    def __init__(
        self,
        store: NotebookStore,
        tell: Callable[[BroughtFile], None],
        tell_error: Callable[[Exception], None],
        *,
        work: Work = reading_apart.work,
        workers: int | None = None,
    ) -> None:
        self._store, self._tell, self._tell_error, self._work = store, tell, tell_error, work
        self._workers = workers or max(1, min(AT_MOST, (os.cpu_count() or 2) - 1))
        self._lock = threading.Lock()
        self._waiting: deque[BroughtFile] = deque()
        self._is_stopped = self._is_over = False
        self._begun: dict[int, BroughtFile] = {}
        self._compared: dict[int, ReadFile] = {}
        """Files whose notes are compared with pieces that are being read from the shelf."""
        self._asked_for: set[int] = set()
        self._here = AlreadyHere(store)

    def add(self, files: Sequence[BroughtFile]) -> bool:
        """Read these too; False if it has ended, or is about to. From any thread."""
        with self._lock:
            if self._is_over or self._is_stopped:
                return False
            self._waiting.extend(files)
            return True

    def stop(self) -> None:
        """Read no more, and drop what is being read. From any thread."""
        self._is_stopped = True

    def run(self) -> None:
        """Read; comes back when all is done or stopped."""
        self._crew: Crew[_File | _Shelved, Path | bytes, ReadFile | str] = Crew(
            self._work,
            Terms(size=self._workers, niceness=NICENESS, memory_bytes=MEMORY_BYTES),
            on_begun=self._on_begun,
        )
        try:
            while not self._is_stopped and self._has_more():
                self._give()
                for key, outcome in self._crew.gather(LOOK_SECONDS):
                    self._take(key, outcome)
        except Exception as error:  # noqa: BLE001 - the one exit for errors takes it
            self._tell_error(error)
        finally:
            self._crew.dismiss()
            self._leave_the_rest()

    def _has_more(self) -> bool:
        with self._lock:
            self._is_over = not (self._waiting or self._begun)
            return not self._is_over

    def _leave_the_rest(self) -> None:
        with self._lock:
            self._is_over = True
            left = [*self._begun.values(), *self._waiting]
            self._waiting.clear()
        for file in left:
            self._tell(replace(file, state=FileState.LEFT))

    def _give(self) -> None:
        """Have a file at hand for each worker, beside the one that it reads."""
        while self._crew.unanswered < 2 * self._workers and not self._is_stopped:
            with self._lock:
                if not self._waiting:
                    return
                file = self._waiting.popleft()
            self._begin(file)

    def _begin(self, file: BroughtFile) -> None:
        try:
            twin = self._here.same_file(sha256_of(file.path))
        except PostilError as error:
            self._fail(file, error)
            return
        if twin is not None:
            self._tell_same(file, twin)
            return
        self._begun[file.index] = file
        seconds = patience.reading_seconds(file.path, file.length_bytes)
        self._crew.give(_File(file.index), file.path, seconds=seconds)

    def _on_begun(self, key: _File | _Shelved) -> None:
        if isinstance(key, _File):
            file = replace(self._begun[key.index], state=FileState.READING)
            self._begun[key.index] = file
            self._tell(file)

    def _take(self, key: _File | _Shelved, outcome: ReadFile | str | Exception) -> None:
        if isinstance(key, _Shelved):
            # A piece that can't be read again holds the notes of no file.
            self._here.learn(key.piece_id, outcome if isinstance(outcome, str) else "")
            for index in list(self._compared):
                self._decide(self._begun[index], self._compared.pop(index))
        elif isinstance(outcome, reading_apart.ReadFile):
            self._decide(self._begun[key.index], outcome)
        else:
            assert isinstance(outcome, Exception)
            self._fail(self._begun.pop(key.index), outcome)

    def _decide(self, file: BroughtFile, read: ReadFile) -> None:
        """Keep it, or ask where the same notes are on the shelf; or find that out first."""
        try:
            # Another of these files, kept a moment ago, may be the same.
            same = self._here.same_file(read.score.sha256)
            if same is not None:
                self._tell_same(self._begun.pop(file.index), same)
                return
            others = [] if file.takes_both else self._here.candidates(read.note_count)
            unknown = [id_ for id_ in others if self._here.digest(id_) is None]
            if any(self._compare(piece_id) for piece_id in unknown):
                self._compared[file.index] = read
                return
            alike = (id_ for id_ in others if self._here.digest(id_) == read.notes_digest)
            twin = next(filter(None, map(self._here.twin, alike)), None)
            if twin is not None:
                self._ask(self._begun.pop(file.index), read, twin)
            else:
                self._keep(file, read)
        except StorageError as error:
            self._fail(self._begun.pop(file.index), error)

    def _compare(self, piece_id: int) -> bool:
        """Have a piece of the shelf read, once; whether there is one."""
        if piece_id in self._asked_for:
            return True
        canonical = self._here.canonical(piece_id)
        if canonical is None:
            self._here.learn(piece_id, "")
            return False
        self._asked_for.add(piece_id)
        seconds = patience.reading_seconds(_AS_KEPT, len(canonical))
        self._crew.give(_Shelved(piece_id), canonical, seconds=seconds)
        return True

    def _keep(self, file: BroughtFile, read: ReadFile) -> None:
        from core.notebook.pieces import keep

        brought = keep(self._store, read.score, source_name=file.path.name, now=datetime.now(UTC))
        del self._begun[file.index]
        self._here.add(brought, read.note_count, read.notes_digest)
        self._tell(
            replace(
                _described(file, read),
                state=FileState.READ,
                piece_id=brought.piece.id,
                title=brought.piece.title,
                composer=brought.piece.composer,
            )
        )

    def _ask(self, file: BroughtFile, read: ReadFile, twin: Twin) -> None:
        asking = replace(_described(file, read), state=FileState.ASKS, twin=twin)
        self._tell(replace(asking, piece_id=twin.piece_id))

    def _tell_same(self, file: BroughtFile, twin: Twin) -> None:
        same = replace(file, state=FileState.HERE, twin=twin, piece_id=twin.piece_id)
        self._tell(replace(same, title=twin.title))

    def _fail(self, file: BroughtFile, error: Exception) -> None:
        """One file's trouble; where the notebook can't be written, the others' too."""
        self._tell(replace(file, state=FileState.BAD, trouble=trouble_of(error)))
        if isinstance(error, StorageError):
            self.stop()
        if isinstance(error, StorageError) or is_bug(error):
            self._tell_error(error)


def is_bug(error: Exception) -> bool:
    """Whether an error is nothing that a person can act on."""
    known = (PostilError, TookTooLongError, TookTooMuchError, WorkerDiedError)
    return not isinstance(error, known)


def _described(file: BroughtFile, read: ReadFile) -> BroughtFile:
    return replace(
        file,
        title=read.score.title or file.path.stem,
        composer=read.score.composer,
        measures=read.measures,
        format=read.format,
        noticed=read.noticed,
    )
