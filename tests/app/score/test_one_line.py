"""One long line in the view: what works on pages works there, and it goes by wheel and keys."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QWheelEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.score.finding_marks import ShownKey, ShownOverlays, ShownSection
from app.score.page_item import PageItem
from app.score.page_marks import Certainty
from app.score.view import ScoreView
from app.theme import Theme
from core.notebook.values import Anchor, AnchorKind, Edition, Piece, Remark
from core.score.page_drawing import UNITS_PER_SPACE
from core.score.places import Passage, Place
from core.score.reading import ReadScore, read_bytes
from tests.app.score.conftest import NoStore
from tests.benchmarks.long_score import repeated

WAIT = 20_000
NOW = datetime(2026, 3, 2, tzinfo=UTC)


@pytest.fixture(scope="module")
def long_score() -> ReadScore:
    return read_bytes(repeated(4), name="long.musicxml")


@pytest.fixture
def desk(qapp: object, long_score: ReadScore) -> Iterator[DeskModel]:
    desk = DeskModel(NoStore())  # type: ignore[arg-type]  # nothing is stored in these tests
    score = long_score.score
    desk.piece = Piece(id=1, title=score.title, composer="", created_at=NOW)
    desk.edition = Edition(
        id=1,
        piece_id=1,
        score_sha256=score.sha256,
        canonical_version=score.canonical_version,
        source_name="long.musicxml",
        imported_at=NOW,
    )
    desk.canonical, desk.score = score.canonical, score
    yield desk
    desk.shut_down()


@pytest.fixture
def view(qtbot: QtBot, desk: DeskModel) -> Iterator[ScoreView]:
    view = ScoreView(desk, Theme())
    view.is_one_line = True
    qtbot.addWidget(view)
    view.resize(900, 700)
    with qtbot.waitSignal(view.first_page_shown, timeout=WAIT):
        view.show()
    view.setFocus()
    qtbot.waitUntil(lambda: view._pages.is_placed(len(view._pages.items)), timeout=WAIT)
    qtbot.waitUntil(lambda: view.geometry_of(1) is not None, timeout=WAIT)
    yield view
    view.shut_down()


def chunks(view: ScoreView) -> list[PageItem]:
    return view._pages.items


def chunk_of(view: ScoreView, element_id: str) -> int:
    """Number of the chunk in which an element is drawn."""
    for item in chunks(view):
        geometry = view.geometry_of(item.number)
        if geometry is not None and geometry.element_box(element_id) is not None:
            return item.number
    return 0


def point_of(view: ScoreView, element_id: str) -> QPoint:
    """Where an element stands in the viewport."""
    number = chunk_of(view, element_id)
    geometry = view.geometry_of(number)
    assert geometry is not None
    box = geometry.element_box(element_id)
    assert box is not None
    scale = view.staff_space / UNITS_PER_SPACE
    item = chunks(view)[number - 1]
    x, y = (box[0] + box[2]) / 2 * scale, (box[1] + box[3]) / 2 * scale
    return view.mapFromScene(item.x() + x, item.y() + y)


def test_chunks_lie_edge_to_edge(view: ScoreView) -> None:
    rects = [view._pages.own_rect(item) for item in chunks(view)]
    assert len(rects) > 2
    for before, after in pairwise(rects):
        assert after.left() == before.right()
        assert after.top() == before.top()
    assert view.sceneRect().right() > rects[-1].right()


def test_a_note_beyond_the_first_chunk_is_gone_to_and_clicked(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    assert desk.score is not None
    note_id = "m3s1n2r2"
    measure_index = 48 + 2
    desk.going_to.emit(measure_index)
    qtbot.waitUntil(lambda: chunk_of(view, note_id) > 1, timeout=WAIT)
    port = view.viewport().rect()
    qtbot.waitUntil(lambda: port.contains(point_of(view, note_id)), timeout=WAIT)
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=point_of(view, note_id))
    assert desk.selection is not None
    assert desk.selection.kind is AnchorKind.NOTE
    assert desk.selection.element_id == note_id
    assert desk.selection.passage.start.measure_index == measure_index


def test_a_passage_is_drawn_out_over_a_cut(qtbot: QtBot, view: ScoreView, desk: DeskModel) -> None:
    first = view.geometry_of(1)
    assert first is not None
    assert first.measure_range is not None
    last = first.measure_range[1]
    desk.going_to.emit(last)
    qtbot.waitUntil(lambda: view.geometry_of(2) is not None, timeout=WAIT)
    cut = view._pages.own_rect(chunks(view)[0]).right()
    view.horizontalScrollBar().setValue(round(cut) - 400)
    ys = view.mapFromScene(0, chunks(view)[0].boundingRect().center().y()).y()
    start = QPoint(view.mapFromScene(cut - 60, 0).x(), ys)
    end = QPoint(view.mapFromScene(cut + 200, 0).x(), ys)
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(view.viewport(), start + QPoint(30, 0))
    qtbot.mouseMove(view.viewport(), end)
    qtbot.mouseRelease(view.viewport(), Qt.MouseButton.LeftButton, pos=end)
    assert desk.selection is not None
    passage = desk.selection.passage
    assert passage.start.measure_index == last
    assert passage.end.measure_index > last
    marked = [item.number for item in chunks(view) if item._marks.spans]
    assert marked == [1, 2]


def wheel(view: ScoreView, turned: int) -> None:
    """Turn the wheel over the view."""
    at = QPointF(view.viewport().rect().center())
    event = QWheelEvent(
        at,
        QPointF(view.viewport().mapToGlobal(at)),
        QPoint(),
        QPoint(0, turned),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(view.viewport(), event)


def test_wheel_and_page_keys_go_along_the_line(qtbot: QtBot, view: ScoreView) -> None:
    bar = view.horizontalScrollBar()
    wheel(view, -120)
    assert bar.value() == QApplication.wheelScrollLines() * 40
    wheel(view, 120)
    assert bar.value() == 0
    qtbot.keyClick(view, Qt.Key.Key_PageDown)
    assert bar.value() == bar.pageStep()
    qtbot.keyClick(view, Qt.Key.Key_PageUp)
    assert bar.value() == 0


def test_walking_brings_what_is_reached_into_sight(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    bar = view.horizontalScrollBar()
    for _ in range(8):
        qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert desk.selection is not None
    assert bar.value() > 0
    qtbot.keyClick(view, Qt.Key.Key_End)
    qtbot.waitUntil(lambda: bar.value() == bar.maximum(), timeout=WAIT)


def test_what_sounds_is_followed(qtbot: QtBot, view: ScoreView) -> None:
    view.show_sounding(Place(measure_index=60))
    bar = view.horizontalScrollBar()
    qtbot.waitUntil(lambda: bar.value() > 0, timeout=WAIT)
    qtbot.waitUntil(lambda: any(item._marks.sounding for item in chunks(view)), timeout=WAIT)


def test_letters_stand_over_the_line_but_at_its_beginning(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    sections = tuple(
        ShownSection(passage=Passage.of_measures(first, first + 23), letter=letter)
        for first, letter in ((0, "A"), (24, "B"), (48, "C"))
    )
    view.marking.show_overlays(ShownOverlays(sections=sections))
    desk.going_to.emit(50)
    qtbot.waitUntil(lambda: any(i._marks.letters for i in chunks(view)[1:]), timeout=WAIT)
    letters = {
        letter.letter: letter.is_inside for item in chunks(view) for letter in item._marks.letters
    }
    assert letters["A"] is False
    assert {letters[name] for name in letters if name != "A"} == {True}


def test_a_remark_has_its_bracket_in_the_line(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    assert desk.score is not None
    anchor = Anchor(
        kind=AnchorKind.PASSAGE,
        score_sha256=desk.score.sha256,
        passage=Passage.of_measures(1, 2),
    )
    desk.remarks = (
        Remark(
            id=1, piece_id=1, kind=None, body="lean", anchor=anchor, created_at=NOW, edited_at=NOW
        ),
    )
    desk.remarks_changed.emit()
    glosses = chunks(view)[0]._marks.glosses
    assert [gloss.number for gloss in glosses] == [1]


def test_the_same_measure_stands_there_in_the_other_shape(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    desk.select_measures(50, 51)
    view.is_one_line = False
    qtbot.waitUntil(lambda: view.verticalScrollBar().value() > 0, timeout=WAIT)
    qtbot.waitUntil(lambda: any(item._marks.spans for item in chunks(view)), timeout=WAIT)
    assert all(item.x() == 0 for item in chunks(view))


def test_a_measure_asked_for_while_the_shape_changes_is_gone_to(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    view.is_one_line = False
    desk.going_to.emit(90)
    qtbot.waitUntil(lambda: view.verticalScrollBar().value() > 0, timeout=WAIT)

    def is_seen() -> bool:
        geometries = [view.geometry_of(item.number) for item in view._pages.in_sight(view._seen())]
        ranges = [geometry.measure_range for geometry in geometries if geometry is not None]
        return any(found is not None and found[0] <= 90 <= found[1] for found in ranges)

    qtbot.waitUntil(is_seen, timeout=WAIT)


def test_zoom_keeps_the_place_along_the_line(qtbot: QtBot, view: ScoreView) -> None:
    bar = view.horizontalScrollBar()
    bar.setValue(bar.maximum() // 2)
    before = view._pages.at(view._seen().topLeft())
    view.zoom_in()
    assert view._pages.at(view._seen().topLeft()) is before
    assert bar.value() > 0


def test_only_chunks_in_sight_and_beside_it_hold_an_image(qtbot: QtBot, view: ScoreView) -> None:
    def held() -> list[int]:
        return [item.number for item in chunks(view) if item.image is not None]

    qtbot.waitUntil(lambda: held() == [1, 2], timeout=WAIT)
    view.horizontalScrollBar().setValue(view.horizontalScrollBar().maximum())
    last = len(chunks(view))
    qtbot.waitUntil(lambda: held() == [last - 1, last], timeout=WAIT)


def test_a_passage_and_a_bracket_go_on_over_the_cut_as_one(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    assert desk.score is not None
    first = view.geometry_of(1)
    assert first is not None
    assert first.measure_range is not None
    last = first.measure_range[1]
    desk.going_to.emit(last)
    qtbot.waitUntil(lambda: view.geometry_of(2) is not None, timeout=WAIT)
    passage = Passage.of_measures(last, last + 1)
    anchor = Anchor(kind=AnchorKind.PASSAGE, score_sha256=desk.score.sha256, passage=passage)
    desk.remarks = (
        Remark(
            id=1, piece_id=1, kind=None, body="on", anchor=anchor, created_at=NOW, edited_at=NOW
        ),
    )
    desk.remarks_changed.emit()
    desk.select_measures(last, last + 1)
    before, after = chunks(view)[0]._marks, chunks(view)[1]._marks
    assert [(mark.begins, mark.ends) for mark in before.glosses] == [(True, False)]
    assert [(mark.begins, mark.ends) for mark in after.glosses] == [(False, True)]
    assert (before.begins, after.begins) == (True, False)
    seam = view._pages.own_rect(chunks(view)[0]).right()
    scale = view.staff_space / UNITS_PER_SPACE
    assert chunks(view)[0].x() + before.spans[0].right * scale == pytest.approx(seam, abs=1)
    assert chunks(view)[1].x() + after.spans[0].left * scale == pytest.approx(seam, abs=1)


def test_far_zoomed_in_only_what_is_seen_holds_an_image(qtbot: QtBot, view: ScoreView) -> None:
    view.staff_space = 40
    image = chunks(view)[0]

    def is_painted_anew() -> bool:
        painted = image.image
        return painted is not None and painted.width() * painted.height() > 16_000_000

    qtbot.waitUntil(is_painted_anew, timeout=WAIT)
    assert [item.number for item in chunks(view) if item.image is not None] == [1]


def test_key_rules_and_letters_lie_at_one_height_all_along(
    qtbot: QtBot, view: ScoreView, desk: DeskModel
) -> None:
    key = ShownKey(
        passage=Passage.of_measures(0, 95),
        label="G minor",
        color=QColor("gray"),
        certainty=Certainty.SOLID,
    )
    view.marking.show_overlays(ShownOverlays(keys=(key,)))
    desk.going_to.emit(40)
    qtbot.waitUntil(lambda: all(item._marks.rules for item in chunks(view)[:2]), timeout=WAIT)
    rules = [rule for item in chunks(view) for rule in item._marks.rules]
    assert len({(rule.span.top, rule.reach) for rule in rules}) == 1
