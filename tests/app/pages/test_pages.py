"""Pages over the desk: opened by a key, walked by Tab, put away by Escape, each with its matter."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QTreeWidgetItem
from pytestqt.qtbot import QtBot

from app.bootstrap import build_window, settings_in
from app.desk.shortcuts import key_of
from app.kept_where import HOME_VARIABLE, kept_in
from app.margin.finding_view import FindingView
from app.pages import log_page, settings_page
from app.pages.about_page import AboutPage
from app.pages.help_page import HelpPage
from app.pages.keys_page import KeysPage
from app.pages.log_page import LogPage
from app.pages.pages import MAKERS
from app.pages.settings_page import SettingsPage
from app.sound.talk import News, Ports
from app.theme import Choice
from app.tonality.shown_finding import ShownFinding
from app.window import MainWindow
from tests.app import small_scores
from tests.contracts.fake_store import FakeStore


class Link:
    """A player that says what it is told to."""

    def __init__(self) -> None:
        self.wishes: list[object] = []

    def send(self, wish: object) -> None:
        self.wishes.append(wish)

    def shut_down(self, *, at_once: bool = True) -> None:
        """Nothing runs."""


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[MainWindow]:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path))
    built = build_window(FakeStore(), settings_in(tmp_path))
    built.pages.kept = kept_in(tmp_path)
    built.hearing.listening._open_link = lambda tell: Link()
    qtbot.addWidget(built)
    built.show()
    qtbot.waitExposed(built)
    built.activateWindow()
    yield built
    built.close()


def opened(window: MainWindow, action: str, kind: type) -> object:
    window.doing.do(action)
    (page,) = (page for page in window.pages.made.values() if page.isVisible())
    assert isinstance(page, kind)
    return page


# ------------------------------------------------------------------------------------ all pages


@pytest.mark.parametrize("name", MAKERS)
def test_escape_puts_it_away_and_the_keyboard_goes_back(window: MainWindow, name: str) -> None:
    before = window.first_start.bring_in
    before.setFocus()
    page = window.pages.open(name)
    focused = QApplication.focusWidget()
    assert focused is not None
    assert page.isAncestorOf(focused)
    QTest.keyClick(focused, Qt.Key.Key_Escape)
    assert page.isHidden()
    assert QApplication.focusWidget() is before


@pytest.mark.parametrize("name", MAKERS)
def test_tab_stays_on_the_page_and_comes_round(window: MainWindow, name: str) -> None:
    page = window.pages.open(name)
    first, met = QApplication.focusWidget(), []
    for _ in range(30):
        focused = QApplication.focusWidget()
        assert focused is not None
        assert page.isAncestorOf(focused)
        if focused is first and met:
            break
        met.append(focused)
        QTest.keyClick(focused, Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is first


@pytest.mark.parametrize("name", MAKERS)
def test_it_fits_into_a_small_window(window: MainWindow, name: str) -> None:
    window.resize(700, 480)
    page = window.pages.open(name)
    assert window.rect().contains(page.geometry())
    window.resize(600, 440)
    assert window.rect().contains(page.geometry())


def test_one_page_at_a_time(window: MainWindow) -> None:
    window.doing.do("keys")
    window.doing.do("help")
    assert [name for name, page in window.pages.made.items() if page.isVisible()] == ["help"]


def test_space_on_a_page_plays_nothing(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    played: list[str] = []
    monkeypatch.setattr(window.hearing, "toggle", lambda: played.append("played"))
    page = opened(window, "about", AboutPage)
    QTest.keyClick(page.text, Qt.Key.Key_Space)  # type: ignore[attr-defined]
    assert played == []


# ----------------------------------------------------------------------------------------- keys


def test_keys_are_found_and_copied(window: MainWindow) -> None:
    page = opened(window, "keys", KeysPage)
    assert isinstance(page, KeysPage)
    QTest.keyClicks(page.filter, "margin of no page")
    assert not [item for item in rows_of(page) if not item.isHidden()]
    page.filter.setText("piece close")
    page.table.setFocus()
    QTest.keyClick(page.table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    group, keys, does = QGuiApplication.clipboard().text().split("\t")
    assert (group, does) == ("Pieces", "Close the piece")
    assert keys.split(", ")[0] == key_of("close_piece")


def rows_of(page: KeysPage) -> list[QTreeWidgetItem]:
    items = [page.table.topLevelItem(row) for row in range(page.table.topLevelItemCount())]
    return [item for item in items if item is not None]


# ----------------------------------------------------------------------------------------- help


def test_help_begins_with_the_first_ten_minutes(window: MainWindow) -> None:
    page = opened(window, "help", HelpPage)
    assert isinstance(page, HelpPage)
    assert page.text.toPlainText().startswith("The first ten minutes\n")


def test_a_link_leads_to_its_heading(window: MainWindow) -> None:
    page = opened(window, "first_minutes", HelpPage)
    assert isinstance(page, HelpPage)
    page.text.anchorClicked.emit(QUrl("help:sureness#your-word"))
    assert page.contents.currentItem().text() == "How sure it is"
    assert page.text.textCursor().block().text() == "Your word"


def test_words_are_found_in_another_chapter(window: MainWindow) -> None:
    page = opened(window, "help", HelpPage)
    assert isinstance(page, HelpPage)
    QTest.keyClicks(page.filter, "numbness")
    assert page.contents.currentItem().text() == "Cautions"
    assert page.text.textCursor().selectedText() == "numbness"
    assert len(page.text.extraSelections()) == 1


def test_enter_goes_on_to_the_next_place_and_round(window: MainWindow) -> None:
    page = opened(window, "help", HelpPage)
    assert isinstance(page, HelpPage)
    QTest.keyClicks(page.filter, "metre")
    places = []
    for _ in range(12):
        cursor = page.text.textCursor()
        places.append((page.contents.currentRow(), cursor.position()))
        assert cursor.selectedText().casefold() == "metre"
        QTest.keyClick(page.filter, Qt.Key.Key_Return)
    assert len(set(places)) > 1
    assert places.count(places[0]) > 1


def test_words_that_stand_nowhere_change_nothing(window: MainWindow) -> None:
    page = opened(window, "help", HelpPage)
    assert isinstance(page, HelpPage)
    QTest.keyClicks(page.filter, "zzz")
    QTest.keyClick(page.filter, Qt.Key.Key_Return)
    assert page.contents.currentRow() == 0
    assert page.text.extraSelections() == []


def test_help_on_a_kind_of_finding(window: MainWindow) -> None:
    page = opened(window, "help", HelpPage)
    assert isinstance(page, HelpPage)
    page.show_kind("cadence")
    assert page.text.textCursor().block().text() == "Cadence"
    page.show_kind("no such kind")
    assert page.contents.currentRow() == 0


def test_on_a_finding_help_tells_of_its_kind(window: MainWindow) -> None:
    view = FindingView(window.theme, window)
    view.show_finding(
        ShownFinding(kind="accompaniment", title="bass", value_text="bass", confidence=0.7)
    )
    view.show()
    view.setFocus()
    page = opened(window, "help", HelpPage)
    assert isinstance(page, HelpPage)
    assert page.text.textCursor().block().text() == "Accompaniment"


# ------------------------------------------------------------------------------------- settings


def test_looks_are_chosen_and_shown(window: MainWindow) -> None:
    page = opened(window, "settings", SettingsPage)
    assert isinstance(page, SettingsPage)
    page.looks[Choice.DARK].click()
    assert window.theme.choice is Choice.DARK
    page.white.click()
    assert window.theme.keeps_page_white
    window.doing.do("light")
    assert page.looks[Choice.LIGHT].isChecked()
    window.doing.do("white_page")
    assert not page.white.isChecked()


def told(qtbot: QtBot, window: MainWindow, news: News) -> None:
    with qtbot.waitSignal(window.hearing.listening.ports_told):
        window.hearing.listening._told.emit(news)


def test_a_port_is_chosen(qtbot: QtBot, window: MainWindow) -> None:
    page = opened(window, "settings", SettingsPage)
    assert isinstance(page, SettingsPage)
    assert page.why_no_port.text() == settings_page.ASKING
    told(qtbot, window, Ports(names=("Stage piano", "Organ")))
    assert list(page.outputs) == [None, "Stage piano", "Organ"]
    assert page.why_no_port.isHidden()
    page.outputs["Organ"].click()
    assert window.hearing.listening.port == "Organ"
    window.hearing.listening.use_port(None)
    assert page.outputs[None].isChecked()


def test_why_there_is_no_port_is_said(qtbot: QtBot, window: MainWindow) -> None:
    page = opened(window, "settings", SettingsPage)
    assert isinstance(page, SettingsPage)
    told(qtbot, window, Ports(names=()))
    assert page.why_no_port.text() == settings_page.NO_PORT
    told(qtbot, window, Ports(names=(), why_none="This system offers no MIDI."))
    assert page.why_no_port.text() == "This system offers no MIDI."
    assert page.outputs[None].isChecked()


def test_it_says_where_things_are_kept(window: MainWindow, tmp_path: Path) -> None:
    page = opened(window, "settings", SettingsPage)
    assert isinstance(page, SettingsPage)
    said = [label.text() for label in page._sentences]
    assert f"Notebook: {tmp_path / 'notebook.postil'}" in said
    assert f"Log: {tmp_path / 'postil.log'}" in said


# ------------------------------------------------------------------------------------ log, about


def test_the_log_is_read_when_it_is_opened(window: MainWindow, tmp_path: Path) -> None:
    page = opened(window, "show_log", LogPage)
    assert isinstance(page, LogPage)
    assert page.text.toPlainText() == log_page.NOTHING
    (tmp_path / "postil.log").write_text("one line", encoding="utf-8")
    window.doing.do("show_log")
    assert page.text.toPlainText() == "one line"
    page._copy.click()
    assert QGuiApplication.clipboard().text() == "one line"


def test_of_a_long_log_the_end_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "long.log"
    path.write_text("a" * log_page.MOST_SHOWN_BYTES + "end", encoding="utf-8")
    shown = log_page.end_of(path)
    assert len(shown) == log_page.MOST_SHOWN_BYTES
    assert shown.endswith("end")


def test_a_log_that_can_not_be_read_says_so(tmp_path: Path) -> None:
    assert log_page.end_of(tmp_path).startswith("The log can't be read: ")


def test_the_folder_of_the_log_is_opened(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened_urls: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", opened_urls.append)
    page = opened(window, "show_log", LogPage)
    assert isinstance(page, LogPage)
    page._folder.click()
    assert [url.toLocalFile() for url in opened_urls] == [str(tmp_path)]


def test_about_shows_every_licence(qtbot: QtBot, window: MainWindow) -> None:
    page = opened(window, "about", AboutPage)
    assert isinstance(page, AboutPage)
    qtbot.waitUntil(lambda: page.list.count() > 14)
    names = [page.list.item(row).text() for row in range(page.list.count())]
    assert names[0].startswith("Postil 0.")
    assert any(name.startswith("PySide6-Essentials 6") for name in names)
    assert len(set(names)) == len(names)
    page.list.setCurrentRow(1)
    assert "SIL OPEN FONT LICENSE" in page.text.toPlainText()


# ----------------------------------------------------------------------------------- tempo's tip


def test_where_the_tempo_comes_from_is_in_the_tip(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    small_scores.bring_in(qtbot, window.desk, small_scores.write(tmp_path))
    label = window.top_line._hearing
    assert label.toolTip() == "Space plays it, and stops it"
    window.hearing.tempo_told.emit("guessed, since none is printed")
    assert label.toolTip().endswith("\nTempo: guessed, since none is printed")
    assert label.accessibleDescription() == "Tempo: guessed, since none is printed"
