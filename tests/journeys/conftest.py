"""A whole window on a real notebook in a folder of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.bootstrap import build_window, settings_in
from app.kept_where import NOTEBOOK
from app.window import MainWindow
from core.storage import open_store

OpenWindow = Callable[[], "contextmanager[MainWindow]"]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The folder of the notebook."""
    folder = tmp_path / "home"
    folder.mkdir()
    return folder


@pytest.fixture
def open_window(qtbot: QtBot, home: Path) -> Callable[[], Iterator[MainWindow]]:
    """Opens a window on the notebook, as a day's work would; closes it again."""

    @contextmanager
    def opened() -> Iterator[MainWindow]:
        store = open_store(home / NOTEBOOK)
        window = build_window(store, settings_in(home))
        qtbot.addWidget(window)
        window.show()
        qtbot.waitExposed(window)
        window.desk.reload_pieces()
        try:
            yield window
        finally:
            window.close()
            store.close()

    return opened
