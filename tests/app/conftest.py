"""A desk on a store that forgets, for tests of the window's parts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
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
