"""The sample notebook, brought in behind its first piece.

The first piece is on the screen before any of this begins. Then piece after piece is read, kept
and written about on a thread; the window takes what is new between two pieces, when the thread
asks nothing of the store, so that neither waits for the other.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from app.desk.background import Background
from app.desk.desk_model import DeskModel
from app.edits.remark_edits import zone

if TYPE_CHECKING:
    from core.notebook.sample_notebook import SamplePiece
    from core.notebook.values import Judgement
    from core.score.score import Score

BETWEEN_MS = 150
"""From one piece to the next: what is new of the first is shown before the thread reads on."""
TakeJudgements = Callable[[tuple["Judgement", ...]], None]


@dataclass(frozen=True, slots=True)
class _Kept:
    """A piece of the sample that is in the notebook with all that is said of it."""

    piece_id: int
    judgements: tuple[Judgement, ...]


class SampleNotebook(QObject):
    """Fills a notebook with the sample, from the moment on that its first piece is read.

    Parameters
    ----------
    desk : DeskModel
        On which the first piece is being opened.
    folder : pathlib.Path
        The sample library.
    take_judgements : callable
        Takes the words on findings of the piece that is open.
    """

    finished = Signal()
    """All of it is in the notebook."""

    def __init__(
        self,
        desk: DeskModel,
        folder: Path,
        take_judgements: TakeJudgements,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk, self._folder, self._take_judgements = desk, folder, take_judgements
        self._background = Background(desk.notice.emit, self)
        self._waiting: deque[SamplePiece] = deque()
        self._zone = zone()
        desk.score_read.connect(self._on_score_read)

    def shut_down(self) -> None:
        """Let the thread end; call before the store is closed."""
        self._background.shut_down()

    def _on_score_read(self) -> None:
        self._desk.score_read.disconnect(self._on_score_read)
        self._background.run(self._read, self._on_read)

    def _read(self) -> tuple[SamplePiece, ...]:
        from core.notebook.sample_notebook import read_sample

        return read_sample(self._folder)

    def _on_read(self, pieces: tuple[SamplePiece, ...]) -> None:
        self._waiting.extend(pieces)
        self._desk.turns.soon(self._next)

    def _next(self) -> None:
        if not self._waiting:
            self.finished.emit()
            return
        sample, desk = self._waiting.popleft(), self._desk
        known = None
        if desk.piece is not None and desk.score is not None and desk.edition is not None:
            is_open = desk.edition.source_name == sample.file
            known = (desk.piece.id, desk.score) if is_open else None
        self._background.run(partial(self._keep, sample, known), self._on_kept)

    def _keep(self, sample: SamplePiece, known: tuple[int, Score] | None) -> _Kept:
        """Off the window's thread: one piece with its remarks and judgements."""
        from core.notebook.judgements import judgements_of
        from core.notebook.sample_notebook import write_down

        store, now = self._desk.store, datetime.now(UTC)
        piece_id, score = known or self._keep_score(sample, now)
        write_down(store, sample, piece_id=piece_id, score=score, now=now, zone=self._zone)
        return _Kept(piece_id, judgements_of(store, piece_id))

    def _keep_score(self, sample: SamplePiece, now: datetime) -> tuple[int, Score]:
        from core.notebook.pieces import keep_score, mark_opened
        from core.score.reading import read_score

        read = read_score(self._folder / sample.file)
        brought = keep_score(self._desk.store, read, source_name=sample.file, now=now)
        opened_at = now - timedelta(days=sample.opened_days_ago)
        mark_opened(self._desk.store, brought.piece.id, opened_at)
        return brought.piece.id, read.score

    def _on_kept(self, kept: _Kept) -> None:
        desk = self._desk
        if desk.piece is not None and desk.piece.id == kept.piece_id:
            desk.reload_remarks()
            self._take_judgements(kept.judgements)
        else:
            desk.fetch_pieces()
        QTimer.singleShot(BETWEEN_MS, self, self._next)
