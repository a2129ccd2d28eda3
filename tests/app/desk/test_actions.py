"""The table of actions: no two keys clash, all of them can be done, reasons are said."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from PySide6.QtGui import QKeySequence

from app.desk.action_table import ACTIONS
from app.desk.actions import Need, reason_against
from app.desk.desk_model import DeskModel


def test_no_two_actions_share_a_key() -> None:
    keys = Counter(QKeySequence(key).toString() for action in ACTIONS for key in action.keys)
    assert [key for key, count in keys.items() if count > 1] == []


@pytest.mark.parametrize("action", ACTIONS, ids=lambda action: action.id)
def test_keys_are_keys(action: object) -> None:
    for key in action.keys:  # type: ignore[attr-defined]
        assert QKeySequence(key).toString() == key.replace("Ctrl+=", "Ctrl+=")


def test_ids_and_names_are_unique() -> None:
    assert len({action.id for action in ACTIONS}) == len(ACTIONS)
    assert len({action.name for action in ACTIONS}) == len(ACTIONS)


def test_an_empty_desk_says_why(desk: DeskModel) -> None:
    reasons = {action.id: reason_against(action, desk) for action in ACTIONS}
    assert reasons["bring_in"] == ""
    assert reasons["close_piece"] == "no piece is open"
    assert reasons["list_measure"] == "no score is open"
    assert reasons["undo"] == "nothing to undo"
    assert reasons["whole_piece"] == "nothing is selected"


def test_an_open_piece_allows_more(piece_desk: DeskModel, tmp_path: Path) -> None:
    piece_desk.select_measures(0, 0)
    impossible = [action.needs for action in ACTIONS if reason_against(action, piece_desk)]
    assert set(impossible) == {Need.UNDO, Need.REDO, Need.READING, Need.BROUGHT}
