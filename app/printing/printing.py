"""Has a score printed off the window's thread, tells how far it is, and can be stopped."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from uuid import uuid4

from PySide6.QtCore import QObject, Signal

from app.jobs import Job, JobProgress, JobRunner
from app.printing.print_wish import Printed, PrintWish
from app.printing.print_work import print_score

LONGEST_SECONDS = 1800.0
"""After which a printing is given up."""


class Printing(QObject):
    """One printing at a time."""

    progress_changed = Signal(float, str)
    """Share (0 to 1) and what is being done."""
    printed = Signal(object)
    """``Printed``: the file is there."""
    failed = Signal(object)
    over = Signal()
    """Nothing is being printed any more, whatever came of it."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._runner = JobRunner(self)
        self._job: Job | None = None
        self._beside: Path | None = None

    @property
    def is_busy(self) -> bool:
        """Whether something is being printed."""
        return self._job is not None

    def begin(self, wish: PrintWish) -> None:
        """Print; what was being printed is given up."""
        self.stop()
        self._beside = wish.beside
        self._job = self._runner.run(
            print_score,
            wish,
            name=f"Printing {wish.title or 'the score'}",
            on_done=self._on_done,
            on_failed=self._on_failed,
            on_progress=self._on_progress,
            timeout_seconds=LONGEST_SECONDS,
        )

    def stop(self) -> None:
        """Give up what is being printed; of its file nothing stays."""
        job, self._job = self._job, None
        if job is not None:
            job.cancel()
            self._clear_away()
            self.over.emit()

    def shut_down(self) -> None:
        """Give it up for good; safe to call twice."""
        self._job = None
        self._runner.shut_down()
        self._clear_away()

    def _clear_away(self) -> None:
        beside, self._beside = self._beside, None
        if beside is not None:
            with suppress(OSError):
                beside.unlink(missing_ok=True)

    def _on_progress(self, progress: JobProgress) -> None:
        self.progress_changed.emit(progress.share, progress.word)

    def _on_done(self, printed: Printed) -> None:
        self._job = self._beside = None
        self.printed.emit(printed)
        self.over.emit()

    def _on_failed(self, error: Exception) -> None:
        self._job = None
        self._clear_away()
        self.failed.emit(error)
        self.over.emit()


def beside(path: Path) -> Path:
    """A name in the same folder that is free, to write to before the file is whole."""
    return path.with_name(f".{path.stem}-{uuid4().hex[:8]}.pdf")
