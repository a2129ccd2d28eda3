"""Takes the pictures of the README from the window as it is now, on a sample piece.

For contributors, after the window changed: ``python -m tests.pictures.take_pictures``. They are
written into ``resources/pictures``.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.bootstrap import build_window, settings_in
from app.kept_where import NOTEBOOK
from app.theme import Choice
from app.window import MainWindow
from core.notebook.values import RemarkKind
from core.resources import sample_library
from core.storage import open_store

FOLDER = Path(__file__).parents[2] / "resources" / "pictures"
WIDTH, HEIGHT = 1440, 900
PATIENCE_SECONDS = 120
REMARKS = (
    ((0, 3), RemarkKind.READING, "The wave, not the notes: one swing a measure, the thumb silent."),
    ((4, 4), RemarkKind.QUESTION, "Is the new key an arrival, or only light on the water?"),
    ((8, 8), RemarkKind.MEMORY_CUE, "left hand on G, as at first"),
)
"""Measures by index, kind and words of invented remarks."""


def main() -> None:
    """Take all of them."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    application = QApplication([])
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder) / NOTEBOOK)
        window = build_window(store, settings_in(Path(folder)))
        try:
            window.theme.choose(Choice.LIGHT)
            window.resize(WIDTH, HEIGHT)
            window.show()
            take_all(window)
        finally:
            window.close()
            store.close()
    del application


def take_all(window: MainWindow) -> None:
    """Each scene after the other."""
    window.desk.bring_in([sample_library() / "barcarolle.musicxml"])
    wait_until(lambda: window.finding_out.analysis is not None)
    write(window)
    window.desk.select_measures(4, 4)
    wait_until(lambda: len(window.here.views()) > 0)
    open_first_why(window)
    take(window, "desk")
    window.theme.choose(Choice.DARK)
    window.desk.select_measures(8, 8)
    window.desk.going_to.emit(8)
    take(window, "dark")


def write(window: MainWindow) -> None:
    """Remarks, as a person types them."""
    for (first, last), kind, words in REMARKS:
        window.desk.select_measures(first, last)
        window.here.take_kind(kind)
        window.here.writing.type(words)
        QTest.keyClick(window.here.writing.field, Qt.Key.Key_Return)
        settle()


def open_first_why(window: MainWindow) -> None:
    """The reasons of what is found first, and its evidence in the score."""
    window.doing.do("findings")
    focused = QApplication.focusWidget()
    assert focused is not None
    QTest.keyClick(focused, Qt.Key.Key_Return)


def take(window: MainWindow, name: str) -> None:
    """Wait until nothing moves any more, and write the picture."""
    settle()
    window.grab().toImage().convertToFormat(QImage.Format.Format_RGB32).save(
        str(FOLDER / f"{name}.png"), quality=0
    )


def settle(seconds: float = 1.5) -> None:
    """Let the window do what waits in its turns."""
    end = time.monotonic() + seconds
    wait_until(lambda: time.monotonic() > end)


def wait_until(is_so: Callable[[], bool]) -> None:
    """Let the window live until something is so."""
    give_up_at = time.monotonic() + PATIENCE_SECONDS
    while not is_so():
        if time.monotonic() > give_up_at:
            raise TimeoutError("the window did not come to rest")
        QApplication.processEvents()
        time.sleep(0.005)


if __name__ == "__main__":
    main()
