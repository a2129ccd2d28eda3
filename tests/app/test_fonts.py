"""The bundled families show the weight that is asked for; variable fonts did not."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtGui import QFont, QFontDatabase, QFontInfo, QFontMetricsF
from PySide6.QtWidgets import QApplication

from core.resources import resources

SAMPLE = "Hamburgefonstiv"


@pytest.fixture
def bundled(qapp: QApplication) -> Iterator[None]:
    files = sorted((resources() / "fonts").rglob("*.ttf"))
    loaded = [QFontDatabase.addApplicationFont(str(path)) for path in files]
    assert -1 not in loaded
    yield
    for font in loaded:
        QFontDatabase.removeApplicationFont(font)


@pytest.mark.parametrize("family", ["Inter", "EB Garamond"])
def test_each_weight_is_drawn_by_its_own_file(family: str, bundled: None) -> None:
    fonts = [_font(family, weight) for weight in (400, 500, 600)]

    assert [QFontInfo(font).family() for font in fonts] == [family] * 3
    widths = [QFontMetricsF(font).horizontalAdvance(SAMPLE) for font in fonts]
    assert widths[0] < widths[1] < widths[2]


def test_the_serif_has_a_true_italic(bundled: None) -> None:
    upright = _font("EB Garamond", 400)
    italic = _font("EB Garamond", 400)
    italic.setItalic(True)

    assert QFontInfo(italic).styleName() == "Italic"
    # A slanted upright would be as wide.
    advances = [QFontMetricsF(font).horizontalAdvance(SAMPLE) for font in (upright, italic)]
    assert advances[0] != advances[1]


@pytest.mark.parametrize("family", ["Inter", "EB Garamond"])
def test_figures_are_lining(family: str, bundled: None) -> None:
    assert _spread_of_figure_heights(_font(family, 400)) < 0.15


def test_old_style_figures_would_be_noticed(bundled: None) -> None:
    old_style = _font("EB Garamond", 400)
    old_style.setFeature(QFont.Tag("onum"), 1)

    assert _spread_of_figure_heights(old_style) > 0.3


def _spread_of_figure_heights(font: QFont) -> float:
    """How much lower the lowest figure is than the highest, as a fraction of the highest."""
    metrics = QFontMetricsF(font)
    heights = [metrics.tightBoundingRect(figure).height() for figure in "0123456789"]
    return 1 - min(heights) / max(heights)


def _font(family: str, weight: int) -> QFont:
    font = QFont(family)
    font.setPixelSize(40)
    font.setWeight(QFont.Weight(weight))
    return font
