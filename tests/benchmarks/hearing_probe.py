"""A child process in which a long piece is analysed, scrolled by wheel and played, all at once.

Run as ``python -m tests.benchmarks.hearing_probe SCORE ORIGIN``, as ``window_probe`` is; sound
goes to an output that listens. Afterwards a passage is played a few times, and findings are
confirmed, with nothing else to do. Prints one JSON object:

stalls_ms         gaps between two turns of the event loop while all of it went on: 99.9th
                  percentile and worst
longest           the longest of them in ms, and when they ended, in ms after the start
turns, seconds    how many turns, in how long
underruns         how often the output ran dry, over all playings
first_play_ms     from the key to the first samples, the player's process not yet begun
key_to_sound_ms   the same for each later playing
judgements_ms     from Y to the last view painted, each
painted           the views that were painted for the first of them
memory_mb         peak resident memory of the window's process
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from tests.benchmarks import window_probe

NOTED = "POSTIL_TEST_NOTED"
WHEEL_EVERY_MS, WHEEL_STEP = 20, 60
ANALYSED_MS, BETWEEN_MS = 1500, 500
"""How long all goes on after the analysis is shown; from one measurement to the next."""
PLAYINGS, JUDGEMENTS = 9, 9
LONGEST_SECONDS = 150.0


class Beats:
    """The gaps between two turns of the event loop."""

    def __init__(self, parent: Any) -> None:
        from PySide6.QtCore import Qt, QTimer

        self.at: list[float] = [time.monotonic()]
        self._timer = QTimer(parent, interval=1, timerType=Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._on_beat)
        self._timer.start()

    def _on_beat(self) -> None:
        self.at.append(time.monotonic())

    def gaps(self, begun: float, ended: float) -> list[tuple[float, float]]:
        """Length and end of each, in seconds."""
        pairs = zip(self.at, self.at[1:], strict=False)
        return [(after - before, after) for before, after in pairs if begun <= before <= ended]

    def first_after(self, moment: float) -> float:
        return next(at for at in self.at if at >= moment)


class Probe:
    """Steps one after the other; each says in how many milliseconds, or when, it goes on."""

    def __init__(self, window: Any) -> None:
        from PySide6.QtCore import QTimer

        self._window, self.beats = window, Beats(window)
        self.found: dict[str, Any] = {}
        self._sounded: list[float] = []
        self._listen(window.hearing.listening)
        self._steps = self._all()
        self._until: Callable[[], bool] = lambda: True
        self._resume_at = 0.0
        self._clock = QTimer(window, interval=5)
        self._clock.timeout.connect(self._on_clock)
        self._clock.start()
        self._wheel = QTimer(window, interval=WHEEL_EVERY_MS)
        self._wheel.timeout.connect(self._on_wheel)
        self._direction = -1

    def _listen(self, listening: Any) -> None:
        listening.first_sound.connect(self._sounded.append)

    def _on_clock(self) -> None:
        if time.monotonic() - window_probe.ORIGIN > LONGEST_SECONDS:
            raise SystemExit("the probe came to no end")
        if time.monotonic() >= self._resume_at and self._until():
            self._until, self._resume_at = lambda: True, 0.0
            try:
                wanted = next(self._steps)
            except StopIteration:
                self._tell()
                return
            if callable(wanted):
                self._until = wanted
            else:
                self._resume_at = time.monotonic() + wanted / 1000

    # What is done

    def _all(self) -> Iterator[Callable[[], bool] | float]:
        window = self._window
        yield lambda: window.view is not None and window.desk.score is not None
        yield from self._all_at_once()
        yield from self._play_again_and_again()
        yield from self._judge()

    def _all_at_once(self) -> Iterator[Callable[[], bool] | float]:
        window, begun = self._window, time.monotonic()
        window.desk.select_measures(9, 16)
        window.hearing.loop()
        self._wheel.start()
        yield 300
        pressed = self._press_space()
        yield lambda: bool(self._sounded)
        self.found["first_play_ms"] = (self._sounded[0] - pressed) * 1000
        yield lambda: window.finding_out.analysis is not None
        yield ANALYSED_MS
        self._wheel.stop()
        self._press_space()
        gaps = sorted(self.beats.gaps(begun, time.monotonic()))
        only = [gap for gap, _ in gaps]
        self.found |= {
            "stalls_ms": [only[int(len(only) * 0.999)] * 1000, only[-1] * 1000],
            "longest": [
                (round(gap * 1000), round((at - window_probe.ORIGIN) * 1000))
                for gap, at in reversed(gaps[-6:])
            ],
            "turns": len(gaps),
            "seconds": time.monotonic() - begun,
        }

    def _play_again_and_again(self) -> Iterator[Callable[[], bool] | float]:
        took = []
        for playing in range(PLAYINGS):
            self._window.desk.select_measures(20 + 10 * playing, 23 + 10 * playing)
            yield BETWEEN_MS
            count, pressed = len(self._sounded), self._press_space()
            yield lambda count=count: len(self._sounded) > count  # type: ignore[misc]
            took.append((self._sounded[-1] - pressed) * 1000)
            yield 100
            self._press_space()
        self.found["key_to_sound_ms"] = took

    def _judge(self) -> Iterator[Callable[[], bool] | float]:
        from PySide6.QtCore import Qt
        from PySide6.QtTest import QTest

        window, took = self._window, []
        window.desk.select_measures(0, 0)
        yield BETWEEN_MS
        window.here.focus_findings()
        yield BETWEEN_MS
        watch = self._watch_paints()
        panel = window.here.findings
        for _ in range(JUDGEMENTS):
            view = panel.focused_view()
            if view is None:
                break
            watch.painted.clear()
            pressed = time.monotonic()
            QTest.keyClick(view, Qt.Key.Key_Y)
            yield BETWEEN_MS
            painted = [(name, at) for name, at in watch.painted if at >= pressed]
            last = self.beats.first_after(max(at for _, at in painted))
            took.append((last - pressed) * 1000)
            self.found.setdefault("painted", sorted({name for name, _ in painted}))
            QTest.keyClick(view, Qt.Key.Key_Down)
            yield BETWEEN_MS
        self.found["judgements_ms"] = took

    # How

    def _press_space(self) -> float:
        from PySide6.QtCore import Qt
        from PySide6.QtTest import QTest

        pressed = time.monotonic()
        QTest.keyClick(self._window.view, Qt.Key.Key_Space)
        return pressed

    def _on_wheel(self) -> None:
        from PySide6.QtCore import QPoint, QPointF, Qt
        from PySide6.QtGui import QWheelEvent
        from PySide6.QtWidgets import QApplication

        view = self._window.view
        bar = view.verticalScrollBar()
        if bar.value() >= bar.maximum():
            self._direction = 1
        elif bar.value() <= bar.minimum():
            self._direction = -1
        middle = QPointF(view.viewport().rect().center())
        event = QWheelEvent(
            middle,
            view.viewport().mapToGlobal(middle),
            QPoint(),
            QPoint(0, self._direction * WHEEL_STEP),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(view.viewport(), event)

    def _watch_paints(self) -> Any:
        """Notes when the window was painted, and when each of its parts; few objects are watched,
        for each event of theirs costs time that is measured."""
        from PySide6.QtCore import QEvent, QObject

        window = self._window
        named = {
            "window": window,
            "form line": window.form_line,
            "score": window.view.viewport(),
            "margin": window.here.findings,
        }

        class Watch(QObject):
            def __init__(self, parent: QObject) -> None:
                super().__init__(parent)
                self.painted: list[tuple[str, float]] = []

            def eventFilter(self, watched: QObject, event: QEvent) -> bool:
                if event.type() in (QEvent.Type.Paint, QEvent.Type.UpdateRequest):
                    name = next((n for n, part in named.items() if part is watched), "window")
                    self.painted.append((name, time.monotonic()))
                return False

        self._watch = Watch(window)
        for part in (*named.values(), window.windowHandle()):
            part.installEventFilter(self._watch)
        return self._watch

    def _tell(self) -> None:
        from PySide6.QtWidgets import QApplication

        self._clock.stop()
        noted = Path(os.environ[NOTED]).read_text().split()
        self.found["underruns"] = sum(map(int, noted))
        self.found["memory_mb"] = window_probe.peak_memory_mb()
        print(json.dumps(self.found), flush=True)
        self._window.close()
        QApplication.quit()


def _watch(module: Any) -> None:
    """Have the main window play to an output that listens, and start a probe when it is shown."""
    from functools import partial

    from app.sound.player_process import PlayerProcess
    from tests.app.sound.listeners import doors, open_noting_output

    hearing, show = module.Hearing, module.MainWindow.show
    link = partial(PlayerProcess, doors(open_noting_output))
    module.Hearing = partial(hearing, open_link=link)

    def shown(window: Any) -> None:
        show(window)
        window.probe = Probe(window)

    module.MainWindow.show = shown


if __name__ == "__main__":
    window_probe.ORIGIN = float(sys.argv[2])  # type: ignore[attr-defined]
    window_probe._watch = _watch
    os.environ[NOTED] = f"{os.environ['POSTIL_HOME']}-noted"
    sys.meta_path.insert(0, window_probe._Finder)  # type: ignore[arg-type]  # by its classmethod
    from app.main import run

    run(["open", sys.argv[1]])
