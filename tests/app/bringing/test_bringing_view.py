"""The view of what is brought in: words, squares, tables, questions; by pointer and by keys."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QModelIndex, QPoint, Qt
from PySide6.QtGui import QGuiApplication, QHelpEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QToolTip, QWidget
from pytestqt.qtbot import QtBot

from app.bringing import file_columns
from app.bringing.batch import Batch
from app.bringing.bringing_view import STOPPED, THROUGH, WIDE, BringingView
from app.bringing.brought_files import BroughtFile, Counts, FileState, Trouble, Twin
from app.bringing.file_rows import FILE_ROLE
from app.bringing.file_section import FileSection
from app.bringing.file_table import FileTable
from app.theme import Choice, Theme
from tests.contracts.fake_store import FakeStore

BAD, READ, HERE = range(3)
YESTERDAY = datetime.now(UTC) - timedelta(days=400)
TWIN = Twin(piece_id=7, title="Evening Round", brought_in_at=YESTERDAY, is_same_file=False)
NOTICED = ("The spelling of the notes is a guess.", "Voices are a guess.", "A rest was put in.")


def described(number: int, title: str, **more: object) -> BroughtFile:
    """A file that was read."""
    values: dict[str, object] = {
        "index": number,
        "path": Path("scores", f"{title.lower()}.mxl"),
        "state": FileState.READ,
        "piece_id": number + 1,
        "title": title,
        "composer": "Ines Morrow",
        "measures": 10 * (number + 1),
        "format": "MXL",
    }
    return BroughtFile(**{**values, **more})  # type: ignore[arg-type]


FILES = (
    described(0, "Rope Dance", measures=72),
    described(1, "Canon", measures=9, noticed=NOTICED),
    BroughtFile(
        index=2,
        path=Path("scores/night-song.mid"),
        state=FileState.BAD,
        trouble=Trouble(place="the whole file", why="It was cut short.", what_to_do="Copy it."),
    ),
    described(3, "Slow March", measures=48),
    BroughtFile(
        index=4,
        path=Path("scores/other layout.xml"),
        state=FileState.ASKS,
        piece_id=7,
        twin=TWIN,
    ),
    BroughtFile(
        index=5,
        path=Path("scores/copy.xml"),
        state=FileState.HERE,
        piece_id=7,
        twin=dataclasses.replace(TWIN, is_same_file=True),
    ),
)


def fill(batch: Batch, *files: BroughtFile) -> None:
    """Files as a reader left them."""
    batch.files, batch.counts = list(files), Counts()
    for file in files:
        batch.counts.move(None, file.state)
    batch.begun.emit()


@pytest.fixture
def batch(qtbot: QtBot) -> Batch:
    made = Batch(FakeStore())
    fill(made, *FILES)
    return made


@pytest.fixture
def view(qtbot: QtBot, batch: Batch) -> Iterator[BringingView]:
    made = BringingView(batch, Theme())
    qtbot.addWidget(made)
    made.resize(1300, 900)
    made.show()
    qtbot.waitExposed(made)
    made.activateWindow()
    made.setFocus()
    qtbot.waitUntil(lambda: not made.sections[READ].isHidden())
    for section in made.sections:
        section.table.fit()
    yield made
    batch.shut_down()


def texts(table: FileTable, column: int) -> list[str]:
    found = table.found
    return [found.index(row, column).data() for row in range(found.rowCount())]


def said(view: QWidget) -> str:
    return view.accessibleName()


def test_it_says_how_far_it_is(view: BringingView, batch: Batch) -> None:
    words = "3 read, 1 could not be, 1 already here, 1 asks you"
    assert said(view) == f"Bringing in: 6 of 6. {words}."
    assert said(view.squares) == f"6 of 6: {words}"
    assert view.now_words == THROUGH


def test_what_was_left_can_go_on(view: BringingView, batch: Batch) -> None:
    assert not view.go_on.isVisible()
    fill(batch, dataclasses.replace(FILES[0], state=FileState.LEFT))
    assert view.go_on.isVisible()
    assert not view.stop.isVisible()
    assert view.now_words == STOPPED


def test_tables_stand_only_where_there_are_rows(view: BringingView, batch: Batch) -> None:
    assert [section.isVisible() for section in view.sections] == [True, True, True]
    assert texts(view.sections[BAD].table, 0) == ["night-song.mid"]
    assert texts(view.sections[READ].table, 0) == ["Rope Dance", "Canon", "Slow March"]
    assert texts(view.sections[HERE].table, 3) == ["note for note; you are asked", "the same score"]
    batch.leave(4)
    assert texts(view.sections[HERE].table, 3) == ["note for note; not taken", "the same score"]


def test_a_table_is_as_high_as_its_rows(view: BringingView) -> None:
    for section in view.sections:
        table = section.table
        rows = sum(table.rowHeight(row) for row in range(table.found.rowCount()))
        assert table.height() == rows + table.horizontalHeader().height()
        assert all(table.rowHeight(row) >= 28 for row in range(table.found.rowCount()))
    # What was noticed takes the lines that it needs.
    read = view.sections[READ].table
    assert read.rowHeight(1) > read.rowHeight(0)


def test_much_that_was_noticed_is_told_in_full_elsewhere(view: BringingView) -> None:
    cell = view.sections[READ].table.found.index(1, 4)
    assert cell.data() == f"{NOTICED[0]} {NOTICED[1]} And 1 more."
    assert cell.data(Qt.ItemDataRole.ToolTipRole) == " ".join(NOTICED)
    assert cell.data(Qt.ItemDataRole.AccessibleTextRole) == f"noticed: {' '.join(NOTICED)}"


@pytest.mark.parametrize("column", [0, 3])
def test_a_click_on_a_row_opens_its_piece(qtbot: QtBot, view: BringingView, column: int) -> None:
    table = view.sections[READ].table
    with qtbot.waitSignal(view.piece_chosen) as chosen:
        qtbot.mouseClick(
            table.viewport(),
            Qt.MouseButton.LeftButton,
            pos=table.visualRect(table.found.index(2, column)).center(),
        )
    assert chosen.args == [4]


def test_a_click_with_a_modifier_only_selects(qtbot: QtBot, view: BringingView) -> None:
    table = view.sections[READ].table
    with qtbot.assertNotEmitted(view.piece_chosen):
        for row in (0, 2):
            QTest.mouseClick(
                table.viewport(),
                Qt.MouseButton.LeftButton,
                Qt.KeyboardModifier.ControlModifier,
                table.visualRect(table.found.index(row, 0)).center(),
            )
    assert [file.title for file in table.selected()] == ["Rope Dance", "Slow March"]


def test_enter_opens_and_copies_are_tables(qtbot: QtBot, view: BringingView) -> None:
    table = view.sections[READ].table
    table.setFocus()
    assert table.currentIndex().row() == 0
    QTest.keyClick(table, Qt.Key.Key_Down)
    with qtbot.waitSignal(view.piece_chosen) as chosen:
        QTest.keyClick(table, Qt.Key.Key_Return)
    assert chosen.args == [2]
    QTest.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    copied = QGuiApplication.clipboard().text()
    assert copied.split("\t") == ["Canon", "Ines Morrow", "9", "MXL", " ".join(NOTICED)]


def test_numbers_are_sorted_as_numbers_and_back(view: BringingView) -> None:
    table = view.sections[READ].table
    table.sort_by(2)
    assert texts(table, 2) == ["9", "48", "72"]
    table.sort_by(2)
    assert texts(table, 2) == ["72", "48", "9"]
    table.fit()
    heights = [table.rowHeight(row) for row in range(3)]
    assert heights[2] > heights[0] == heights[1]


def test_what_is_read_later_takes_its_place_in_the_order(view: BringingView, batch: Batch) -> None:
    table = view.sections[READ].table
    table.sort_by(0)
    assert texts(table, 0) == ["Canon", "Rope Dance", "Slow March"]
    batch._put(described(2, "Mill Song"))
    assert texts(table, 0) == ["Canon", "Mill Song", "Rope Dance", "Slow March"]
    assert view.sections[BAD].table.found.rowCount() == 0


def test_trying_again_by_pointer_and_by_key(
    view: BringingView, batch: Batch, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[list[int]] = []
    monkeypatch.setattr(batch, "try_again", lambda indices: tried.append(list(indices)))
    section = view.sections[BAD]
    table = section.table
    last = table.found.index(0, 4)
    assert last.data(Qt.ItemDataRole.AccessibleTextRole) == "try again: night-song.mid"
    QTest.mouseClick(
        table.viewport(), Qt.MouseButton.LeftButton, pos=table.visualRect(last).center()
    )
    assert tried == [[2]]
    # A click elsewhere in the row tries nothing.
    first = table.visualRect(table.found.index(0, 0)).center()
    QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=first)
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_Return)
    section.try_all.click()
    assert tried == [[2], [2], [2]]


def test_the_list_of_bad_files_is_copied(view: BringingView) -> None:
    view.sections[BAD].copy_list.click()
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0].split("\t") == ["file", "place", "why", "what to do"]
    path = str(Path("scores/night-song.mid"))
    assert lines[1].split("\t") == [path, "the whole file", "It was cut short.", "Copy it."]


def test_typing_finds_and_escape_steps_back(qtbot: QtBot, view: BringingView) -> None:
    table = view.sections[READ].table
    table.setFocus()
    QTest.keyClick(table, "m")
    focused = QApplication.focusWidget()
    assert focused is view.filter
    QTest.keyClicks(view.filter, "arch")
    assert texts(table, 0) == ["Slow March"]
    assert not view.sections[BAD].isVisible()
    QTest.keyClick(view.filter, Qt.Key.Key_Down)
    assert QApplication.focusWidget() is table
    QTest.keyClick(table, Qt.Key.Key_Escape)
    assert table.found.rowCount() == 3
    assert not view.filter.isVisible()
    assert QApplication.focusWidget() is view
    with qtbot.waitSignal(view.left):
        QTest.keyClick(view, Qt.Key.Key_Escape)


def test_what_was_noticed_is_found_too(view: BringingView) -> None:
    view.setFocus()
    QTest.keyClicks(view, "r")
    QTest.keyClicks(view.filter, "est was put in")
    assert texts(view.sections[READ].table, 0) == ["Canon"]


def test_the_menu_sorts_without_the_pointer(
    view: BringingView, monkeypatch: pytest.MonkeyPatch
) -> None:
    menus: list[QMenu] = []
    # The platform of the tests can't hand the keyboard to a menu.
    monkeypatch.setattr(QMenu, "popup", lambda menu, _point: menus.append(menu))
    table = view.sections[READ].table
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_F10, Qt.KeyboardModifier.ShiftModifier)
    (menu,) = menus
    assert [action.text() for action in menu.actions()] == [
        "Copy",
        "",
        "Sort by piece",
        "Sort by composer",
        "Sort by measures",
        "Sort by format",
        "Sort by noticed",
    ]
    menu.actions()[4].trigger()
    assert texts(table, 2) == ["9", "48", "72"]


def test_a_question_is_answered_and_the_next_comes_up(
    qtbot: QtBot, view: BringingView, batch: Batch, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[int] = []
    monkeypatch.setattr(batch, "take_both", taken.append)
    asking = [
        dataclasses.replace(FILES[4], index=number, path=Path(f"layout {number}.xml"))
        for number in range(7)
    ]
    fill(batch, *asking)
    questions = view.questions
    assert len(questions.blocks) == 5
    assert questions.words_at_foot.startswith("2 more.")
    first = questions.blocks[0]
    assert said(first.leave) == "leave the one you have: Evening Round"
    assert said(first.take_both) == "take both: Evening Round and layout 0.xml"
    first.take_both.click()
    assert taken == [0]
    first.leave.setFocus()
    QTest.keyClick(first.leave, Qt.Key.Key_Space)
    assert batch.files[0].state is FileState.HERE
    assert [said(block.take_both)[-5:-4] for block in questions.blocks] == list("12345")
    assert QApplication.focusWidget() is questions.blocks[0].leave
    for index in range(1, 7):
        batch.leave(index)
    assert not questions.isVisible()


def test_in_a_narrow_window_questions_stand_over_the_page(view: BringingView) -> None:
    assert view.questions.parentWidget() is view
    view.resize(WIDE - 1, 700)
    assert view.questions.parentWidget() is not view
    assert view.questions.isVisible()
    view.resize(WIDE, 700)
    assert view.questions.parentWidget() is view
    assert view.questions.isVisible()


def test_every_square_tells_its_file(view: BringingView) -> None:
    squares = view.squares
    centre = squares.box(2).center().toPoint()
    QApplication.sendEvent(
        squares, QHelpEvent(QEvent.Type.ToolTip, centre, squares.mapToGlobal(centre))
    )
    assert QToolTip.text() == "night-song.mid: could not be read"
    QToolTip.hideText()


def test_no_two_states_look_alike(view: BringingView, batch: Batch) -> None:
    """Told by shape too: in grey each square differs from every other."""
    fill(batch, *(dataclasses.replace(FILES[4], index=n, state=s) for n, s in enumerate(FileState)))
    image = view.squares.grab().toImage()
    ratio = view.squares.devicePixelRatioF()
    patterns = set()
    for number in range(len(FileState)):
        box = view.squares.box(number)
        points = (
            QPoint(round((box.x() + x) * ratio), round((box.y() + y) * ratio))
            for x in range(1, 16, 2)
            for y in range(1, 16, 2)
        )
        greys = [image.pixelColor(point).lightness() for point in points]
        middle = (max(greys) + min(greys)) / 2
        patterns.add((tuple(grey < middle for grey in greys), round(max(greys) - min(greys), -1)))
    assert len(patterns) == len(FileState)


def test_many_squares_are_small_and_stay_in_their_room(view: BringingView, batch: Batch) -> None:
    fill(batch, *(dataclasses.replace(FILES[0], index=number) for number in range(1500)))
    assert view.squares.height() <= 96
    last = view.squares.box(1499)
    assert last.right() <= view.squares.width()
    assert last.bottom() <= view.squares.height()


def test_light_and_dark(view: BringingView) -> None:
    colors = []
    for choice in (Choice.LIGHT, Choice.DARK):
        view._theme.choose(choice)
        view.setStyleSheet(view._theme.stylesheet())
        for section in view.sections:
            table = section.table
            # Between two columns of a row, and in the head.
            edge = table.visualRect(table.found.index(0, 1)).left() + 1
            for y in (4, table.horizontalHeader().height() + 4):
                point = table.mapTo(view, QPoint(edge, y))
                colors.append(view.grab().toImage().pixelColor(point).name().upper())
    assert colors == ["#FFFFFF"] * 6 + ["#26282B"] * 6


def test_rows_come_into_sight_as_keys_reach_them(
    qtbot: QtBot, view: BringingView, batch: Batch
) -> None:
    fill(batch, *(described(number, f"Piece {number:02}") for number in range(60)))
    table = view.sections[READ].table
    qtbot.waitUntil(lambda: table.mapTo(view, table.rect().bottomLeft()).y() > view.height())
    qtbot.waitUntil(lambda: view._scroll.verticalScrollBar().maximum() > view.height())
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_End, Qt.KeyboardModifier.ControlModifier)
    assert table.currentIndex().row() == 59
    seen = table.viewport().visibleRegion().boundingRect()
    assert seen.bottom() >= table.visualRect(table.currentIndex()).bottom()


def test_a_file_of_any_row_can_be_had(view: BringingView) -> None:
    table = view.sections[READ].table
    assert table.found.index(0, 0).data(FILE_ROLE) is FILES[0]
    assert table.rows.data(QModelIndex()) is None


def test_every_table_has_a_name_and_every_column_a_title(view: BringingView) -> None:
    assert [said(section.table) for section in view.sections] == [
        "Could not be read",
        "Read",
        "Already here",
    ]
    specs = (file_columns.BAD, file_columns.READ, file_columns.HERE)
    titles = [column.title for spec in specs for column in spec.columns if not column.is_link]
    assert all(titles)
    assert isinstance(view.sections[0], FileSection)


def test_nothing_is_a_window_of_its_own_while_it_is_made(
    qtbot: QtBot, batch: Batch, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A batch with rows and questions: whoever shows itself without a parent is seen here."""
    shown: list[QWidget] = []
    show = QWidget.setVisible

    def watched(widget: QWidget, is_visible: bool) -> None:
        if is_visible and widget.isWindow():
            shown.append(widget)
        show(widget, is_visible)

    monkeypatch.setattr(QWidget, "setVisible", watched)
    made = BringingView(batch, Theme())
    qtbot.addWidget(made)
    assert shown == []
