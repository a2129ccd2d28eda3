"""The tokens: every role there, text readable on every ground, the choice remembered."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from PySide6.QtGui import QColor, QFontInfo
from pytestqt.qtbot import QtBot

from app.theme import DARK, LIGHT, Choice, Theme
from tests.app.color_contrast import LEAST_CONTRAST, contrast

GROUNDS = ("desk", "page", "panel", "field")
TEXTS = ("print", "quiet", "graphite", "ink", "heard", "contrary")


def washed(ground: QColor, veil: QColor) -> QColor:
    """A colour seen through a veil."""
    share = veil.alphaF()
    mixed = (
        share * over + (1 - share) * under
        for over, under in zip(veil.getRgbF()[:3], ground.getRgbF()[:3], strict=True)
    )
    return QColor.fromRgbF(*mixed)


@pytest.mark.parametrize("choice", [Choice.LIGHT, Choice.DARK])
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("text", TEXTS)
def test_text_can_be_read_on_every_ground(
    qtbot: QtBot, choice: Choice, ground: str, text: str
) -> None:
    theme = Theme()
    theme.choose(choice)
    assert contrast(theme.color(text), theme.color(ground)) >= LEAST_CONTRAST


@pytest.mark.parametrize("choice", [Choice.LIGHT, Choice.DARK])
def test_quiet_text_can_be_read_at_the_current_place(qtbot: QtBot, choice: Choice) -> None:
    theme = Theme()
    theme.choose(choice)
    # Rows of the shelf and of do… stand on these two; on the dark page it would be 4.3 : 1, and
    # no quiet text is printed there.
    for ground in ("panel", "field"):
        seen = washed(theme.color(ground), theme.color("here"))
        assert contrast(theme.color("quiet"), seen) >= LEAST_CONTRAST


def test_light_and_dark_have_the_same_roles() -> None:
    assert LIGHT.keys() == DARK.keys()


def test_an_unknown_role_is_named(qtbot: QtBot) -> None:
    with pytest.raises(ValueError, match="role 'paper' is not a token"):
        Theme().color("paper")


def test_the_page_stays_white_by_choice(qtbot: QtBot) -> None:
    theme = Theme()
    theme.choose(Choice.DARK)
    assert theme.page_color("page").name().upper() == DARK["page"]
    theme.keep_page_white(True)
    assert theme.page_color("page").name().upper() == LIGHT["page"]
    assert theme.page_color("print").name().upper() == LIGHT["print"]
    assert theme.color("panel").name().upper() == DARK["panel"]


def test_the_choice_is_remembered(qtbot: QtBot, tmp_path: Path) -> None:
    settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
    theme = Theme(settings)
    theme.choose(Choice.DARK)
    theme.keep_page_white(True)
    settings.sync()
    again = Theme(QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat))
    assert again.is_dark
    assert again.keeps_page_white


def test_a_damaged_choice_follows_the_system(qtbot: QtBot, tmp_path: Path) -> None:
    path = tmp_path / "window.ini"
    path.write_text("[look]\ntheme=sepia\n")
    assert Theme(QSettings(str(path), QSettings.Format.IniFormat)).choice is Choice.SYSTEM


def test_choosing_says_so(qtbot: QtBot) -> None:
    theme = Theme()
    with qtbot.waitSignal(theme.changed):
        theme.choose(Choice.DARK)


def test_the_style_sheet_leaves_no_token_open(qtbot: QtBot) -> None:
    sheet = Theme().stylesheet()
    bodies = [rule.split("{", 1)[1] for rule in sheet.splitlines()]
    assert bodies
    assert not any("{" in body for body in bodies)


def test_the_bundled_families_are_found(qtbot: QtBot) -> None:
    theme = Theme()
    assert QFontInfo(theme.sans(13, 600)).family() == "Inter"
    assert QFontInfo(theme.serif(17, italic=True)).family() == "EB Garamond"
    assert theme.serif(17).pixelSize() == 17
