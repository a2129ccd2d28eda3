"""The page's lines sit on the device's pixels, and its text is there."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QFont, QImage

from app.score.page_painter import PagePainting, PageStyle, page_pixels
from core.resources import sample_library
from core.score.engraving import Engraver, PageLayout
from core.score.page_drawing import PageDrawing
from core.score.reading import read_score

PAGE, PRINTED = QColor("#FFFFFF"), QColor("#1C1A18")


@pytest.fixture(scope="module")
def page() -> PageDrawing:
    engraver = Engraver()
    engraver.load(
        read_score(sample_library() / "barcarolle.musicxml").score.canonical, PageLayout()
    )
    return engraver.page(1)


def style(space_pixels: int, **changes: str) -> PageStyle:
    return PageStyle(
        space_pixels=space_pixels,
        page=PAGE,
        printed=PRINTED,
        quiet=PRINTED,
        serif=_serif,
        **changes,
    )


def _serif(size: float, weight: int, italic: bool) -> QFont:
    font = QFont("EB Garamond")
    font.setPixelSize(max(1, round(size)))
    font.setWeight(QFont.Weight(weight))
    font.setItalic(italic)
    return font


def paint_page(drawing: PageDrawing, looks: PageStyle) -> QImage:
    """The page, made in one go."""
    painting = PagePainting(drawing, looks)
    while not painting.go_on(seconds=60.0):
        pass
    return painting.image


def darkness(image: QImage) -> NDArray[np.uint8]:
    """255 minus the red of each pixel, shape (height, width)."""
    pixels = np.frombuffer(image.constBits(), np.uint8)
    rows = pixels.reshape(image.height(), image.bytesPerLine() // 4, 4)[:, : image.width()]
    return 255 - rows[:, :, 2]


@pytest.mark.parametrize("space_pixels", range(4, 31))
def test_staff_lines_are_one_whole_pixel_at_every_zoom(
    qapp: object, page: PageDrawing, space_pixels: int
) -> None:
    dark = darkness(paint_page(page, style(space_pixels)))
    scale = style(space_pixels).scale
    full = 255 - PRINTED.red()
    for staff in page.staves:
        top, bottom = int(staff.y_top * scale) - 1, int(staff.y_bottom * scale) + 2
        columns = dark[top : bottom + 1, int(staff.x1 * scale) + 1 : int(staff.x2 * scale)]
        bare = columns[:, (columns > 0).sum(axis=0) == 5]
        assert bare.size, "no column shows five lines and nothing else"
        rows = np.flatnonzero(bare[:, 0])
        assert (bare[rows, 0] == full).all()
        assert (np.diff(rows) == space_pixels).all()


def test_a_page_is_as_large_as_its_staff_space_says(qapp: object, page: PageDrawing) -> None:
    image = paint_page(page, style(10))
    assert (image.width(), image.height()) == page_pixels(page.width, page.height, 10)


def test_title_and_composer_stand_at_the_head(qapp: object, page: PageDrawing) -> None:
    bare = darkness(paint_page(page, style(10)))
    titled = darkness(paint_page(page, style(10, title="Barcarolle", byline="Ottavia Brenn")))
    changed_rows = np.flatnonzero((bare != titled).any(axis=1))
    assert changed_rows.size
    assert changed_rows.max() < page.staves[0].y_top * style(10).scale


def test_words_over_the_notes_appear(qapp: object, page: PageDrawing) -> None:
    dark = darkness(paint_page(page, style(20)))
    scale = style(20).scale
    tempo = next(t for t in page.texts if "Andantino" in t.runs[0].text)
    x, y = int(tempo.x * scale), int(tempo.y * scale)
    assert (dark[y - 20 : y, x : x + 100] > 128).any()


def test_dark_pages_are_painted_light_on_dark(qapp: object, page: PageDrawing) -> None:
    dark_style = PageStyle(
        space_pixels=8,
        page=QColor("#26282B"),
        printed=QColor("#E9E6E1"),
        quiet=QColor("#A5A099"),
        serif=_serif,
    )
    image = paint_page(page, dark_style)
    assert image.pixelColor(1, 1) == QColor("#26282B")
    assert darkness(image).min() == 255 - 0xE9
