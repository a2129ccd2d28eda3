"""The words of the remarks on sheets after the music, by the numbers of their brackets."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter

from app import sign_text
from app.desk import place_names
from app.printing.findable_text import findable
from app.printing.print_wish import DOTS_AN_INCH, MM_AN_INCH, PrintWish
from app.theme import Theme
from app.tonality.signs import with_signs
from core.notebook.values import Remark
from core.score.score import Score

_DOTS_A_MM = DOTS_AN_INCH / MM_AN_INCH
_DOTS_A_POINT = DOTS_AN_INCH / 72
_SIDE, _TOP, _BOTTOM = 24.0, 22.0, 20.0
"""Margins of the sheet, in millimetres."""
_NUMBER_COLUMN = 10.0
"""From the left margin to the words, in millimetres."""
_HEADING, _BODY, _PLACE = 18.0, 11.0, 8.5
"""Sizes of type, in points."""
_LEADING = 1.36
_BETWEEN = 3.2
"""Between two remarks, in millimetres."""
WHOLE_PIECE = "the whole piece"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """One line: x and height in dots, and how it is set."""

    text: str
    x: float
    height: float
    font: QFont
    color: QColor
    before: float = 0.0
    number: str = ""
    is_kept_with_next: bool = False


class RemarkSheets:
    """Sets remarks in lines and breaks them into sheets."""

    def __init__(self, wish: PrintWish, score: Score, theme: Theme) -> None:
        self._wish, self._score, self._theme = wish, score, theme
        self._width, self._height = wish.paper.dots
        self._serif = findable(theme.serif(round(_BODY * _DOTS_A_POINT)))
        self._number = findable(theme.serif(round(_BODY * _DOTS_A_POINT), 600))
        self._small = findable(theme.sans(round(_PLACE * _DOTS_A_POINT)))
        self._large = findable(theme.serif(round(_HEADING * _DOTS_A_POINT)))

    def paint(self, painter: QPainter, turn_over: Callable[[], object]) -> int:
        """Paint all sheets, turning to a new one before each; how many there were."""
        bottom = self._height - _BOTTOM * _DOTS_A_MM
        sheets, y = 0, bottom
        lines = list(self._lines())
        for at, line in enumerate(lines):
            follower = lines[at + 1].height if line.is_kept_with_next else 0.0
            if y + line.before + line.height + follower > bottom:
                turn_over()
                sheets, y = sheets + 1, _TOP * _DOTS_A_MM
            else:
                y += line.before
            y += line.height
            self._draw(painter, line, y)
        return sheets

    def _draw(self, painter: QPainter, line: _Line, y: float) -> None:
        baseline = y - 0.3 * line.font.pixelSize()
        painter.setPen(line.color)
        sign_text.draw(painter, QPointF(line.x, baseline), line.text, line.font)
        if line.number:
            right = (_SIDE + _NUMBER_COLUMN - 3.0) * _DOTS_A_MM
            width = QFontMetricsF(self._number).horizontalAdvance(line.number)
            painter.setPen(self._theme.page_color("ink"))
            painter.setFont(self._number)
            painter.drawText(QPointF(right - width, baseline), line.number)

    def _lines(self) -> Iterator[_Line]:
        printed, side = self._theme.page_color("print"), _SIDE * _DOTS_A_MM
        heading = f"Remarks on {self._wish.title}" if self._wish.title else "Remarks"
        for text in self._wrapped(heading, self._large, self._width - 2 * side):
            yield self._line(text, side, self._large, printed, is_kept_with_next=True)
        for number, remark in self._wish.listed:
            yield from self._lines_of(number, remark)

    def _lines_of(self, number: int | None, remark: Remark) -> Iterator[_Line]:
        left = (_SIDE + _NUMBER_COLUMN) * _DOTS_A_MM
        room = self._width - left - _SIDE * _DOTS_A_MM
        yield self._line(
            self._place_of(remark),
            left,
            self._small,
            self._theme.page_color("quiet"),
            before=_BETWEEN * _DOTS_A_MM,
            number="" if number is None else str(number),
            is_kept_with_next=True,
        )
        for paragraph in remark.body.splitlines() or [""]:
            for text in self._wrapped(paragraph, self._serif, room):
                yield self._line(text, left, self._serif, self._theme.page_color("ink"))

    def _place_of(self, remark: Remark) -> str:
        anchor = remark.anchor
        words = [WHOLE_PIECE]
        if anchor.passage is not None:
            words = [place_names.passage_name(self._score, anchor.passage)]
        if anchor.section_label:
            words.append(anchor.section_label)
        if anchor.statement_number:
            words.append(f"sounding {anchor.statement_number}")
        if remark.kind is not None:
            words.append(remark.kind.value)
        return with_signs(" · ".join(words))

    def _line(
        self,
        text: str,
        x: float,
        font: QFont,
        color: QColor,
        *,
        before: float = 0.0,
        number: str = "",
        is_kept_with_next: bool = False,
    ) -> _Line:
        return _Line(
            text=text,
            x=x,
            height=_LEADING * font.pixelSize(),
            font=font,
            color=color,
            before=before,
            number=number,
            is_kept_with_next=is_kept_with_next,
        )

    def _wrapped(self, text: str, font: QFont, room: float) -> Iterable[str]:
        """Words set in lines no wider than the room; a longer word is cut."""
        line = ""
        for word in text.split():
            longer = f"{line} {word}" if line else word
            if sign_text.advance(longer, font) <= room:
                line = longer
                continue
            if line:
                yield line
            *pieces, line = _pieces(word, font, room)
            yield from pieces
        yield line


def _pieces(word: str, font: QFont, room: float) -> list[str]:
    """A word, cut where it would be wider than the room."""
    pieces = [""]
    for sign in word:
        if pieces[-1] and sign_text.advance(pieces[-1] + sign, font) > room:
            pieces.append("")
        pieces[-1] += sign
    return pieces
