"""The score view: first page, zoom, pointing by mouse and by keys, what is drawn over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.score.view import ScoreView
from app.theme import Theme
from core.notebook.values import Anchor, AnchorKind, Remark
from core.score.page_drawing import UNITS_PER_SPACE
from core.score.places import Passage
from tests.app.score.conftest import NOW

WAIT = 6_000


@pytest.fixture
def view(qtbot: QtBot, desk: DeskModel) -> Iterator[ScoreView]:
    view = ScoreView(desk, Theme())
    qtbot.addWidget(view)
    view.resize(900, 800)
    with qtbot.waitSignal(view.first_page_shown, timeout=WAIT):
        view.show()
    view.setFocus()
    qtbot.waitUntil(lambda: view.geometry_of(1) is not None, timeout=WAIT)
    yield view
    view.shut_down()


def point_of(view: ScoreView, element_id: str) -> QPoint:
    """Where an element of page 1 stands in the viewport."""
    geometry = view.geometry_of(1)
    assert geometry is not None
    box = geometry.element_box(element_id)
    assert box is not None
    scale = view.staff_space / UNITS_PER_SPACE
    item = view.scene().items(Qt.SortOrder.AscendingOrder)[0]
    x, y = (box[0] + box[2]) / 2 * scale, (box[1] + box[3]) / 2 * scale
    return view.mapFromScene(item.x() + x, item.y() + y)


def test_a_click_on_a_note_selects_it(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    with qtbot.waitSignal(desk.selection_changed):
        qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=point_of(view, "m3s1n2"))
    assert desk.selection is not None
    assert desk.selection.kind is AnchorKind.NOTE
    assert desk.selection.element_id == "m3s1n2"


def test_a_click_on_printed_words_selects_the_direction(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    assert desk.score is not None
    words = next(d for d in desk.score.directions if d.text == "un poco più mosso")
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=point_of(view, words.id))
    assert desk.selection is not None
    assert desk.selection.kind is AnchorKind.DIRECTION
    assert desk.selection.element_id == words.id


def test_dragging_selects_a_passage(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    port = view.viewport()
    start, end = point_of(view, "m2s1n0"), point_of(view, "m3s1n1")
    qtbot.mousePress(port, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(port, start + QPoint(30, 0))
    qtbot.mouseMove(port, end)
    qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, pos=end)
    assert desk.selection is not None
    passage = desk.selection.passage
    assert desk.selection.kind is AnchorKind.PASSAGE
    assert passage.start.moment == (1, 0)
    assert passage.end.measure_index == 2
    assert passage.end.offset_quarters > 1


def test_dragging_backwards_selects_the_same(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    port = view.viewport()
    start, end = point_of(view, "m3s1n1"), point_of(view, "m2s1n0")
    qtbot.mousePress(port, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(port, end)
    qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, pos=end)
    assert desk.selection is not None
    assert desk.selection.passage.start.moment == (1, 0)
    assert desk.selection.passage.end.measure_index == 2


def test_a_double_click_selects_the_measure(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    qtbot.mouseDClick(view.viewport(), Qt.MouseButton.LeftButton, pos=point_of(view, "m2s1n1"))
    assert desk.selection is not None
    assert desk.selection.passage == Passage.of_measures(1, 1)


def test_keys_walk_select_and_step_back(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert desk.selection is not None
    assert desk.selection.element_id == "m1s1n0"
    qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert desk.selection.passage == Passage.of_measures(1, 1)
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(view, Qt.Key.Key_Right, both)
    assert desk.selection.passage == Passage.of_measures(1, 2)
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert desk.selection is None


def test_typing_goes_to_the_margin(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    with qtbot.waitSignal(desk.typing_begun) as begun:
        qtbot.keyClick(view, "h")
    assert begun.args == ["h"]


def test_going_to_a_measure_brings_it_into_sight(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    assert desk.score is not None
    desk.go_to(23)
    qtbot.waitUntil(lambda: view.verticalScrollBar().value() > 0, timeout=WAIT)
    assert desk.selection is not None
    assert desk.selection.passage == Passage.of_measures(23, 23)


def test_zoom_is_by_whole_pixels_and_bounded(qtbot: QtBot, view: ScoreView) -> None:
    before = view.staff_space
    with qtbot.waitSignal(view.zoomed):
        view.zoom_in()
    assert view.staff_space == before + 1
    for _ in range(100):
        view.zoom_out()
    assert view.staff_space == 4
    view.zoom_reset()
    assert view.staff_space == before


def test_what_is_selected_is_shown(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    bare = view.grab().toImage()
    desk.select_measures(1, 1)
    assert view.grab().toImage() != bare
    desk.select(None)
    assert view.grab().toImage() == bare


def test_a_remark_has_a_bracket_in_ink_that_can_be_clicked(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    assert desk.score is not None
    anchor = Anchor(
        kind=AnchorKind.PASSAGE,
        score_sha256=desk.score.sha256,
        passage=Passage.of_measures(1, 2),
    )
    remark = Remark(
        id=1, piece_id=1, kind=None, body="lean", anchor=anchor, created_at=NOW, edited_at=NOW
    )
    desk.remarks = (
        remark,
        replace(remark, id=2, body="elsewhere", anchor=Anchor(kind=AnchorKind.PIECE)),
    )
    bare = view.grab().toImage()
    desk.remarks_changed.emit()
    shown = view.grab().toImage()
    assert shown != bare
    ink = Theme().page_color("ink")
    found = [
        (x, y)
        for y in range(shown.height())
        for x in range(0, shown.width(), 3)
        if shown.pixelColor(x, y) == ink
    ]
    assert found
    ratio = shown.devicePixelRatio()
    x, y = found[len(found) // 2]
    with qtbot.waitSignal(view.remark_pointed) as pointed:
        qtbot.mouseClick(
            view.viewport(),
            Qt.MouseButton.LeftButton,
            pos=QPoint(round(x / ratio), round(y / ratio)),
        )
    assert pointed.args == [1]
    assert desk.selection is not None
    assert desk.selection.passage == anchor.passage


def test_another_theme_paints_the_page_anew(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    item = view.scene().items(Qt.SortOrder.AscendingOrder)[0]
    before = item.image  # type: ignore[attr-defined]  # a PageItem
    view._theme.choose(type(view._theme.choice).DARK)
    qtbot.waitUntil(
        lambda: item.image is not None and item.image is not before,  # type: ignore[attr-defined]  # a PageItem
        timeout=WAIT,
    )
    assert item.image.pixelColor(3, 3) == view._theme.page_color("page")  # type: ignore[attr-defined]  # a PageItem


def test_no_piece_is_an_empty_view(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    desk.piece, desk.edition, desk.score, desk.canonical = None, None, None, b""
    desk.piece_opened.emit()
    assert view.scene().items() == []
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert desk.selection is None
