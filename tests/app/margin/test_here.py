"""Here: typing is kept, ended, undone; remarks are edited where they stand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.margin.dates import day_name
from app.margin.here import Here
from app.margin.sitting import AT_MOST_MS, QUIET_MS
from app.margin.text_field import with_hard_breaks
from app.theme import Theme
from core.errors import StorageError
from core.notebook.remarks import versions_of, write_remark
from core.notebook.values import Anchor, AnchorKind, RemarkKind
from core.score.places import Passage


@pytest.fixture
def here(qtbot: QtBot, piece_desk: DeskModel) -> Iterator[Here]:
    panel = Here(piece_desk, Theme())
    qtbot.addWidget(panel)
    panel.resize(332, 800)
    panel.show()
    qtbot.waitExposed(panel)
    yield panel
    panel.finish()


def type_words(here: Here, words: str) -> None:
    here.writing.field.setFocus()
    QTest.keyClicks(here.writing.field, words)


def bodies(desk: DeskModel) -> list[str]:
    return [remark.body for remark in desk.remarks]


def test_words_are_kept_after_half_a_second_of_quiet(
    qtbot: QtBot, here: Here, piece_desk: DeskModel
) -> None:
    type_words(here, "sink")
    assert bodies(piece_desk) == []
    qtbot.waitUntil(lambda: bodies(piece_desk) == ["sink"], timeout=QUIET_MS + 400)


def test_words_are_kept_within_a_second_of_steady_typing(
    qtbot: QtBot, here: Here, piece_desk: DeskModel
) -> None:
    written: list[str] = []

    def type_on() -> bool:
        type_words(here, "a")
        written.append("a")
        return bool(bodies(piece_desk))

    # A letter every 10 ms: there is never half a second of quiet.
    qtbot.waitUntil(type_on, timeout=AT_MOST_MS + 400)
    assert set(bodies(piece_desk)[0]) == {"a"}


def test_enter_ends_the_remark_and_begins_a_fresh_one(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "one")
    QTest.keyClick(here.writing.field, Qt.Key.Key_Return)
    assert here.writing.field.toPlainText() == ""
    type_words(here, "two")
    QTest.keyClick(here.writing.field, Qt.Key.Key_Escape)
    assert sorted(bodies(piece_desk)) == ["one", "two"]
    here.refresh()
    assert [view.remark.body for view in here.views() if view.remark] == ["two", "one"]


def test_shift_enter_is_a_new_line(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "one")
    QTest.keyClick(here.writing.field, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    type_words(here, "two")
    here.finish()
    assert bodies(piece_desk) == ["one\ntwo"]


def test_words_stay_where_they_were_begun(here: Here, piece_desk: DeskModel) -> None:
    piece_desk.select_measures(1, 2)
    type_words(here, "here")
    piece_desk.select_measures(3, 3)
    assert piece_desk.remarks[0].anchor.passage == Passage.of_measures(1, 2)
    assert here.writing.field.toPlainText() == ""
    piece_desk.select(None)
    type_words(here, "there")
    here.finish()
    assert piece_desk.remarks[0].anchor.kind is AnchorKind.PIECE


def test_what_is_being_written_is_not_listed_twice(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    here.writing.keep()
    here.refresh()
    assert bodies(piece_desk) == ["sink"]
    assert here.views() == ()


def test_a_sitting_is_one_step_to_undo(here: Here, piece_desk: DeskModel) -> None:
    for words in ("let ", "it ", "sink"):
        type_words(here, words)
        here.writing.keep()
    here.finish()
    assert piece_desk.undo_stack.count() == 1
    piece_desk.undo_stack.undo()
    assert bodies(piece_desk) == []


def test_undo_in_the_field_takes_typing_back_first(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    here.writing.keep()
    while here.writing.field.document().isUndoAvailable():
        QTest.keyClick(here.writing.field, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert here.writing.field.toPlainText() == ""
    here.finish()
    # Its words were all taken back, so it is gone; and undo brings them back.
    assert bodies(piece_desk) == []
    piece_desk.undo_stack.undo()
    assert bodies(piece_desk) == ["sink"]


def test_undo_in_an_empty_field_undoes_the_last_edit(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    QTest.keyClick(here.writing.field, Qt.Key.Key_Return)
    QTest.keyClick(here.writing.field, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert bodies(piece_desk) == []


def test_undoing_what_is_being_written_empties_the_field(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    here.writing.keep()
    piece_desk.undo_stack.undo()
    assert here.writing.field.toPlainText() == ""
    here.finish()
    assert bodies(piece_desk) == []


def test_a_kind_before_and_after_the_words(here: Here, piece_desk: DeskModel) -> None:
    here.take_kind(RemarkKind.READING)
    type_words(here, "sink")
    here.finish()
    assert piece_desk.remarks[0].kind is RemarkKind.READING
    type_words(here, "wait")
    here.writing.keep()
    here.take_kind(RemarkKind.QUESTION)
    assert piece_desk.remarks[0].kind is RemarkKind.QUESTION
    here.take_kind(RemarkKind.QUESTION)
    assert piece_desk.remarks[0].kind is None


def test_a_remark_is_edited_where_it_stands(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    here.finish()
    here.refresh()
    view = here.views()[0]
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_Return)
    assert view.sitting is not None
    QTest.keyClicks(view._body, " low")
    QTest.keyClick(view._body, Qt.Key.Key_Return)
    assert bodies(piece_desk) == ["sink low"]
    assert [v.body for v in versions_of(piece_desk.store, piece_desk.remarks[0].id)] == ["sink"]
    assert here.focused_view() is view


def test_keys_on_a_focused_remark(here: Here, piece_desk: DeskModel) -> None:
    for words in ("one", "two"):
        type_words(here, words)
        here.finish()
    here.refresh()
    first, second = here.views()
    first.setFocus()
    here.take_kind(RemarkKind.EXERCISE)
    assert piece_desk.remarks[0].kind is RemarkKind.EXERCISE
    QTest.keyClick(first, Qt.Key.Key_Down)
    assert here.focused_view() is second
    QTest.keyClick(second, Qt.Key.Key_Delete)
    here.refresh()
    assert bodies(piece_desk) == ["two"]
    assert here.focused_view() is first
    piece_desk.undo_stack.undo()
    assert sorted(bodies(piece_desk)) == ["one", "two"]


def test_an_emptied_remark_is_removed_and_can_be_undone(here: Here, piece_desk: DeskModel) -> None:
    type_words(here, "sink")
    here.finish()
    here.refresh()
    view = here.views()[0]
    view.edit()
    view._body.selectAll()
    QTest.keyClick(view._body, Qt.Key.Key_Delete)
    view.end_editing()
    assert bodies(piece_desk) == []
    piece_desk.undo_stack.undo()
    assert bodies(piece_desk) == ["sink"]


def test_words_that_can_not_be_kept_stay_in_the_field(
    qtbot: QtBot, here: Here, piece_desk: DeskModel, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> None:
        raise StorageError("notebook.postil", "the disk is full; free some space and try again.")

    type_words(here, "sink")
    with monkeypatch.context() as full_disk:
        full_disk.setattr(piece_desk.store, "unit_of_work", refuse)
        with qtbot.waitSignal(piece_desk.notice) as told:
            assert not here.finish()
    assert "disk is full" in str(told.args[0])
    assert here.writing.field.toPlainText() == "sink"
    assert here.finish()
    assert bodies(piece_desk) == ["sink"]


def test_text_is_kept_in_nfc(here: Here, piece_desk: DeskModel) -> None:
    here.writing.field.insertPlainText("cre\u0301scendo")
    assert here.finish()
    assert bodies(piece_desk) == ["cr\u00e9scendo"]


def test_only_remarks_of_the_current_place_are_shown(here: Here, piece_desk: DeskModel) -> None:
    for measures in ((0, 0), (2, 3)):
        piece_desk.select_measures(*measures)
        type_words(here, f"on {measures}")
    piece_desk.select_measures(2, 2)
    here.refresh()
    assert [view.remark.body for view in here.views() if view.remark] == ["on (2, 3)"]
    assert here.views()[0].accessibleName().startswith("Remark 2, m. 3 to 4, today")
    piece_desk.select(None)
    here.refresh()
    assert len(here.views()) == 2


def test_markdown_is_shown_and_html_is_not_run(here: Here, piece_desk: DeskModel) -> None:
    here.writing.field.insertPlainText("*sink* <b>low</b>")
    here.finish()
    here.refresh()
    assert here.views()[0]._body.toPlainText() == "sink <b>low</b>"


def test_a_line_break_breaks_the_line() -> None:
    assert with_hard_breaks("a\nb") == "a  \nb"


@pytest.mark.parametrize(
    ("moment", "name"),
    [
        (datetime(2026, 5, 4, 12, tzinfo=UTC), "4 May"),
        (datetime(2025, 5, 4, 12, tzinfo=UTC), "4 May 2025"),
        (datetime(2026, 6, 20, 12, tzinfo=UTC), "today"),
        # 23:30 in London in summer is the next day in Tokyo.
        (datetime(2026, 6, 18, 22, 30, tzinfo=UTC), "19 June"),
    ],
)
def test_days_in_words(moment: datetime, name: str) -> None:
    assert day_name(moment, date(2026, 6, 20), "Asia/Tokyo") == name


def test_an_unknown_zone_is_this_machines() -> None:
    moment = datetime(2026, 5, 4, 12, tzinfo=UTC)
    assert day_name(moment, date(2026, 5, 6), "Nowhere/Atlantis") == "4 May"


def test_a_remark_is_moved_to_the_current_place(here: Here, piece_desk: DeskModel) -> None:
    piece_desk.select_measures(0, 0)
    type_words(here, "sink")
    here.finish()
    here.refresh()
    assert not here.move_remark_here()
    here.views()[0].setFocus()
    piece_desk.select_measures(1, 1)
    here.refresh()
    assert here.move_remark_here()
    assert piece_desk.remarks[0].anchor.passage == Passage.of_measures(1, 1)
    here.refresh()
    assert [view.remark.body for view in here.views() if view.remark] == ["sink"]
    piece_desk.undo_stack.undo()
    assert piece_desk.remarks[0].anchor.passage == Passage.of_measures(0, 0)


@pytest.mark.parametrize("width", [332, 280])
def test_kinds_are_never_cut_off(here: Here, width: int) -> None:
    type_words(here, "sink")
    here.resize(width, 800)
    QApplication.processEvents()
    kinds = here.writing._kinds.values()
    assert [kind.text() for kind in kinds if kind.width() < kind.sizeHint().width()] == []
    assert all(here.writing.rect().right() >= kind.geometry().right() for kind in kinds)


def test_of_many_remarks_each_is_made_in_a_turn_of_its_own(
    qtbot: QtBot, here: Here, piece_desk: DeskModel, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert piece_desk.piece is not None
    for words in ("one", "two", "three", "four"):
        write_remark(
            piece_desk.store,
            piece_id=piece_desk.piece.id,
            body=words,
            kind=None,
            anchor=Anchor(kind=AnchorKind.PIECE),
            now=datetime.now(UTC),
            zone="UTC",
        )
    turns, made_in = [0], []
    clock = QTimer()
    clock.timeout.connect(lambda: turns.__setitem__(0, turns[0] + 1))
    make = here._new_view
    monkeypatch.setattr(here, "_new_view", lambda id: (made_in.append(turns[0]), make(id))[1])
    clock.start(0)
    piece_desk.reload_remarks()
    qtbot.waitUntil(lambda: len(here.views()) == 4)
    assert len(set(made_in)) == 4
    bodies_shown = [view.remark.body for view in here.views() if view.remark]
    assert bodies_shown == ["four", "three", "two", "one"]
