"""Key colours: computed, apart from each other, and readable under text."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor

from app.theme import DARK, LIGHT
from app.tonality.key_colors import key_color, oklch
from tests.app.color_contrast import LEAST_CONTRAST, contrast


def test_oklch_against_published_values() -> None:
    """CSS Color Module Level 4 (W3C), section 9: sRGB red is oklch(62.8% 0.2577 29.23)."""
    red = oklch(0.628, 0.2577, 29.23)
    assert (red.red(), red.green(), red.blue()) == pytest.approx((255, 0, 0), abs=2)
    white = oklch(1.0, 0.0, 0.0)
    assert (white.red(), white.green(), white.blue()) == (255, 255, 255)


def test_contrast_of_black_on_white_is_21() -> None:
    """WCAG 2.2: the largest contrast ratio is 21 : 1."""
    assert contrast(QColor("black"), QColor("white")) == pytest.approx(21)


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("mode", ["major", "minor"])
@pytest.mark.parametrize("is_dark", [False, True])
def test_text_on_a_key_can_be_read(fifths: int, mode: str, is_dark: bool) -> None:
    printed = QColor((DARK if is_dark else LIGHT)["print"])
    assert contrast(key_color(fifths, mode, is_dark=is_dark), printed) >= LEAST_CONTRAST


def test_twelve_fifths_further_is_the_same_colour() -> None:
    assert key_color(-5, "major", is_dark=False) == key_color(7, "major", is_dark=False)


def test_neighbours_and_modes_differ() -> None:
    colours = {
        key_color(fifths, mode, is_dark=False).name()
        for fifths in range(12)
        for mode in ("major", "minor")
    }
    assert len(colours) == 24


def test_rules_in_the_dark_are_lighter() -> None:
    area = key_color(1, "minor", is_dark=True)
    rule = key_color(1, "minor", is_dark=True, is_rule=True)
    assert rule.lightness() > area.lightness()
