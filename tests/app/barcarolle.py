"""The invented barcarolle of the sample library, analysed, on a desk."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from core.notebook.analyses import Analysis, analyse_score
from core.resources import sample_library
from core.score.reading import read_score
from core.score.score import Score
from tests.app import small_scores


def path() -> Path:
    return sample_library() / "barcarolle.musicxml"


@lru_cache(maxsize=1)
def score() -> Score:
    return read_score(path()).score


@lru_cache(maxsize=1)
def analysis() -> Analysis:
    return analyse_score(score())


def on(qtbot: QtBot, desk: DeskModel) -> DeskModel:
    """The desk with the barcarolle open and read."""
    with qtbot.waitSignal(desk.score_read):
        small_scores.bring_in(qtbot, desk, path())
    return desk
