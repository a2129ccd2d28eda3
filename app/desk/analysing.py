"""Having the open piece analysed: from the notebook if it was before, else by a job.

The score is on the screen before this begins. What was computed is kept, and a person's words
on it are put beside it whenever either changes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from app.desk.background import Background
from app.desk.desk_model import DeskModel
from app.jobs import Job, JobProgress, JobRunner

if TYPE_CHECKING:
    from core.notebook.analyses import Analysis
    from core.notebook.values import Judgement

LONGEST_SECONDS = 600.0
"""After which an analysis is given up."""


class Analysing(QObject):
    """The analysis of what lies on the desk.

    Attributes
    ----------
    analysis : Analysis or None
        None until it is there.
    judgements : tuple of Judgement
        The person's words on findings of the open piece.
    """

    analysed = Signal()
    """Another analysis is current, or none."""
    judged = Signal()
    progress_changed = Signal(str)
    """What is being looked at; empty when nothing is."""
    failed = Signal(object)

    def __init__(self, desk: DeskModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.analysis: Analysis | None = None
        self.judgements: tuple[Judgement, ...] = ()
        self._runner = JobRunner(self)
        self._background = Background(self._on_failed, self)
        self._job: Job | None = None
        desk.piece_opened.connect(self._on_piece_opened)
        desk.score_read.connect(lambda: desk.turns.soon(self._begin))

    def stop(self) -> None:
        """Give up what is being computed."""
        if self._job is not None:
            self._job.cancel()
            self._job = None
        self.progress_changed.emit("")

    def take_judgements(self, judgements: tuple[Judgement, ...]) -> None:
        """The person's words on findings are others now."""
        self.judgements = judgements
        self.judged.emit()

    def shut_down(self) -> None:
        """End job and thread; call before the store is closed."""
        self._runner.shut_down()
        self._background.shut_down()

    def _on_piece_opened(self) -> None:
        self.stop()
        self.analysis = None
        self.judgements = ()
        self.analysed.emit()
        if self._desk.piece is not None:
            self._background.run(self._fetch_judgements, self._on_judgements)

    def _fetch_judgements(self) -> tuple[int, tuple[Judgement, ...]]:
        """Of the open piece, with its id; off the window's thread."""
        from core.notebook.judgements import judgements_of

        piece = self._desk.piece
        return (0, ()) if piece is None else (piece.id, judgements_of(self._desk.store, piece.id))

    def _on_judgements(self, fetched: tuple[int, tuple[Judgement, ...]]) -> None:
        piece_id, judgements = fetched
        if self._desk.piece is not None and self._desk.piece.id == piece_id and judgements:
            self.judgements = judgements
            self.judged.emit()

    def _begin(self) -> None:
        edition, score = self._desk.edition, self._desk.score
        if edition is None or score is None or self.analysis is not None:
            return
        self.progress_changed.emit("Looking through the score")
        store, sha256, version = self._desk.store, score.sha256, score.canonical_version

        def fetch() -> Analysis | None:
            from core.notebook.kept_analyses import kept

            return kept(store, sha256, canonical_version=version)

        self._background.run(fetch, self._only_for(sha256, self._on_fetched))

    def _on_fetched(self, analysis: Analysis | None) -> None:
        if analysis is not None:
            self._show(analysis)
        else:
            self._compute()

    def _compute(self) -> None:
        from core.notebook.analysis_jobs import analyse_to_keep

        score, piece = self._desk.score, self._desk.piece
        if score is None or piece is None:
            return
        sha256, version = score.sha256, score.canonical_version
        self._job = self._runner.run(
            analyse_to_keep,
            self._desk.canonical,
            sha256,
            name=f"Analysing {piece.title}",
            on_done=self._only_for(
                sha256, lambda done: self._on_computed(done[0], done[1], version)
            ),
            on_failed=self._on_failed,
            on_progress=self._on_progress,
            timeout_seconds=LONGEST_SECONDS,
        )

    def _on_computed(self, analysis: Analysis, payload: bytes, canonical_version: int) -> None:
        self._job = None
        self._show(analysis)
        store = self._desk.store

        def record() -> bool:
            from core.notebook.kept_analyses import keep_packed

            return keep_packed(store, analysis.sha256, payload, canonical_version=canonical_version)

        self._background.run(record, lambda _: None)

    def _show(self, analysis: Analysis) -> None:
        self.analysis = analysis
        self.progress_changed.emit("")
        self.analysed.emit()

    def _on_progress(self, progress: JobProgress) -> None:
        if self._job is not None and not self._job.is_over:
            self.progress_changed.emit(f"Looking through the score, {progress.word}")

    def _on_failed(self, error: BaseException) -> None:
        self._job = None
        self.progress_changed.emit("")
        self.failed.emit(error)
        self._desk.notice.emit(error)

    def _only_for(self, sha256: str, receive: Callable[[Any], None]) -> Callable[[Any], None]:
        """``receive``, unless another piece lies on the desk by then."""

        def received(value: Any) -> None:
            score = self._desk.score
            if score is not None and score.sha256 == sha256:
                receive(value)

        return received
