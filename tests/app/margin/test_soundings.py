"""Which sounding a remark is for: asked while it is written, and kept without an answer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.margin.here import Here
from app.margin.soundings import soundings_of
from app.theme import Theme
from core.notebook.values import AnchorKind
from core.score.places import Passage
from core.score.statements import statements_of
from tests.app.form import pieces


@pytest.fixture
def found(piece_desk: DeskModel) -> Any:
    """A is played twice, B once."""
    assert piece_desk.score is not None
    sections = [pieces.section(0, 1, "A"), pieces.section(2, 2, "B")]
    analysis = pieces.found(piece_desk.score, sections)
    analysis.statements = statements_of(sections, [0, 1, 0, 1, 2])
    return analysis


@pytest.fixture
def here(qtbot: QtBot, piece_desk: DeskModel, found: Any) -> Iterator[Here]:
    panel = Here(piece_desk, Theme())
    qtbot.addWidget(panel)
    panel.resize(332, 800)
    panel.show()
    qtbot.waitExposed(panel)
    panel.writing.take_analysis(found)
    piece_desk.select_measures(1, 1)
    yield panel
    panel.finish()


def type_words(here: Here, words: str) -> None:
    here.writing.field.setFocus()
    QTest.keyClicks(here.writing.field, words)


def alt(here: Here, key: Qt.Key) -> None:
    QTest.keyClick(here.writing.field, key, Qt.KeyboardModifier.AltModifier)


def asked(here: Here) -> list[tuple[str, bool]]:
    """What may be chosen, and whether it is."""
    row = here.writing._soundings
    if not row.isVisible():
        return []
    buttons = [button for button in row.findChildren(QPushButton) if button.isVisible()]
    return [(button.text(), button.isChecked()) for button in buttons]


def test_nothing_is_asked_before_there_are_words_or_where_it_sounds_once(
    here: Here, piece_desk: DeskModel
) -> None:
    assert asked(here) == []
    type_words(here, "sink")
    assert asked(here) == [("both", True), ("1st", False), ("2nd", False)]
    piece_desk.select_measures(2, 2)
    type_words(here, "once")
    assert asked(here) == []


def test_without_an_answer_it_is_for_every_sounding(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    QTest.keyClick(here.writing.field, Qt.Key.Key_Return)
    (remark,) = piece_desk.remarks
    assert (remark.anchor.kind, remark.body) == (AnchorKind.PASSAGE, "sink")
    assert asked(here) == []


def test_alt_and_a_number_answer_before_it_is_kept(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    alt(here, Qt.Key.Key_2)
    assert asked(here) == [("both", False), ("1st", False), ("2nd", True)]
    assert here.writing.field.toPlainText() == "sink"
    here.finish()
    (remark,) = piece_desk.remarks
    assert remark.anchor.kind is AnchorKind.STATEMENT
    assert (remark.anchor.section_label, remark.anchor.statement_number) == ("A", 2)
    # It stays at its measure, and says which sounding it means.
    assert remark.anchor.passage == Passage.of_measures(1, 1)
    here.refresh()
    assert here._place_of(remark) == "A, 2nd"


def test_an_answer_may_come_after_it_was_kept_and_be_taken_back(
    here: Here, piece_desk: DeskModel
) -> None:
    type_words(here, "sink")
    here.writing.keep()
    alt(here, Qt.Key.Key_1)
    assert piece_desk.remarks[0].anchor.statement_number == 1
    alt(here, Qt.Key.Key_0)
    assert piece_desk.remarks[0].anchor.kind is AnchorKind.PASSAGE
    piece_desk.undo_stack.undo()
    assert piece_desk.remarks[0].anchor.statement_number == 1
    assert asked(here) == [("both", False), ("1st", True), ("2nd", False)]
    type_words(here, "ing")
    here.finish()
    (remark,) = piece_desk.remarks
    assert (remark.body, remark.anchor.statement_number) == ("sinking", 1)


def test_a_click_answers_too_and_leaves_the_focus_in_the_field(
    here: Here, piece_desk: DeskModel
) -> None:
    type_words(here, "sink")
    row = here.writing._soundings
    button = next(b for b in row.findChildren(QPushButton) if b.text() == "1st")
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert here.writing.field.hasFocus()
    here.finish()
    assert piece_desk.remarks[0].anchor.statement_number == 1


def test_a_statement_chosen_before_is_not_asked_for_again(
    here: Here, piece_desk: DeskModel, found: Any
) -> None:
    piece_desk.select(piece_desk.selection, found.statements[1])
    type_words(here, "sink")
    assert asked(here) == []


def test_an_answer_that_comes_while_one_writes_is_asked_then(here: Here, found: Any) -> None:
    here.writing.take_analysis(None)
    type_words(here, "sink")
    assert asked(here) == []
    here.writing.take_analysis(found)
    assert len(asked(here)) == 3
    assert here.writing.field.accessibleDescription() == (
        "sounds twice: Alt+1 to Alt+2 say for which, Alt+0 for both"
    )


def test_a_passage_over_two_sections_is_not_asked_about(found: Any) -> None:
    assert soundings_of(found, Passage.of_measures(1, 2)) == ()
    assert [each.number for each in soundings_of(found, Passage.of_measures(0, 1))] == [1, 2]
    assert soundings_of(None, Passage.of_measures(0, 1)) == soundings_of(found, None) == ()
