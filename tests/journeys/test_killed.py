"""A remark survives kill -9 a second after it was typed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from app.kept_where import HOME_VARIABLE, NOTEBOOK
from core.storage import open_store

TYPIST = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from app import bootstrap
from app.window import MainWindow

def window():
    return next(w for w in QApplication.topLevelWidgets() if isinstance(w, MainWindow))

def type_when_there():
    windows = [w for w in QApplication.topLevelWidgets() if isinstance(w, MainWindow)]
    if not windows or windows[0].desk.score is None:
        QTimer.singleShot(20, type_when_there)
        return
    windows[0].desk.select_measures(2, 3)
    windows[0].here.writing.type("L")
    QTest.keyClicks(windows[0].here.writing.field, "et it sink")
    QTimer.singleShot(1000, lambda: print("typed a second ago", flush=True))

application = QApplication([])
QTimer.singleShot(0, type_when_there)
bootstrap.run_window(Path(sys.argv[1]))
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is not there")
def test_a_remark_survives_a_kill_a_second_after_typing(tmp_path: Path) -> None:
    from core.resources import sample_library

    checkout = Path(__file__).parents[2]
    window = subprocess.Popen(
        [sys.executable, "-c", TYPIST, str(sample_library() / "barcarolle.musicxml")],
        env={
            **os.environ,
            HOME_VARIABLE: str(tmp_path),
            "XDG_RUNTIME_DIR": str(tmp_path),
            "QT_QPA_PLATFORM": "offscreen",
            "PYTHONPATH": str(checkout),
        },
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        assert window.stdout is not None
        assert window.stdout.readline() == "typed a second ago\n"
    finally:
        window.send_signal(signal.SIGKILL)
        window.communicate()
    store = open_store(tmp_path / NOTEBOOK)
    try:
        assert not store.is_read_only
        with store.unit_of_work() as work:
            piece = work.pieces.all()[0]
            bodies = [remark.body for remark in work.remarks.of_piece(piece.id)]
    finally:
        store.close()
    assert bodies == ["Let it sink"]
