from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.form.form_line import HEIGHT, FormLine
from app.form.form_model import FormModel
from app.form.line_scale import LEFT, RIGHT
from app.theme import Choice, Theme
from core.score.places import Passage
from tests.app import small_scores
from tests.app.form import pieces

BOX_Y, WORDS_Y, REMARK_Y, NUMBER_Y, KEY_Y = 38, 96, 114, 12, 68
WIDTH = LEFT + RIGHT + 480
"""20 pixels a quarter note of the small piece."""
NO, SHIFT, ALT = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)


class Told:
    """What the line told, in order; it answers as the window does."""

    def __init__(self, line: FormLine) -> None:
        self.said: list[tuple[str, Any]] = []
        self.model = line.model
        line.passage_chosen.connect(self._on_passage)
        line.statement_chosen.connect(self._on_statement)
        line.remark_chosen.connect(lambda id: self.said.append(("remark", id)))
        line.going_to.connect(lambda index: self.said.append(("go", index)))

    def _on_passage(self, passage: Passage) -> None:
        self.said.append(("passage", passage))
        kind = pieces.AnchorKind.PASSAGE
        self.model.set_selection(pieces.Selection(kind=kind, passage=passage))
        self.model.set_statement(None)

    def _on_statement(self, statement: Any) -> None:
        self.said.append(("statement", statement and statement.name))
        self.model.set_statement(statement)

    def take(self) -> list[tuple[str, Any]]:
        said, self.said = self.said, []
        return said


@pytest.fixture
def theme(qtbot: QtBot) -> Theme:
    theme = Theme()
    theme.choose(Choice.LIGHT)
    return theme


@pytest.fixture
def line(qtbot: QtBot, theme: Theme) -> FormLine:
    """The line over A, A, A' of eight quarters each."""
    model = FormModel()
    line = FormLine(model, theme)
    qtbot.addWidget(line)
    line.resize(WIDTH, HEIGHT)
    score = pieces.repeated()
    model.set_score(score)
    found: Any = pieces.a_b(score)
    model.set_analysis(found)
    line.show()
    return line


def at(quarters: float, y: int = BOX_Y) -> QPoint:
    return QPoint(round(LEFT + 20 * quarters), y)


def drag(qtbot: QtBot, line: FormLine, begin: QPoint, end: QPoint, keys: Any = NO) -> None:
    left = Qt.MouseButton.LeftButton
    qtbot.mousePress(line, left, keys, begin)
    move(line, end, keys)
    qtbot.mouseRelease(line, left, keys, end)


def move(line: FormLine, to: QPoint, keys: Any = NO) -> None:
    event = QMouseEvent(
        QEvent.Type.MouseMove,
        QPointF(to),
        QPointF(line.mapToGlobal(to)),
        Qt.MouseButton.NoButton,
        Qt.MouseButton.LeftButton,
        keys,
    )
    QApplication.sendEvent(line, event)


def turn(
    line: FormLine, x: float, *, y: int = 0, sideways: int = 0, keys: Any = NO, pixels: int = 0
) -> None:
    phase = Qt.ScrollPhase.ScrollUpdate if pixels else Qt.ScrollPhase.NoScrollPhase
    where = QPointF(x, BOX_Y)
    event = QWheelEvent(
        where,
        line.mapToGlobal(where),
        QPoint(pixels, 0),
        QPoint(sideways, y),
        Qt.MouseButton.NoButton,
        keys,
        phase,
        False,
    )
    QApplication.sendEvent(line, event)


def test_a_click_chooses_the_measure_and_its_statement(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, NO, at(13))
    assert told.take() == [
        ("passage", Passage.of_measures(1, 1)),
        ("statement", "A, 2nd"),
    ]
    assert line.accessibleDescription() == "A, 2nd statement, measures 1 to 2, G minor"


