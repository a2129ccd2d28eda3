"""A typesetter's answers as signals of the window's thread."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

if TYPE_CHECKING:
    from core.score.page_drawing import PageDrawing


class TypesetterSignals(QObject):
    """What a typesetter did, as signals of the thread this object lives in."""

    laid_out = Signal(int, int, float, float)
    drawn = Signal(int, object)
    located = Signal(int, str, int)
    measured = Signal(int, int, float)
    spread = Signal(int, float)
    failed = Signal(int, object)


class SignallingListener:
    """Emits for every answer; the receivers are joined with queued connections."""

    def __init__(self, signals: TypesetterSignals) -> None:
        self._signals = signals

    def laid_out(self, job: int, pages: int, width: float, height: float) -> None:
        self._signals.laid_out.emit(job, pages, width, height)

    def drawn(self, job: int, drawing: PageDrawing) -> None:
        self._signals.drawn.emit(job, drawing)

    def located(self, job: int, element_id: str, page: int) -> None:
        self._signals.located.emit(job, element_id, page)

    def measured(self, job: int, number: int, width: float) -> None:
        self._signals.measured.emit(job, number, width)

    def spread(self, job: int, height: float) -> None:
        self._signals.spread.emit(job, height)

    def failed(self, job: int, error: Exception) -> None:
        self._signals.failed.emit(job, error)
