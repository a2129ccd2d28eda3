"""The demo: one piece is on the screen, the others and all that is written follow behind it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.desk.sample import SampleNotebook
from app.kept_where import HOME_VARIABLE
from app.window import MainWindow
from core.notebook.judgements import judgements_of
from core.notebook.remarks import remarks_of
from core.notebook.sample_notebook import read_sample
from core.resources import sample_library

OpenWindow = Callable[[], AbstractContextManager[MainWindow]]
SAMPLES = {sample.file: sample for sample in read_sample(sample_library())}
FIRST = "barcarolle.musicxml"
PATIENCE_MS = 30_000
DEMO = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app import bootstrap
from app.desk.sample import SampleNotebook
from app.window import MainWindow

def window():
    return next(w for w in QApplication.topLevelWidgets() if isinstance(w, MainWindow))

def when_shown():
    seen = [w for w in QApplication.topLevelWidgets() if isinstance(w, MainWindow)]
    sample = seen[0].findChild(SampleNotebook) if seen else None
    if sample is None:
        QTimer.singleShot(5, when_shown)
    elif sys.argv[1] == "whole":
        sample.finished.connect(tell)
    else:
        seen[0].desk.remarks_changed.connect(lambda: seen[0].desk.remarks and tell())

def tell():
    from core.notebook.pieces import shelf
    desk = window().desk
    print(len(shelf(desk.store)), desk.piece.title, len(desk.remarks), flush=True)
    window().close()

application = QApplication([])
QTimer.singleShot(0, when_shown)
sys.exit(bootstrap.run_window(None, demo=True))
"""


def begun(window: MainWindow) -> SampleNotebook:
    """The sample on its way into the window's notebook."""
    take = window.finding_out.analysing.take_judgements
    sample = SampleNotebook(window.desk, sample_library(), take, window)
    window.desk.bring_in([sample_library() / FIRST])
    return sample


def written(window: MainWindow) -> dict[str, tuple[int, int]]:
    """How many remarks and judgements each piece has, by the name of its file."""
    store = window.desk.store
    found = {}
    for piece in window.desk.pieces:
        with store.unit_of_work() as work:
            name = work.editions.of_piece(piece.id)[0].source_name
        found[name] = len(remarks_of(store, piece.id)), len(judgements_of(store, piece.id))
    return found


@pytest.mark.slow
def test_a_first_look_at_the_sample(qtbot: QtBot, open_window: OpenWindow) -> None:
    with open_window() as window:
        sample = begun(window)
        with qtbot.waitSignal(sample.finished, timeout=PATIENCE_MS):
            pass
        desk = window.desk
        qtbot.waitUntil(lambda: len(desk.pieces) == len(SAMPLES), timeout=PATIENCE_MS)
        assert written(window) == {
            file: (len(each.remarks), len(each.judgements)) for file, each in SAMPLES.items()
        }
        # The first piece is still the one that is open, and speaks of itself.
        assert desk.piece is not None
        assert desk.piece.title == "Barcarolle" == desk.pieces[0].title
        assert len(desk.remarks) == len(SAMPLES[FIRST].remarks)
        qtbot.waitUntil(lambda: len(window.here.views()) == len(desk.remarks))
        placed = [remark for remark in desk.remarks if remark.anchor.passage is not None]
        assert len(desk.numbered()) == len(placed)
        findings = window.finding_out.findings
        qtbot.waitUntil(lambda: bool(findings.here), timeout=PATIENCE_MS)
        assert len(findings.judgements) == len(SAMPLES[FIRST].judgements)
        # Another one is opened as its owner left it.
        other = next(piece for piece in desk.pieces if piece.title == "Between Two Bells")
        assert other.opened_at is not None
        assert other.opened_at < desk.pieces[0].opened_at  # type: ignore[operator]
        with qtbot.waitSignal(desk.score_read, timeout=PATIENCE_MS):
            desk.open_piece(other.id)
        assert len(desk.remarks) == len(SAMPLES["between_two_bells.musicxml"].remarks)
        sample.shut_down()


def test_closing_before_all_of_it_is_there(
    qtbot: QtBot, open_window: OpenWindow, home: Path
) -> None:
    with open_window() as window:
        sample = begun(window)
        with qtbot.waitSignal(window.desk.score_read, timeout=PATIENCE_MS):
            pass
        qtbot.waitUntil(lambda: bool(window.desk.remarks), timeout=PATIENCE_MS)
        finished: list[bool] = []
        sample.finished.connect(lambda: finished.append(True))
        sample.shut_down()
        window.close()
        qtbot.wait(50)
        assert not finished
        kept = written(window)
        assert kept[FIRST] == (len(SAMPLES[FIRST].remarks), len(SAMPLES[FIRST].judgements))


def test_the_sample_waits_for_its_first_piece(qtbot: QtBot, open_window: OpenWindow) -> None:
    with open_window() as window:
        take = window.finding_out.analysing.take_judgements
        sample = SampleNotebook(window.desk, sample_library(), take, window)
        qtbot.wait(100)
        window.desk.reload_pieces()
        assert window.desk.pieces == ()
        sample.shut_down()


@pytest.mark.slow
@pytest.mark.parametrize(("until", "pieces"), [("whole", len(SAMPLES)), ("first", 1)])
def test_the_demo_leaves_nothing_behind(tmp_path: Path, until: str, pieces: int) -> None:
    """Neither in the person's own folder nor in the temporary one, however early it is closed."""
    own, temporary = tmp_path / "own", tmp_path / "temporary"
    temporary.mkdir()
    demo = subprocess.run(
        [sys.executable, "-c", DEMO, until],
        env={
            **os.environ,
            HOME_VARIABLE: str(own),
            "TMPDIR": str(temporary),
            "XDG_RUNTIME_DIR": str(tmp_path),
            "QT_QPA_PLATFORM": "offscreen",
            "PYTHONPATH": str(Path(__file__).parents[2]),
        },
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert demo.returncode == 0, demo.stderr
    assert demo.stdout == f"{pieces} Barcarolle {len(SAMPLES[FIRST].remarks)}\n"
    assert not own.exists()
    assert list(temporary.glob("postil-*")) == []
