"""Findings in the margin by keyboard and mouse; remarks that hang on them."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.bootstrap import build_window, settings_in
from app.desk.desk_model import DeskModel
from app.desk.selection import Selection
from app.margin.finding_view import FindingView
from app.margin.here import Here
from app.margin.signed_text import Run, SignedText, advance, lay_out
from app.theme import Choice, Theme
from app.tonality.findings_model import FindingsModel
from core.notebook.values import AnchorKind
from tests.app import barcarolle
from tests.contracts.fake_store import FakeStore


@pytest.fixture
def model(qtbot: QtBot, desk: DeskModel) -> FindingsModel:
    found = FindingsModel(barcarolle.on(qtbot, desk))
    found.show_analysis(barcarolle.analysis(), ())
    return found


@pytest.fixture
def theme() -> Theme:
    return Theme()


@pytest.fixture
def here(qtbot: QtBot, desk: DeskModel, model: FindingsModel, theme: Theme) -> Iterator[Here]:
    panel = Here(desk, theme)
    panel.take_findings(model)
    qtbot.addWidget(panel)
    panel.resize(332, 800)
    panel.show()
    qtbot.waitExposed(panel)
    panel.activateWindow()
    yield panel
    panel.finish()


def views(here: Here) -> tuple[FindingView, ...]:
    assert here.findings is not None
    return here.findings.views()


def test_findings_stand_above_the_remarks_with_names(here: Here, model: FindingsModel) -> None:
    assert len(views(here)) == len(model.here)
    assert views(here)[0].accessibleName() == "Finding: G minor, sure, 0.95"
    assert here._rule.isVisible()


def test_enter_opens_why_and_escape_steps_back(here: Here, model: FindingsModel) -> None:
    left = []
    here.left.connect(lambda: left.append(True))
    view = views(here)[0]
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_Return)
    assert model.evidence
    assert view._runner_up.isVisible()
    assert view.foot.confirm.isVisible()
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert model.evidence == ()
    assert left == []
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert left == [True]


def test_a_click_opens_why(here: Here, model: FindingsModel) -> None:
    QTest.mouseClick(views(here)[0], Qt.MouseButton.LeftButton)
    assert model.here[0].is_open


def test_a_measure_that_is_named_leads_there(here: Here, desk: DeskModel) -> None:
    desk.select_measures(0, 0)
    view = next(view for view in views(here) if view.shown and view.shown.kind == "section")
    title = view._title
    word = next(word for word in title._lay_out(title.width())[0] if word.run.link == "9")
    at = QPoint(round(word.x) + 3, round(word.base) - 3)
    QTest.mouseClick(title, Qt.MouseButton.LeftButton, pos=at)
    assert desk.where() == "m. 9"


def test_one_key_confirms_and_the_square_shows_it(here: Here, model: FindingsModel) -> None:
    view = views(here)[0]
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_Y)
    assert model.here[0].is_confirmed
    assert view._square.isVisible()
    QTest.keyClick(view, Qt.Key.Key_Delete)
    assert model.here[0].judgement is None
    assert not view._square.isVisible()


def test_overruling_is_typed_in_place(here: Here, model: FindingsModel) -> None:
    view = views(here)[0]
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_N)
    assert QApplication.focusWidget() is view.foot.field
    # "n" and "y" are letters again while one types.
    QTest.keyClicks(view.foot.field, "G any")
    QTest.keyClick(view.foot.field, Qt.Key.Key_Return)
    assert view.foot.refusal.isVisible()
    assert "“G any” can't be read" in view.foot.refusal.text()
    assert model.here[0].judgement is None
    view.foot.field.setText("g dorian")
    QTest.keyClick(view.foot.field, Qt.Key.Key_Return)
    assert model.here[0].own_value == "G Dorian"
    assert view._title.text == "G minor  G\N{NO-BREAK SPACE}Dorian"
    assert not view.foot.field.isVisible()
    assert QApplication.focusWidget() is view


def test_escape_leaves_overruling_without_a_word(here: Here, model: FindingsModel) -> None:
    view = views(here)[0]
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_N)
    QTest.keyClick(view.foot.field, Qt.Key.Key_Escape)
    assert not view.foot.field.isVisible()
    assert model.here[0].judgement is None
    assert QApplication.focusWidget() is view


def test_tab_walks_findings_then_remarks_then_the_field(here: Here, desk: DeskModel) -> None:
    here.writing.field.setFocus()
    QTest.keyClicks(here.writing.field, "sink")
    assert here.finish()
    here.refresh()
    views(here)[0].setFocus()
    met = []
    for _ in range(len(views(here)) + 1):
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        met.append(QApplication.focusWidget())
    assert met == [*views(here)[1:], here.views()[0], here.writing.field]


def test_arrows_lead_from_findings_to_remarks_and_back(here: Here) -> None:
    here.writing.field.setFocus()
    QTest.keyClicks(here.writing.field, "sink")
    here.finish()
    here.refresh()
    last = views(here)[-1]
    last.setFocus()
    QTest.keyClick(last, Qt.Key.Key_Down)
    assert QApplication.focusWidget() is here.views()[0]
    QTest.keyClick(here.views()[0], Qt.Key.Key_Up)
    assert QApplication.focusWidget() is last


def test_typing_on_a_finding_begins_a_remark_on_it(here: Here, desk: DeskModel) -> None:
    desk.select_measures(4, 7)
    index = next(i for i, v in enumerate(views(here)) if v.shown and v.shown.kind == "section")
    views(here)[index].setFocus()
    QTest.keyClicks(views(here)[index], "l")
    assert QApplication.focusWidget() is here.writing.field
    QTest.keyClicks(here.writing.field, "ighter")
    assert here.writing._on.text.startswith("on: B is new here")
    assert here.finish()
    remark = desk.remarks[0]
    assert (remark.body, remark.anchor.kind) == ("lighter", AnchorKind.FINDING)
    assert remark.anchor.finding_kind == "section"
    here.refresh()
    assert "on: B is new here" in here.views()[0].accessibleName()
    # The next remark is on the place again.
    QTest.keyClicks(here.writing.field, "slower")
    assert here.finish()
    assert desk.remarks[0].anchor.kind is AnchorKind.PASSAGE


def test_a_remark_on_a_finding_leads_to_its_passage(here: Here, desk: DeskModel) -> None:
    desk.select_measures(4, 7)
    index = next(i for i, v in enumerate(views(here)) if v.shown and v.shown.kind == "section")
    views(here)[index].setFocus()
    QTest.keyClicks(views(here)[index], "l")
    here.finish()
    desk.select(None)
    here.refresh()
    here.views()[0].going_there.emit(desk.remarks[0].anchor.passage)
    assert desk.selection == Selection(
        kind=AnchorKind.PASSAGE, passage=barcarolle.analysis().form.sections[1].value.passage
    )


def test_escape_takes_on_a_finding_back(here: Here) -> None:
    views(here)[0].setFocus()
    assert here.write_on_finding()
    QTest.keyClick(here.writing.field, Qt.Key.Key_Escape)
    assert not here.writing._on.isVisible()


def test_looking_and_failing_are_said(here: Here, model: FindingsModel) -> None:
    assert here.findings is not None
    model.show_analysis(None)
    assert not here.findings.isVisible()
    model.set_progress("Looking at keys")
    assert here.findings._state.text() == "Looking at keys…"
    assert here.findings.isVisible()
    model.set_progress("")
    model.set_failure("The file is too large.")
    assert "too large" in here.findings._state.text()


@pytest.mark.parametrize("width", [332, 280])
@pytest.mark.parametrize("choice", [Choice.LIGHT, Choice.DARK])
def test_nothing_is_cut_off(
    qtbot: QtBot, here: Here, desk: DeskModel, theme: Theme, width: int, choice: Choice
) -> None:
    theme.choose(choice)
    here.setFixedWidth(width)
    desk.select_measures(0, 8)
    # Layouts settle in the turns after; a title that stays cut off fails by the time limit.
    for view in views(here):
        title = view._title
        qtbot.waitUntil(
            lambda title=title: title.height() >= title.heightForWidth(title.width()), timeout=1000
        )
    assert all(view.geometry().right() <= width for view in views(here))


def test_signs_come_from_the_music_font_and_have_a_width(theme: Theme, qtbot: QtBot) -> None:
    font = theme.sans(13)
    assert advance("B♭", font) > advance("B", font) + 3
    text = SignedText(theme)
    qtbot.addWidget(text)
    text.show_runs([Run(text="B♭ major", font=font)])
    assert text.accessibleName() == "B flat major"


def test_words_wrap_and_one_that_is_too_long_is_broken(theme: Theme, qtbot: QtBot) -> None:
    font = theme.sans(13)
    placed, height = lay_out([Run(text="one two three", font=font)], 40)
    assert len({word.base for word in placed}) == 3
    assert height >= 3 * 18
    placed, _ = lay_out([Run(text="w" * 40, font=font)], 60)
    assert all(word.width <= 60 for word in placed)
    assert "".join(word.text for word in placed) == "w" * 40


def test_a_judgement_is_quick(qtbot: QtBot, here: Here, model: FindingsModel) -> None:
    """From the key to the margin showing it: 50 ms in all; here without the store's disk."""
    view = views(here)[0]
    view.setFocus()
    fastest = 1.0
    for _ in range(4):
        began = time.perf_counter()
        QTest.keyClick(view, Qt.Key.Key_Y)
        view.grab()
        fastest = min(fastest, time.perf_counter() - began)
    assert fastest < 0.05


def test_the_window_leads_to_findings_by_a_key(qtbot: QtBot, tmp_path: Path) -> None:
    window = build_window(FakeStore(), settings_in(tmp_path))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    barcarolle.on(qtbot, window.desk)
    if window.here.findings is None:
        window.here.take_findings(FindingsModel(window.desk))
    model = window.here._model
    assert model is not None
    model.show_analysis(barcarolle.analysis(), ())
    window.doing.do("findings")
    assert QApplication.focusWidget() is views(window.here)[0]
    window.doing.do("write_on_finding")
    assert QApplication.focusWidget() is window.here.writing.field
    assert window.here.writing._on.text == "on: G minor"
    window.close()
