"""What is painted over a page keeps within its room."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtGui import QColor, QImage, QPainter

from app.score.page_looks import page_colors
from app.score.page_marks import LETTER_ROOM, MarkPainter, PageMarks, SectionLetter
from app.score.score_geometry import Span
from app.theme import Theme
from core.score.page_drawing import UNITS_PER_SPACE

SPACE_PIXELS = 10
SYSTEM = Span(0, 80 * UNITS_PER_SPACE, 90 * UNITS_PER_SPACE, 0, 10 * UNITS_PER_SPACE)


def columns_of(letter: str) -> NDArray[np.intp]:
    """The columns of pixels that a section's letter has ink in; the page begins at 100."""
    image = QImage(300, 200, QImage.Format.Format_RGB32)
    image.fill(QColor("#FFFFFF"))
    painter = QPainter(image)
    left = 100 / SPACE_PIXELS * UNITS_PER_SPACE
    mark = SectionLetter(span=SYSTEM, letter=letter, page_left=left)
    colors, scale = page_colors(Theme()), SPACE_PIXELS / UNITS_PER_SPACE
    MarkPainter(painter, colors, scale).paint(PageMarks(letters=(mark,)))
    painter.end()
    pixels = np.frombuffer(image.constBits(), np.uint8).reshape(200, image.bytesPerLine())
    return np.flatnonzero((pixels.reshape(200, -1, 4)[:, :300, 1] < 200).any(axis=0))


@pytest.mark.parametrize("word", ["Intro", "Bridge", "Development"])
def test_a_persons_word_for_a_section_is_written_smaller_until_it_fits(
    qapp: object, word: str
) -> None:
    columns = columns_of(word)
    reach = columns[-1] - columns[0]
    assert columns[0] >= 100
    assert 0.8 * LETTER_ROOM * SPACE_PIXELS <= reach <= LETTER_ROOM * SPACE_PIXELS


def test_a_letter_has_its_own_size(qapp: object) -> None:
    assert columns_of("A").size < 0.6 * LETTER_ROOM * SPACE_PIXELS
