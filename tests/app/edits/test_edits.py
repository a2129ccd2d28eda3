"""Edits: each way once and twice, typing merged, failures off the stack."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.edits.piece_edits import RemovePiece, RenamePiece
from app.edits.remark_edits import (
    ChangeRemarkKind,
    MoveRemark,
    RemoveRemark,
    RewordRemark,
    WriteRemark,
    zone,
)
from core.errors import InvalidEntryError, MissingError
from core.notebook.remarks import remove_remark, versions_of
from core.notebook.values import Remark, RemarkKind


def write(desk: DeskModel, body: str = "lean on A", sitting: object = None) -> Remark:
    place = desk.place_to_write()
    assert place is not None
    edit = WriteRemark(
        desk,
        piece_id=place[0],
        body=body,
        kind=None,
        anchor=place[1],
        sitting=sitting or object(),
    )
    assert edit.push()
    assert edit.remark is not None
    return edit.remark


def bodies(desk: DeskModel) -> list[str]:
    return [remark.body for remark in desk.remarks]


def test_writing_is_undone_and_done_again(piece_desk: DeskModel) -> None:
    remark = write(piece_desk)
    assert piece_desk.remarks == (remark,)
    piece_desk.undo_stack.undo()
    assert piece_desk.remarks == ()
    piece_desk.undo_stack.redo()
    assert piece_desk.remarks == (remark,)


def test_typing_of_one_sitting_is_one_step(piece_desk: DeskModel) -> None:
    sitting = object()
    remark = write(piece_desk, "l", sitting)
    for text in ("le", "lean"):
        RewordRemark(piece_desk, remark.id, text, sitting=sitting, begins_sitting=False).push()
    assert bodies(piece_desk) == ["lean"]
    assert piece_desk.undo_stack.count() == 1
    assert versions_of(piece_desk.store, remark.id) == ()
    piece_desk.undo_stack.undo()
    assert bodies(piece_desk) == []
    piece_desk.undo_stack.redo()
    assert bodies(piece_desk) == ["lean"]


def test_another_sitting_is_another_step_and_keeps_the_wording(piece_desk: DeskModel) -> None:
    remark = write(piece_desk)
    sitting = object()
    for number, text in enumerate(("lean on G", "lean on G now")):
        RewordRemark(
            piece_desk, remark.id, text, sitting=sitting, begins_sitting=number == 0
        ).push()
    assert [v.body for v in versions_of(piece_desk.store, remark.id)] == ["lean on A"]
    assert piece_desk.undo_stack.count() == 2
    piece_desk.undo_stack.undo()
    assert piece_desk.remarks == (remark,)
    assert versions_of(piece_desk.store, remark.id) == ()
    piece_desk.undo_stack.redo()
    assert bodies(piece_desk) == ["lean on G now"]


def test_kind_place_and_removal_go_both_ways(piece_desk: DeskModel) -> None:
    remark = write(piece_desk)
    piece_desk.select_measures(1, 2)
    place = piece_desk.place_to_write()
    assert place is not None
    ChangeRemarkKind(piece_desk, remark, RemarkKind.QUESTION).push()
    MoveRemark(piece_desk, remark, place[1]).push()
    assert piece_desk.remarks[0].kind is RemarkKind.QUESTION
    assert piece_desk.remarks[0].anchor == place[1]
    RemoveRemark(piece_desk, remark.id).push()
    assert piece_desk.remarks == ()
    for _ in range(3):
        piece_desk.undo_stack.undo()
    assert piece_desk.remarks == (remark,)


def test_a_failed_edit_is_said_and_leaves_the_stack(qtbot: QtBot, piece_desk: DeskModel) -> None:
    edit = RewordRemark(piece_desk, 17, "words", sitting=object(), begins_sitting=True)
    with qtbot.waitSignal(piece_desk.notice) as told:
        assert not edit.push()
    assert isinstance(told.args[0], MissingError)
    assert piece_desk.undo_stack.count() == 0


def test_an_undo_that_would_overwrite_is_refused(qtbot: QtBot, piece_desk: DeskModel) -> None:
    remark = write(piece_desk)
    remove_remark(piece_desk.store, remark.id)
    with qtbot.waitSignal(piece_desk.notice) as told:
        piece_desk.undo_stack.undo()
    assert isinstance(told.args[0], MissingError)
    assert piece_desk.undo_stack.count() == 0


def test_a_piece_is_renamed_and_back(piece_desk: DeskModel) -> None:
    assert piece_desk.piece is not None
    assert RenamePiece(piece_desk, piece_desk.piece, "Evening Round").push()
    assert piece_desk.piece.title == "Evening Round"
    piece_desk.undo_stack.undo()
    assert piece_desk.piece.title == "Small Piece"


def test_an_empty_title_is_refused(qtbot: QtBot, piece_desk: DeskModel) -> None:
    assert piece_desk.piece is not None
    with qtbot.waitSignal(piece_desk.notice) as told:
        assert not RenamePiece(piece_desk, piece_desk.piece, "  ").push()
    assert isinstance(told.args[0], InvalidEntryError)


def test_a_removed_piece_comes_back_open_with_its_remarks(
    qtbot: QtBot, piece_desk: DeskModel
) -> None:
    remark = write(piece_desk)
    assert piece_desk.piece is not None
    RemovePiece(piece_desk, piece_desk.piece).push()
    assert piece_desk.piece is None
    assert piece_desk.pieces == ()
    with qtbot.waitSignal(piece_desk.score_read):
        piece_desk.undo_stack.undo()
    assert piece_desk.piece is not None
    assert piece_desk.remarks == (remark,)


def test_the_zone_is_a_name() -> None:
    assert zone()
    assert zone().isascii()


@pytest.mark.parametrize("body", ["", "   ", "\n"])
def test_nothing_is_no_remark(qtbot: QtBot, piece_desk: DeskModel, body: str) -> None:
    place = piece_desk.place_to_write()
    assert place is not None
    edit = WriteRemark(
        piece_desk, piece_id=place[0], body=body, kind=None, anchor=place[1], sitting=object()
    )
    with qtbot.waitSignal(piece_desk.notice):
        assert not edit.push()
    assert piece_desk.remarks == ()
