"""Bringing scores in: one goes to the page, several are listed while they are read.

One file is read on the desk's own thread, as any piece that is opened. Several are the matter of
a ``Batch``, which is only loaded with the first: every start of the program waits for what is
imported here.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.desk import reading
from app.desk.background import Background
from core.errors import UnreadableFileError
from core.score.formats.converting import SUFFIXES

if TYPE_CHECKING:
    from app.bringing.batch import Batch
    from core.notebook.ports import NotebookStore

    _Found = tuple[tuple[Path, int], ...]
    """Files, each with its length in bytes."""

_LATER = None
"""What is found is not known yet: there are folders to look through."""
NOTHING_IN_IT = "There is no score in this folder ({}). Choose another one."


class BringingIn(QObject):
    """What the desk is asked to bring in. Lives on the window's thread.

    Parameters
    ----------
    store : NotebookStore
    background : Background
        On which one file is read, and folders are looked through.
    read : callable
        Reads one score's file.

    Attributes
    ----------
    batch : Batch or None
        Several files that are being brought in, or were last.
    """

    errand_begun = Signal(str)
    """What is being done off the window's thread ("Reading barcarolle.mxl")."""
    errand_ended = Signal()
    opened = Signal(object)
    """One file was read and kept: a ``reading.Opened``, to be shown."""
    noticed = Signal(object)
    """An error, or a sentence, for the one exit."""
    batch_begun = Signal()
    """Several files are being read: whoever can shows them."""
    kept = Signal()
    """There may be more on the shelf."""

    def __init__(
        self,
        store: NotebookStore,
        background: Background,
        read: reading.Reader,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._store, self._background, self._read = store, background, read
        self._errands = 0
        self._is_stopped = False
        self._looking: Background | None = None
        """For folders: a large one would keep pieces from being opened."""
        self.batch: Batch | None = None

    @property
    def is_reading(self) -> bool:
        """Whether files are being read."""
        return self._errands > 0 or (self.batch is not None and self.batch.is_running)

    def bring_in(self, paths: Iterable[Path | str]) -> None:
        """Read a file into the notebook and open it, or several, and all scores in folders."""
        wanted = [Path(path) for path in paths]
        if not wanted:
            return
        self._errands += 1
        self._is_stopped = False
        name = wanted[0].name if len(wanted) == 1 else f"{len(wanted)} files"
        self.errand_begun.emit(f"Reading {name}")
        self._background.run(
            lambda: self._look(wanted), lambda found: self._on_looked(wanted, found)
        )

    def stop(self) -> None:
        """Read no further file; what is read already stays."""
        self._is_stopped = True
        if self.batch is not None:
            self.batch.stop()

    def shut_down(self) -> None:
        """Stop, and wait for what is being read; safe to call twice."""
        self._is_stopped = True
        if self._looking is not None:
            self._looking.shut_down()
        if self.batch is not None:
            self.batch.shut_down()

    # Off the window's thread

    def _look(self, wanted: list[Path]) -> _Found | None:
        """Read one file at once; give the tunes of a book, and nothing yet where it takes long."""
        try:
            if len(wanted) > 1 or wanted[0].is_dir():
                return _LATER
            tunes = [*reading.score_files(wanted)]
            if len(tunes) > 1:
                return _with_lengths(tunes)
            self._read_one(tunes[0])
        except Exception as error:  # noqa: BLE001 - every error goes on to the one exit
            self._background.tell(self.noticed.emit, error)
        return ()

    def _look_through(self, wanted: list[Path]) -> _Found:
        """The scores among these files and in these folders; none where that was stopped."""
        paths = [*reading.score_files(wanted, lambda: self._is_stopped)]
        return () if self._is_stopped else _with_lengths(paths)

    def _read_one(self, path: Path) -> None:
        # It goes on the screen at once; the shelf follows.
        opened = reading.bring_in(self._store, path, datetime.now(UTC), self._read)
        self._background.tell(self.opened.emit, opened)
        if opened.score is not None and opened.score.guesses:
            told = " ".join((f"{path.name}:", *opened.score.guesses))
            self._background.tell(self.noticed.emit, told)

    # Back on it

    def _on_looked(self, wanted: list[Path], found: _Found | None) -> None:
        if found is _LATER:
            if self._looking is None:
                self._looking = Background(self._on_failed, self)
            self._looking.run(
                lambda: self._look_through(wanted),
                lambda several: self._on_looked_through(wanted, several),
            )
            return
        self._end()
        if found:
            self._begin_batch(found, wanted[0].name)
        else:
            self.kept.emit()

    def _on_looked_through(self, wanted: list[Path], found: _Found) -> None:
        self._end()
        if len(found) > 1:
            self._begin_batch(found, wanted[0].name if len(wanted) == 1 else "")
        elif found:
            self.bring_in([found[0][0]])
        elif not self._is_stopped:
            sentence = NOTHING_IN_IT.format(", ".join(SUFFIXES))
            self.noticed.emit(UnreadableFileError(wanted[0], sentence))

    def _on_failed(self, error: BaseException) -> None:
        self._end()
        self.noticed.emit(error)

    def _end(self) -> None:
        self._errands -= 1
        self.errand_ended.emit()

    def _begin_batch(self, found: _Found, where: str) -> None:
        if self.batch is None:
            from app.bringing.batch import Batch

            self.batch = Batch(self._store, self)
            self.batch.kept.connect(self.kept)
            self.batch.noticed.connect(self.noticed)
        self.batch.begin(found, where)
        self.batch_begun.emit()


def _with_lengths(paths: list[Path]) -> _Found:
    # Loaded here, where nobody waits; without Qt, which is the window's.
    import app.bringing.folder_reader  # noqa: F401
    from app.patience import length_bytes

    return tuple((path, length_bytes(path)) for path in paths)
