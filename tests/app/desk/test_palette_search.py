"""What do… finds, and in which order."""

from __future__ import annotations

import pytest

from app.desk.desk_model import DeskModel
from app.desk.palette_search import Kind, Row, folded, passage_of, search
from app.edits.remark_edits import WriteRemark
from core.score.places import Passage
from core.score.score import RawDirection


def texts(rows: tuple[Row, ...]) -> list[str]:
    return [row.text for row in rows]


def write(desk: DeskModel, body: str) -> None:
    place = desk.place_to_write()
    assert place is not None
    WriteRemark(
        desk, piece_id=place[0], body=body, kind=None, anchor=place[1], sitting=object()
    ).push()


def test_a_number_is_a_place_first(piece_desk: DeskModel) -> None:
    write(piece_desk, "count 3 before the return")
    first, *others = search(piece_desk, "3")
    assert (first.kind, first.text, first.beside) == (Kind.PLACE, "m. 3", "poco rit.")
    assert first.target == Passage.of_measures(2, 2)
    assert "count 3 before the return" in texts(tuple(others))


@pytest.mark.parametrize("text", ["2-3", "2 to 3", "m. 2 – m. 3", "3-2", "mm. 2-3"])
def test_two_numbers_are_a_passage(piece_desk: DeskModel, text: str) -> None:
    assert search(piece_desk, text)[0].target == Passage.of_measures(1, 2)


def test_a_number_that_is_not_printed_is_no_place(piece_desk: DeskModel) -> None:
    assert all(row.kind is not Kind.PLACE for row in search(piece_desk, "17"))


def test_what_begins_with_the_words_comes_first(piece_desk: DeskModel) -> None:
    assert texts(search(piece_desk, "bring"))[0] == "Bring scores in…"
    assert texts(search(piece_desk, "zoom in"))[0] == "Larger"


def test_what_can_not_be_done_stays_with_its_reason_behind(desk: DeskModel) -> None:
    rows = search(desk, "re")
    reasons = {row.text: row.reason for row in rows}
    assert reasons["Rename the piece"] == "no piece is open"
    names = texts(rows)
    assert names.index("Bring scores in…") < names.index("Stop reading")


def test_accents_and_case_do_not_matter(piece_desk: DeskModel) -> None:
    write(piece_desk, "Légèrement, sans presser")
    row = search(piece_desk, "legere", Kind.REMARK)[0]
    start, end = row.matched[0]
    assert row.text[start:end] == "Légère"


def test_folding_keeps_positions() -> None:
    for text in ("Légèrement", "ÅSE", "İstanbul", "ﬁne", "große"):
        assert len(folded(text)) == len(text)


def test_printed_words_lead_to_their_place(piece_desk: DeskModel) -> None:
    row = search(piece_desk, "rit", Kind.PRINTED)[0]
    assert (row.text, row.beside) == ("poco rit.", "m. 3")
    assert isinstance(row.target, RawDirection)
    assert passage_of(piece_desk, row.target).start.measure_index == 2


def test_narrowing_shows_one_kind(piece_desk: DeskModel) -> None:
    assert {row.kind for row in search(piece_desk, "", Kind.PIECE)} == {Kind.PIECE}
    assert texts(search(piece_desk, "small", Kind.PIECE)) == ["Small Piece"]


def test_whatever_is_typed_can_be_written(piece_desk: DeskModel) -> None:
    last = search(piece_desk, "3 times slower")[-1]
    assert (last.text, last.target) == ("Write “3 times slower”", ("write", "3 times slower"))


def test_nothing_can_be_written_on_an_empty_desk(desk: DeskModel) -> None:
    assert search(desk, "qqq") == ()
