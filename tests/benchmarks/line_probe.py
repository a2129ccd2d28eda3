"""A child process that opens the window, makes one long line of the score, and prints it.

Run as ``python -m tests.benchmarks.line_probe SCORE ORIGIN``, as ``window_probe``. Prints one JSON
object:

first_chunk_seconds    from the wish for one line to its beginning on the screen
all_measured_seconds   from the wish until the line has its full length
far_seconds            from the wish for the last measure to its notes on the screen
line_stalls_ms         gaps between two turns of the event loop from the wish on, over a scroll
                       through the whole line: 99.9th percentile and worst
print_seconds          from the wish to print until the PDF is there, with pages as ``pages``
print_stalls_ms        the same gaps meanwhile
..._of_work            the most processor time of the window's thread in one of those turns: on a
                       busy machine a gap is mostly waiting
memory_mb              peak resident memory of the process
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.benchmarks.window_probe import peak_memory_mb

SCROLL_STEP, SCROLL_EVERY_MS = 120, 15
"""A brisk scroll: eight windows of 1,000 pixels a second."""
LOOK_MS = 5
QUIET_SECONDS = 2.0


class LineProbe:
    """Steps of one story, each begun when the one before is done; counts gaps all along."""

    def __init__(self, window: Any) -> None:
        from PySide6.QtCore import Qt, QTimer

        self._window = window
        self._found: dict[str, Any] = {}
        self._gaps: list[float] = []
        self._work: list[float] = []
        self._last, self._worked = time.monotonic(), time.thread_time()
        self._beat = QTimer(window, interval=1, timerType=Qt.TimerType.PreciseTimer)
        self._beat.timeout.connect(self._on_beat)
        self._beat.start()
        self._waiting = QTimer(window, interval=LOOK_MS)
        self._waiting.timeout.connect(self._on_look)
        self._is_there: Callable[[], bool] = lambda: False
        self._then: Callable[[], None] = lambda: None
        self._scroll = QTimer(window, interval=SCROLL_EVERY_MS)
        self._scroll.timeout.connect(self._on_scroll)
        self._wait(self._is_quiet, self._make_one_line)

    def _on_beat(self) -> None:
        now, worked = time.monotonic(), time.thread_time()
        self._gaps.append(now - self._last)
        self._work.append(worked - self._worked)
        self._last, self._worked = now, worked

    def _wait(self, is_there: Callable[[], bool], then: Callable[[], None]) -> None:
        self._began = time.monotonic()
        self._is_there, self._then = is_there, then
        self._waiting.start()

    def _on_look(self) -> None:
        if self._is_there():
            self._waiting.stop()
            self._then()

    def _is_quiet(self) -> bool:
        """The piece is open and looked through, and a moment has gone by."""
        if self._window.finding_out.analysis is None:
            self._began = time.monotonic()
        return time.monotonic() - self._began > QUIET_SECONDS

    def _take_stalls(self, name: str) -> None:
        gaps, work = sorted(self._gaps), max(self._work)
        self._found[name] = [gaps[int(len(gaps) * 0.999)] * 1000, gaps[-1] * 1000]
        self._found[f"{name}_of_work"] = work * 1000
        self._begin_counting()

    def _begin_counting(self) -> None:
        self._gaps, self._work = [], []
        self._last, self._worked = time.monotonic(), time.thread_time()

    # ------------------------------------------------------------------ the line

    def _make_one_line(self) -> None:
        self._begin_counting()
        self._window.doing.do("one_line")
        pages = self._window.view._pages
        self._wait(
            lambda: bool(pages.items) and pages.is_line and pages.items[0].image is not None,
            self._on_first_chunk,
        )
        self._wished = self._began

    def _on_first_chunk(self) -> None:
        self._found["first_chunk_seconds"] = time.monotonic() - self._wished
        pages = self._window.view._pages
        self._wait(lambda: pages.is_placed(len(pages.items)), self._on_all_measured)

    def _on_all_measured(self) -> None:
        self._found["all_measured_seconds"] = time.monotonic() - self._wished
        pages, last = self._window.view._pages, len(self._window.desk.score.measures) - 1
        self._window.desk.going_to.emit(last)
        self._wait(lambda: pages.items[-1].image is not None, self._on_far)

    def _on_far(self) -> None:
        self._found["far_seconds"] = time.monotonic() - self._began
        self._window.view.horizontalScrollBar().setValue(0)
        self._scroll.start()

    def _on_scroll(self) -> None:
        bar = self._window.view.horizontalScrollBar()
        if bar.value() >= bar.maximum():
            self._scroll.stop()
            self._take_stalls("line_stalls_ms")
            self._found["memory_mb"] = peak_memory_mb()
            self._print()
            return
        bar.setValue(bar.value() + SCROLL_STEP)

    # ------------------------------------------------------------------ paper

    def _print(self) -> None:
        from PySide6.QtCore import QTimer

        window = self._window
        window.doing.do("print")
        page = window.pages.made["print"]
        page.choose_file = lambda: str(Path(sys.argv[1]).with_suffix(".pdf"))
        page.printing.printed.connect(self._on_printed)
        QTimer.singleShot(500, self._begin_to_print)

    def _begin_to_print(self) -> None:
        self._began = time.monotonic()
        self._begin_counting()
        self._window.pages.made["print"].begin.click()

    def _on_printed(self, printed: Any) -> None:
        from PySide6.QtWidgets import QApplication

        self._found["print_seconds"] = time.monotonic() - self._began
        self._found["pages"] = printed.sheets
        self._take_stalls("print_stalls_ms")
        print(json.dumps(self._found), flush=True)
        self._window.close()
        QApplication.quit()


def _watch() -> None:
    """Have the main window start a probe when it is shown."""
    from app.window import MainWindow

    show = MainWindow.show

    def shown(window: Any) -> None:
        show(window)
        window.probe = LineProbe(window)

    MainWindow.show = shown  # type: ignore[method-assign]


if __name__ == "__main__":
    _watch()
    from app.main import run

    run(["open", sys.argv[1]])
