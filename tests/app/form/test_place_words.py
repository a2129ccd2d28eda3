"""The current place in words of its form, in the top line."""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.desk.top_line import TopLine
from app.form.form_model import FormModel
from app.form.place_words import PlaceWords, key_words, statement_words
from app.theme import Theme
from core.score.statements import statements_of
from tests.app.form import pieces


@pytest.fixture
def form(qtbot: QtBot) -> FormModel:
    """A twice, in G minor; A' once, in G major, joined by B flat at its second measure."""
    score, model = pieces.repeated(), FormModel()
    found: Any = pieces.a_b(score)
    found.key_regions = (
        pieces.key(0, 1, 1, "minor", 0.9),
        pieces.key(2, 2, 1, "major", 0.5),
        pieces.key(3, 3, -2, "major", 0.5),
    )
    model.set_score(score)
    model.set_analysis(found)
    return model


@pytest.mark.parametrize(
    ("first", "last", "statements", "key"),
    [
        (1, 1, "A, 1st and 2nd statement", "G minor"),
        (2, 2, "A′", "G major"),
        (3, 3, "A′", "B♭ major"),
        (2, 3, "A′", "G major to B♭ major"),
        (1, 2, "A to A′", "G minor"),
    ],
)
def test_statements_and_key_of_what_is_selected(
    form: FormModel, first: int, last: int, statements: str, key: str
) -> None:
    form.set_selection(pieces.selection(first, last))
    assert (statement_words(form), key_words(form)) == (statements, key)


def test_a_point_between_two_sections_is_in_the_second(form: FormModel) -> None:
    from app.desk.selection import Selection
    from core.notebook.values import AnchorKind

    point = Selection(kind=AnchorKind.PLACE, passage=pieces.within(2, 0, 0))
    form.set_selection(point)
    assert (statement_words(form), key_words(form)) == ("A′", "G major")


def test_nothing_is_said_of_the_whole_piece(form: FormModel) -> None:
    assert (statement_words(form), key_words(form)) == ("", "")


def test_the_one_that_is_meant_is_named(form: FormModel) -> None:
    form.set_selection(pieces.selection(0, 1))
    form.set_statement(form.statements[1])
    assert (statement_words(form), key_words(form)) == ("A, 2nd statement", "G minor")


def test_many_soundings_are_a_range(qtbot: QtBot) -> None:
    score, model = pieces.repeated(), FormModel()
    found: Any = pieces.found(score, [pieces.section(0, 0, "A")])
    found.statements = statements_of([pieces.section(0, 0, "A")], [0, 2] * 5)
    found.playing_order = type(found.playing_order)(measure_indices=(0, 2) * 5)
    model.set_score(score)
    model.set_analysis(found)
    model.set_selection(pieces.selection(0, 0))
    assert statement_words(model) == "A, 1st to 5th statement"


def test_while_the_place_changes_quickly_nothing_is_said(form: FormModel, qtbot: QtBot) -> None:
    words = PlaceWords(form)
    told: list[str] = []
    words.changed.connect(lambda: told.append(words.statements))
    with qtbot.waitSignal(words.changed):
        for measure in (1, 2, 3, 1, 2, 3):
            form.set_selection(pieces.selection(measure, measure))
    assert told == ["A′"]
    assert words.key == "B♭ major"


def test_the_top_line_names_them(qtbot: QtBot, desk: DeskModel, form: FormModel) -> None:
    line = TopLine(desk, Theme())
    qtbot.addWidget(line)
    line.resize(1200, 44)
    line.show()
    line.take_form(form)
    form.set_selection(pieces.selection(3, 3))
    qtbot.waitUntil(lambda: line._key.isVisible())
    assert (line._statements.text(), line._key.text()) == ("A′", "B♭ major")
    assert line._key.accessibleName() == "B flat major"
    form.set_selection(None)
    qtbot.waitUntil(lambda: not line._key.isVisible())
    assert not line._statements.isVisible()


def test_without_room_the_letters_stay_and_the_numbers_go(
    qtbot: QtBot, piece_desk: DeskModel, form: FormModel
) -> None:
    line = TopLine(piece_desk, Theme())
    qtbot.addWidget(line)
    line.resize(1400, 44)
    line.show()
    line.take_form(form)
    piece_desk.select_measures(0, 1)
    form.set_selection(pieces.selection(0, 1))
    qtbot.waitUntil(lambda: line._key.isVisible())
    assert line._statements.shown() == "A, 1st and 2nd statement"
    line.setFixedWidth(400)
    QApplication.processEvents()
    assert line._statements.shown() == "A"
    assert line._title.shown()
