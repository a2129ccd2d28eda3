"""The desk without widgets: bringing in, opening, places, numbers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.desk.selection import Selection
from core.notebook.remarks import write_remark
from core.notebook.values import Anchor, AnchorKind
from core.score.formats.midi import SPELLING_GUESSED, VOICES_GUESSED
from core.score.places import Passage
from tests.app import small_scores
from tests.core.score.formats.written_midi import key, metre, midi, track


def test_a_score_that_is_brought_in_is_open(piece_desk: DeskModel) -> None:
    assert piece_desk.piece is not None
    assert piece_desk.piece.title == "Small Piece"
    assert piece_desk.score is not None
    assert piece_desk.score.canonical == piece_desk.canonical
    assert [piece.title for piece in piece_desk.pieces] == ["Small Piece"]


def test_the_same_file_twice_is_one_piece(
    qtbot: QtBot, piece_desk: DeskModel, tmp_path: Path
) -> None:
    piece_desk.close_piece()
    copy = small_scores.write(tmp_path, "copy.musicxml")
    small_scores.bring_in(qtbot, piece_desk, copy)
    assert len(piece_desk.pieces) == 1
    assert piece_desk.piece == piece_desk.pieces[0]


def test_what_was_guessed_is_told(qtbot: QtBot, desk: DeskModel, tmp_path: Path) -> None:
    path = tmp_path / "two.mid"
    path.write_bytes(midi(track([(0, 4, 60)], before=[metre(4, 4), key("C")])))
    told: list[object] = []
    desk.notice.connect(told.append)
    small_scores.bring_in(qtbot, desk, path)
    assert told == [f"two.mid: {SPELLING_GUESSED} {VOICES_GUESSED}"]


def test_the_score_of_a_kept_piece_is_read_again(qtbot: QtBot, piece_desk: DeskModel) -> None:
    piece = piece_desk.piece
    before = piece_desk.score
    assert piece is not None
    assert before is not None
    piece_desk.close_piece()
    assert piece_desk.score is None
    assert piece_desk.canonical == b""
    with qtbot.waitSignal(piece_desk.score_read):
        piece_desk.open_piece(piece.id)
    assert piece_desk.score is not None
    assert piece_desk.score.notes.ids == before.notes.ids


def test_a_piece_that_is_not_there_is_said(qtbot: QtBot, desk: DeskModel) -> None:
    with qtbot.waitSignal(desk.notice) as told:
        desk.open_piece(17)
    assert "no piece 17" in str(told.args[0])


def test_where_one_is(piece_desk: DeskModel) -> None:
    assert piece_desk.where() == "the whole piece"
    piece_desk.select_measures(2, 1)
    assert piece_desk.where() == "m. 2 to 3"
    piece_desk.close_piece()
    assert piece_desk.where() == ""


def test_selecting_the_same_says_nothing(qtbot: QtBot, piece_desk: DeskModel) -> None:
    piece_desk.select_measures(0, 0)
    with qtbot.assertNotEmitted(piece_desk.selection_changed):
        piece_desk.select_measures(0, 0)


def test_a_remark_hangs_on_what_is_selected(piece_desk: DeskModel) -> None:
    assert piece_desk.piece is not None
    assert piece_desk.place_to_write() == (piece_desk.piece.id, Anchor(kind=AnchorKind.PIECE))
    piece_desk.select_measures(1, 2)
    found = piece_desk.place_to_write()
    assert found is not None
    assert found[1].passage == Passage.of_measures(1, 2)
    assert found[1].fingerprint != ""


def test_remarks_are_numbered_by_place_not_by_age(piece_desk: DeskModel) -> None:
    piece, score = piece_desk.piece, piece_desk.score
    assert piece is not None
    assert score is not None
    when = datetime(2026, 3, 1, tzinfo=UTC)
    for day, measures in enumerate([(3, 3), (0, 1), (0, 0)]):
        write_remark(
            piece_desk.store,
            piece_id=piece.id,
            body=f"on {measures}",
            kind=None,
            anchor=Anchor(
                kind=AnchorKind.PASSAGE,
                score_sha256=score.sha256,
                passage=Passage.of_measures(*measures),
            ),
            now=when + timedelta(days=day),
            zone="UTC",
        )
    piece_desk.reload_remarks()
    assert [remark.body for remark in piece_desk.remarks] == ["on (0, 0)", "on (0, 1)", "on (3, 3)"]
    numbered = piece_desk.numbered()
    assert [(number, remark.body) for number, remark in numbered] == [
        (1, "on (0, 0)"),
        (2, "on (0, 1)"),
        (3, "on (3, 3)"),
    ]
    piece_desk.select(Selection(kind=AnchorKind.PASSAGE, passage=Passage.of_measures(1, 1)))
    assert [remark.body for remark in piece_desk.remarks_here()] == ["on (0, 1)"]


@pytest.mark.parametrize(("text", "index"), [("3", 2), ("m. 4", 3), ("9", None)])
def test_a_printed_number_is_found(piece_desk: DeskModel, text: str, index: int | None) -> None:
    assert piece_desk.measure_index_of_number(text) == index
