"""A desk on a store that forgets, for tests of the window's parts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.bootstrap import build_window, settings_in
from app.desk.desk_model import DeskModel
from app.window import MainWindow
from tests.app import small_scores
from tests.contracts.fake_store import FakeStore


@pytest.fixture
def desk(qtbot: QtBot) -> Iterator[DeskModel]:
    """An empty desk."""
    model = DeskModel(FakeStore())
    yield model
    model.shut_down()


@pytest.fixture
def piece_desk(qtbot: QtBot, desk: DeskModel, tmp_path: Path) -> DeskModel:
    """A desk with the small piece open."""
    small_scores.bring_in(qtbot, desk, small_scores.write(tmp_path))
    return desk


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """An empty window, shown and in front."""
    built = build_window(FakeStore(), settings_in(tmp_path))
    qtbot.addWidget(built)
    built.show()
    qtbot.waitExposed(built)
    built.activateWindow()
    yield built
    built.close()
