"""A child process that opens the window like ``postil open`` and says what it measured.

Run as ``python -m tests.benchmarks.window_probe SCORE ORIGIN``: ORIGIN is ``time.monotonic()`` of
the parent just before it started this process. Prints one JSON object:

first_page_cpu_seconds  processor time of this process up to then
first_page_seconds  from the start of the process to page 1 on the screen
stalls_ms           gaps between two turns of the event loop from the window's appearance, over
                    loading and a scroll through the whole piece: 99.9th percentile and worst
memory_mb           peak resident memory of the process
"""

from __future__ import annotations

import json
import re
import resource
import sys
import time
from contextlib import suppress
from importlib.abc import Loader
from importlib.machinery import ModuleSpec, PathFinder
from pathlib import Path
from types import ModuleType
from typing import Any

SCROLL_STEP, SCROLL_EVERY_MS = 90, 15
"""A brisk scroll: six pages of 900 pixels a second."""


def peak_memory_mb() -> float:
    """Most resident memory of this process. Before it was replaced by this program, it was a copy
    of its parent, and ``getrusage`` counts that too; Linux's own count doesn't."""
    with suppress(OSError):
        found = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text("ascii"))
        if found:
            return int(found[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


class _Patching(Loader):
    """Runs a module as it is, then hands it to ``patch``: nothing is imported earlier for it."""

    def __init__(self, loader: Loader) -> None:
        self._loader = loader

    def create_module(self, spec: ModuleSpec) -> ModuleType | None:
        return self._loader.create_module(spec)

    def exec_module(self, module: ModuleType) -> None:
        self._loader.exec_module(module)
        _watch(module)


class _Finder(PathFinder):
    @classmethod
    def find_spec(cls, fullname: str, path: Any = None, target: Any = None) -> ModuleSpec | None:
        spec = super().find_spec(fullname, path, target) if fullname == "app.window" else None
        if spec is not None and spec.loader is not None:
            spec.loader = _Patching(spec.loader)
        return spec


class Probe:
    """Counts the gaps between two turns of the event loop, and scrolls."""

    def __init__(self, window: Any, origin: float) -> None:
        from PySide6.QtCore import Qt, QTimer

        self._window, self._origin = window, origin
        self._gaps: list[float] = []
        self._begun = self._last = time.monotonic()
        self._first_page: float | None = None
        self._beat = QTimer(window, interval=1, timerType=Qt.TimerType.PreciseTimer)
        self._beat.timeout.connect(self._on_beat)
        self._scroll = QTimer(window, interval=SCROLL_EVERY_MS)
        self._scroll.timeout.connect(self._on_scroll)
        self._watching = QTimer(window, interval=1)
        self._watching.timeout.connect(self._on_watch)
        self._watching.start()
        self._beat.start()

    def _on_watch(self) -> None:
        view = self._window.view
        if view is not None:
            self._watching.stop()
            view.first_page_shown.connect(self._on_first_page)

    def _on_beat(self) -> None:
        now = time.monotonic()
        self._gaps.append(now - self._last)
        self._last = now

    def _on_first_page(self) -> None:
        from PySide6.QtCore import QTimer

        self._first_page = time.monotonic() - self._origin
        self._first_page_cpu = time.process_time()
        # The score's notes follow the first page; they belong to loading too.
        QTimer.singleShot(1500, self._scroll.start)

    def _on_scroll(self) -> None:
        bar = self._window.view.verticalScrollBar()
        if bar.value() >= bar.maximum():
            self._scroll.stop()
            self._tell()
        bar.setValue(bar.value() + SCROLL_STEP)

    def _longest(self) -> list[tuple[int, int]]:
        """The five longest gaps in ms, and when they ended, in ms after the start."""
        ends, now = [], self._begun
        for gap in self._gaps:
            now += gap
            ends.append((round(gap * 1000), round((now - self._origin) * 1000)))
        return sorted(ends, reverse=True)[:5]

    def _tell(self) -> None:
        from PySide6.QtWidgets import QApplication

        gaps = sorted(self._gaps)
        found = {
            "first_page_seconds": self._first_page,
            "first_page_cpu_seconds": self._first_page_cpu,
            "stalls_ms": [gaps[int(len(gaps) * 0.999)] * 1000, gaps[-1] * 1000],
            "turns": len(gaps),
            "longest": self._longest(),
            "memory_mb": peak_memory_mb(),
        }
        print(json.dumps(found), flush=True)
        self._window.close()
        QApplication.quit()


def _watch(module: Any) -> None:
    """Have the main window start a probe when it is shown."""
    show = module.MainWindow.show

    def shown(window: Any) -> None:
        show(window)
        window.probe = Probe(window, ORIGIN)

    module.MainWindow.show = shown


if __name__ == "__main__":
    ORIGIN = float(sys.argv[2])
    sys.meta_path.insert(0, _Finder)  # type: ignore[arg-type]  # a finder by its classmethod
    from app.main import run

    run(["open", sys.argv[1]])
