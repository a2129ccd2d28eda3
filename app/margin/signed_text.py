"""Text that wraps, with accidentals drawn from the music font (``app.sign_text``).

A text is made of runs, each in one font and colour. Words are never broken unless one alone is
wider than the line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil

from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QMouseEvent,
    QPainter,
    QPaintEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.sign_text import advance, draw
from app.theme import SERIF_FAMILY, Theme
from app.tonality.signs import spoken

__all__ = ["Run", "SignedText", "advance", "draw", "lay_out"]

LINE_HEIGHT_SANS, LINE_HEIGHT_SERIF = 1.5, 1.3
WIDTHS_KEPT = 16
_PIECES = re.compile(r"\n|[ \t]+|[^ \t\n]+")
"""Lines break, and words end, at plain spaces only: a no-break space holds two together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Words in one font and colour.

    Parameters
    ----------
    role : str
        A token of the theme.
    """

    text: str
    font: QFont
    role: str = "graphite"
    is_struck: bool = False
    is_underlined: bool = False
    link: str = ""
    """What ``link_clicked`` says of a click on it; empty for plain words."""


@dataclass(frozen=True, slots=True)
class _Placed:
    """A word where it stands: left edge and base line."""

    run: Run
    text: str
    x: float
    base: float
    width: float


class SignedText(QWidget):
    """A paragraph; as high as it must be for its width."""

    link_clicked = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._runs: tuple[Run, ...] = ()
        self._laid_out: dict[int, tuple[list[_Placed], int]] = {}
        """Words and height by width: a layout tries several."""
        self._hint: QSize | None = None
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        theme.changed.connect(self.update)

    @property
    def text(self) -> str:
        """The words, with accidentals as signs."""
        return "".join(run.text for run in self._runs)

    def show_runs(self, runs: Iterable[Run]) -> None:
        """Show other words."""
        runs = tuple(run for run in runs if run.text)
        if runs == self._runs:
            return
        self._runs = runs
        self._laid_out.clear()
        self._hint = None
        self.setAccessibleName(spoken(self.text))
        self.updateGeometry()
        self.update()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._lay_out(width)[1]

    def sizeHint(self) -> QSize:
        if self._hint is None:
            widest = ceil(sum(advance(run.text, run.font) for run in self._runs))
            self._hint = QSize(widest, self._lay_out(widest + 1)[1])
        return self._hint

    def minimumSizeHint(self) -> QSize:
        return QSize(0, 0 if not self._runs else round(_line_height(self._runs[0].font)))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        link = self.link_at(event.position())
        if link and event.button() == Qt.MouseButton.LeftButton:
            self.link_clicked.emit(link)
        else:
            # To whatever the paragraph belongs to.
            event.ignore()

    def link_at(self, at: QPointF) -> str:
        """The link under a point; empty for none."""
        for word in self._lay_out(self.width())[0]:
            size = word.run.font.pixelSize()
            is_in_line = word.base - size <= at.y() <= word.base + 0.4 * size
            if is_in_line and word.x <= at.x() <= word.x + word.width:
                return word.run.link
        return ""

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for word in self._lay_out(self.width())[0]:
            color = self._theme.color(word.run.role)
            painter.setPen(color)
            draw(painter, QPointF(word.x, word.base), word.text, word.run.font)
            size, end = word.run.font.pixelSize(), word.x + word.width
            if word.run.is_underlined:
                under = round(word.base + 0.2 * size) + 0.5
                painter.drawLine(QPointF(word.x, under), QPointF(end, under))
            if word.run.is_struck:
                middle = word.base - 0.3 * size
                painter.setPen(self._theme.color("ink"))
                painter.drawLine(QPointF(word.x, middle), QPointF(end, middle))

    def _lay_out(self, width: int) -> tuple[list[_Placed], int]:
        width = max(width, 1)
        if width not in self._laid_out:
            if len(self._laid_out) >= WIDTHS_KEPT:
                self._laid_out.clear()
            self._laid_out[width] = lay_out(self._runs, width)
        return self._laid_out[width]


def lay_out(runs: Sequence[Run], width: int) -> tuple[list[_Placed], int]:
    """Words in lines of a width, and how high they stand together."""
    placed: list[_Placed] = []
    if not runs:
        return placed, 0
    line_height = max(_line_height(run.font) for run in runs)
    biggest = max((run.font for run in runs), key=lambda font: QFontMetricsF(font).ascent())
    metrics = QFontMetricsF(biggest)
    base = (line_height - metrics.height()) / 2 + metrics.ascent()
    x, line = 0.0, 0
    for run, text in _words(runs, width):
        if text == "\n":
            x, line = 0.0, line + 1
            continue
        is_space, wide = text.isspace(), advance(text, run.font)
        if not is_space and x > 0 and x + wide > width:
            x, line = 0.0, line + 1
        if is_space and x == 0:
            continue
        placed.append(_Placed(run, text, x, base + line * line_height, wide))
        x += wide
    return placed, ceil((line + 1) * line_height)


def _words(runs: Sequence[Run], width: int) -> Iterable[tuple[Run, str]]:
    for run in runs:
        for text in _PIECES.findall(run.text):
            # A word that no line can hold is broken anywhere.
            while len(text) > 1 and advance(text, run.font) > width:
                fits = next(
                    (
                        n
                        for n in range(len(text) - 1, 1, -1)
                        if advance(text[:n], run.font) <= width
                    ),
                    1,
                )
                yield run, text[:fits]
                text = text[fits:]
            yield run, text


def _line_height(font: QFont) -> float:
    is_serif = font.family() == SERIF_FAMILY
    return round(font.pixelSize() * (LINE_HEIGHT_SERIF if is_serif else LINE_HEIGHT_SANS))
