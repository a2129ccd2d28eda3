"""Several files that are brought in together, without widgets: what became of each of them.

A ``FolderReader`` reads and keeps on a thread of its own; what it tells is taken here, on the
window's thread. The files of the last time stay until others are brought in.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from app import patience
from app.bringing.brought_files import OPEN_STATES, BroughtFile, Counts, FileState
from app.bringing.folder_reader import FolderReader

if TYPE_CHECKING:
    from core.notebook.ports import NotebookStore

SHELF_MS = 500
"""The shelf is read again at most this often while files come in."""
SURE_AFTER_SECONDS = 1.5
"""Of reading: before, how long the rest takes is not said."""


class Batch(QObject):
    """Files, and what became of them.

    Attributes
    ----------
    files : list of BroughtFile
    counts : Counts
    where : str
        The folder they are in; empty for files that were chosen by themselves.
    """

    begun = Signal()
    """Other files, or more of them."""
    file_changed = Signal(int)
    """A file, by its index, stands otherwise now."""
    ended = Signal()
    """No more files are read, for now."""
    noticed = Signal(object)
    """An error that is more than one file's trouble."""
    kept = Signal()
    """There are more pieces on the shelf; said now and then."""
    _told = Signal(object)
    _failed = Signal(object)
    _is_through = Signal(object)

    def __init__(self, store: NotebookStore, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self.files: list[BroughtFile] = []
        self.counts = Counts()
        self.where = ""
        self._reader: FolderReader | None = None
        self._thread: threading.Thread | None = None
        self._began_at = self._cost_done = self._cost_left = 0.0
        self._shelf_timer = QTimer(self)
        self._shelf_timer.setSingleShot(True)
        self._shelf_timer.setInterval(SHELF_MS)
        self._shelf_timer.timeout.connect(self.kept)
        queued = Qt.ConnectionType.QueuedConnection
        self._told.connect(self._put, queued)
        self._failed.connect(self.noticed, queued)
        self._is_through.connect(self._on_through, queued)

    @property
    def is_running(self) -> bool:
        """Whether files are being read, which can be stopped."""
        return self._reader is not None

    @property
    def now(self) -> BroughtFile | None:
        """What is being read; of several files, the first."""
        reading = (file for file in self.files if file.state is FileState.READING)
        return next(reading, None)

    @property
    def seconds_left(self) -> float | None:
        """A guess; None while too little is known, or nothing is read."""
        elapsed = time.monotonic() - self._began_at
        if not self.is_running or elapsed < SURE_AFTER_SECONDS or not self._cost_done:
            return None
        return elapsed / self._cost_done * max(0.0, self._cost_left)

    def of(self, *states: FileState) -> list[BroughtFile]:
        """The files that stand so."""
        return [file for file in self.files if file.state in states]

    def begin(self, found: Iterable[tuple[Path, int]], where: str) -> None:
        """Read these files; behind those that are being read, else in place of the last ones.

        Parameters
        ----------
        found : iterable of (pathlib.Path, int)
            Each with its length in bytes.
        where : str
            As the attribute.
        """
        if not self.is_running:
            # What still asks is not forgotten for it.
            asking = self.of(FileState.ASKS)
            self.files, self.counts, self.where = [], Counts(), where
            self._add(asking)
        elif where != self.where:
            self.where = ""
        files = [BroughtFile(index=0, path=path, length_bytes=length) for path, length in found]
        added = self._add(files)
        self.begun.emit()
        self._read(added)

    def stop(self) -> None:
        """Read no further file; what is read already stays."""
        if self._reader is not None:
            self._reader.stop()

    def go_on(self) -> None:
        """Read those that were left when reading was stopped."""
        self._read_again(self.of(FileState.LEFT))

    def try_again(self, indices: Iterable[int]) -> None:
        """Read files again that could not be read."""
        wanted = [self.files[index] for index in indices]
        self._read_again([file for file in wanted if file.state is FileState.BAD])

    def take_both(self, index: int) -> None:
        """Keep a file beside the piece that holds the same notes."""
        file = self.files[index]
        if file.state is FileState.ASKS:
            self._read_again([replace(file, takes_both=True)])

    def leave(self, index: int) -> None:
        """Leave the piece that is there as the only one."""
        file = self.files[index]
        if file.state is FileState.ASKS:
            self._put(replace(file, state=FileState.HERE))

    def shut_down(self) -> None:
        """Stop, and wait for the thread; safe to call twice."""
        self.stop()
        if self._thread is not None:
            self._thread.join()
        self._shelf_timer.stop()

    # Reading

    def _add(self, files: Sequence[BroughtFile]) -> list[BroughtFile]:
        first = len(self.files)
        added = [replace(file, index=index) for index, file in enumerate(files, start=first)]
        self.files.extend(added)
        for file in added:
            self.counts.move(None, file.state)
        return added

    def _read_again(self, files: Sequence[BroughtFile]) -> None:
        again = [replace(file, state=FileState.WAITING, trouble=None, piece_id=0) for file in files]
        for file in again:
            self._put(file)
        self._read(again)

    def _read(self, files: Sequence[BroughtFile]) -> None:
        if not files:
            return
        self._cost_left += sum(map(_cost, files))
        if self._reader is not None and self._reader.add(files):
            return
        # One that ends just now tells of what it left before this one tells anything.
        self._began_at, self._cost_done = time.monotonic(), 0.0
        self._cost_left = sum(map(_cost, self.of(*OPEN_STATES)))
        reader = FolderReader(self._store, self._tell, self._tell_error)
        reader.add(files)
        before, self._reader = self._thread, reader
        self._thread = threading.Thread(
            target=self._attend, args=(reader, before), name="postil-bringing", daemon=True
        )
        self._thread.start()

    def _attend(self, reader: FolderReader, before: threading.Thread | None) -> None:
        """On the reader's thread."""
        if before is not None:
            before.join()
        reader.run()
        with suppress(RuntimeError):
            self._is_through.emit(reader)

    def _tell(self, file: BroughtFile) -> None:
        # A window that was closed meanwhile has nobody left to tell.
        with suppress(RuntimeError):
            self._told.emit(file)

    def _tell_error(self, error: Exception) -> None:
        with suppress(RuntimeError):
            self._failed.emit(error)

    # What it tells, on the window's thread

    def _put(self, file: BroughtFile) -> None:
        before = self.files[file.index]
        self.files[file.index] = file
        self.counts.move(before.state, file.state)
        if before.state in OPEN_STATES and file.state not in OPEN_STATES:
            self._cost_done += _cost(file)
            self._cost_left -= _cost(file)
        if file.state is FileState.READ and not self._shelf_timer.isActive():
            self._shelf_timer.start()
        self.file_changed.emit(file.index)

    def _on_through(self, reader: FolderReader) -> None:
        if reader is not self._reader:
            return
        self._reader = None
        self._shelf_timer.stop()
        self.kept.emit()
        self.ended.emit()


def _cost(file: BroughtFile) -> float:
    return patience.reading_cost(file.path, file.length_bytes)