def test_a_double_click_chooses_the_whole_statement(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    qtbot.mouseDClick(line, Qt.MouseButton.LeftButton, NO, at(21))
    assert told.take()[-2:] == [("passage", Passage.of_measures(2, 3)), ("statement", "A'")]


def test_a_drag_takes_whole_measures(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    drag(qtbot, line, at(18), at(21))
    assert told.take() == [("passage", Passage.of_measures(2, 3)), ("statement", "A'")]


def test_a_drag_over_the_repeat_holds_all_that_sounds_and_means_no_statement(
    qtbot: QtBot, line: FormLine
) -> None:
    told = Told(line)
    drag(qtbot, line, at(13), at(18))
    assert told.take() == [("passage", Passage.of_measures(1, 2)), ("statement", None)]
    drag(qtbot, line, at(13), at(6))
    assert told.take() == [("passage", Passage.of_measures(0, 1)), ("statement", None)]


def test_alt_drags_freely(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    drag(qtbot, line, at(17.5), at(19), ALT)
    passage = told.take()[0][1]
    assert (passage.start.measure_index, passage.start.offset_quarters) == (
        2,
        pieces.Fraction(3, 2),
    )
    assert (passage.end.measure_index, passage.end.offset_quarters) == (2, 3)


def test_escape_takes_a_drag_back(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    qtbot.mousePress(line, Qt.MouseButton.LeftButton, NO, at(1))
    move(line, at(7))
    qtbot.keyClick(line, Qt.Key.Key_Escape)
    qtbot.mouseRelease(line, Qt.MouseButton.LeftButton, NO, at(7))
    assert told.take() == []


def test_escape_without_a_drag_is_left_to_the_window(qtbot: QtBot, theme: Theme) -> None:
    line = FormLine(FormModel(), theme)
    qtbot.addWidget(line)
    event = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Escape, NO)
    QApplication.sendEvent(line, event)
    assert not event.isAccepted()


def test_a_click_on_a_number_chooses_the_remark(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    line.model.set_remarks([(1, pieces.remark(42, Passage.of_measures(1, 1)))])
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, NO, at(4, REMARK_Y) + QPoint(3, 0))
    assert told.take() == [("remark", 42)]


def test_a_click_beside_the_lanes_chooses_nothing(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, NO, QPoint(40, BOX_Y))
    assert told.take() == []


def test_arrows_go_by_statement_and_end_at_the_ends(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    names = []
    for key in (Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Right):
        qtbot.keyClick(line, key)
        names.append(told.take()[-1][1])
    assert names == ["A, 1st", "A, 2nd", "A'", "A'"]
    qtbot.keyClick(line, Qt.Key.Key_Home)
    assert told.take() == [("passage", Passage.of_measures(0, 1)), ("statement", "A, 1st")]
    qtbot.keyClick(line, Qt.Key.Key_End)
    qtbot.keyClick(line, Qt.Key.Key_Left)
    assert told.take()[-1] == ("statement", "A, 2nd")


def test_shift_extends_and_takes_back(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    qtbot.keyClick(line, Qt.Key.Key_End)
    told.take()
    qtbot.keyClick(line, Qt.Key.Key_Left, SHIFT)
    assert told.take() == [("passage", Passage.of_measures(0, 3)), ("statement", None)]
    qtbot.keyClick(line, Qt.Key.Key_Right, SHIFT)
    assert told.take() == [("passage", Passage.of_measures(2, 3)), ("statement", "A'")]


def test_shift_begins_anew_where_another_place_was_chosen(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    qtbot.keyClick(line, Qt.Key.Key_Home)
    qtbot.keyClick(line, Qt.Key.Key_Right, SHIFT)
    line.model.set_selection(pieces.selection(3, 3))
    told.take()
    qtbot.keyClick(line, Qt.Key.Key_Right, SHIFT)
    assert told.take() == [("passage", Passage.of_measures(2, 3)), ("statement", "A'")]


def test_enter_goes_to_the_current_place(qtbot: QtBot, line: FormLine) -> None:
    told = Told(line)
    line.model.set_selection(pieces.selection(3, 3))
    qtbot.keyClick(line, Qt.Key.Key_Return)
    assert told.take() == [("go", 3)]


def test_plus_and_minus_zoom(qtbot: QtBot, line: FormLine) -> None:
    qtbot.keyClick(line, Qt.Key.Key_Plus)
    assert line.scale.zoom == pytest.approx(1.25)
    qtbot.keyClick(line, Qt.Key.Key_Minus)
    assert line.scale.zoom == pytest.approx(1)


def test_the_wheel_zooms_about_the_pointer(line: FormLine) -> None:
    x = float(at(12).x())
    turn(line, x, y=240)
    assert line.scale.zoom == pytest.approx(1.25**2)
    assert line.scale.quarters(x) == pytest.approx(12)


def test_shift_and_wheel_and_a_trackpad_scroll_sideways(line: FormLine) -> None:
    line.zoom(2, LEFT)
    turn(line, 300, y=-120, keys=SHIFT)
    assert (line.scale.zoom, line.scale.first_quarters) == pytest.approx((2, 60 / 40))
    turn(line, 300, pixels=-40)
    assert line.scale.first_quarters == pytest.approx(100 / 40)


def test_a_statement_gone_to_by_key_is_brought_into_sight(qtbot: QtBot, line: FormLine) -> None:
    Told(line)
    line.zoom(3, LEFT)
    qtbot.keyClick(line, Qt.Key.Key_End)
    assert line.scale.last_quarters == pytest.approx(24)


def test_tips_say_in_full_what_has_no_room(line: FormLine) -> None:
    line.model.set_remarks([(1, pieces.remark(42, Passage.of_measures(1, 1), "a <b> c"))])
    assert line.tip_at(at(17, WORDS_Y)) == "m. 3: poco a poco cresc."
    assert line.tip_at(at(9, WORDS_Y)) == "m. 1: Andante"
    assert line.tip_at(at(20, KEY_Y)) == "G major, not sure"
    assert line.tip_at(at(20, BOX_Y)) == "A prime, measures 3 to 4, major, longer, G major"
    assert line.tip_at(at(5, NUMBER_Y)) == "m. 2"
    assert line.tip_at(at(4, REMARK_Y) + QPoint(3, 0)) == "1  a <b> c"
    assert line.tip_at(QPoint(4, 4)) == ""


def test_it_has_a_name_and_no_words_without_a_piece(qtbot: QtBot, theme: Theme) -> None:
    line = FormLine(FormModel(), theme)
    qtbot.addWidget(line)
    assert line.accessibleName() == "Form"
    assert line.accessibleDescription() == ""
    assert line.height() == HEIGHT


def test_nothing_open_takes_every_gesture(qtbot: QtBot, theme: Theme) -> None:
    line = FormLine(FormModel(), theme)
    qtbot.addWidget(line)
    line.resize(WIDTH, HEIGHT)
    told = Told(line)
    qtbot.mouseDClick(line, Qt.MouseButton.LeftButton, NO, at(3))
    drag(qtbot, line, at(1), at(8))
    turn(line, 300, y=120)
    for key in (Qt.Key.Key_Right, Qt.Key.Key_End, Qt.Key.Key_Return, Qt.Key.Key_Plus):
        qtbot.keyClick(line, key)
    line.grab()
    assert told.take() == []


def test_closing_the_piece_clears_the_line(line: FormLine) -> None:
    line.model.set_score(None)
    assert line.accessibleDescription() == ""
    assert line.tip_at(at(4)) == ""
    line.grab()


def test_before_the_analysis_a_click_still_chooses_the_measure(qtbot: QtBot, theme: Theme) -> None:
    line = FormLine(FormModel(), theme)
    qtbot.addWidget(line)
    line.resize(WIDTH, HEIGHT)
    line.model.set_score(pieces.repeated())
    told = Told(line)
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, NO, at(17))
    assert told.take() == [("passage", Passage.of_measures(2, 2)), ("statement", None)]
    qtbot.keyClick(line, Qt.Key.Key_Right)
    assert told.take() == [("passage", Passage.of_measures(0, 3)), ("statement", None)]


@pytest.mark.parametrize("choice", [Choice.LIGHT, Choice.DARK])
def test_the_current_place_is_washed_and_ruled_in_both_statements(
    line: FormLine, theme: Theme, choice: Choice
) -> None:
    theme.choose(choice)
    line.model.set_selection(pieces.selection(1, 1))
    image = line.grab().toImage()
    for start in (4, 12):
        assert image.pixelColor(at(start, 78)) == theme.color("print")
        assert image.pixelColor(at(start + 1, 110)) != theme.color("panel")
    assert image.pixelColor(at(9, 110)) == theme.color("panel")


@pytest.mark.parametrize("ratio", [1.0, 1.25, 1.5, 2.0])
def test_hairlines_are_whole_device_pixels(qtbot: QtBot, theme: Theme, ratio: float) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(WIDTH + 31, HEIGHT + 53)
    # No whole device pixel at 125 % and 150 %.
    FormLine(FormModel(), theme, window).setGeometry(31, 53, WIDTH, HEIGHT)
    image = QImage(window.size() * ratio, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    window.show()
    window.render(image)
    x = round((31 + 10) * ratio)
    column = [image.pixelColor(x, y).name() for y in range(image.height())]
    hairline, panel = theme.color("hairline").name(), theme.color("panel").name()
    top = column.index(hairline)
    thick = max(1, int(ratio))
    assert column[top : top + thick + 4] == [hairline] * thick + [panel] * 4


def test_a_huge_piece_is_painted_by_what_is_seen(
    qtbot: QtBot, theme: Theme, best_of: Callable[[Callable[[], object]], float]
) -> None:
    measures = [
        small_scores.measure(str(n), 1, before=small_scores.words("dolce"))
        for n in range(1, 10_001)
    ]
    line = FormLine(FormModel(), theme)
    qtbot.addWidget(line)
    line.resize(1440, HEIGHT)
    score = pieces.score_of(*measures)
    line.model.set_score(score)
    sections = [pieces.section(at, at + 3, "A") for at in range(0, 10_000, 4)]
    found: Any = pieces.found(score, sections)
    line.model.set_analysis(found)
    qtbot.waitUntil(lambda: line.model.is_laid_out)
    assert len(line.model.boxes) == 2500
    assert best_of(line.grab) < 0.5
    line.zoom(1e9)
    assert best_of(line.grab) < 0.1
