"""What is drawn over a page: above a system the computer speaks, below it a person.

Marks are values in drawing units of the page; painting turns them into device pixels. What is
computed is graphite or the colour of a key, what a person wrote is ink.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from math import floor

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF

from app import sign_text
from app.score.score_geometry import Span
from core.score.page_drawing import UNITS_PER_SPACE, Box

HERE_ABOVE, HERE_BELOW = 2.6, 2.0
"""How far the current place reaches over the top and under the bottom staff, in spaces."""
BRACKET_BELOW, BRACKET_STEP, BRACKET_STEP_LEAST, BRACKET_FOOT = 3.6, 1.8, 1.2, 0.5
"""A gloss bracket under the bottom staff (lower under pedal signs and words there), the next one
below it (at least so far, where the system below leaves no more room), its feet, in spaces."""
NUMBER_SIZE = 1.7
RULE_ABOVE, RULE_ABOVE_MOST, RULE_CLEAR, RULE_HEIGHT = 4.4, 6.6, 0.9, 0.4
"""A key rule over the top staff, at most so far over it, its distance from notes and words that
reach up there, and its thickness, in spaces."""
LABEL_ABOVE, LABEL_SIZE = 0.6, 1.1
LETTER_SIZE, LETTER_MIDDLE = 2.6, 3.4
"""Section letters, and where their middle is on the page, left of all names, in spaces."""
LETTER_ROOM = 4.4
"""Between the page's edge and the brace, in spaces."""
LETTER_INSIDE_SIZE, LETTER_OVER_RULE = 1.7, 2.0
"""A letter in the middle of a system, and how far its line is over the key rule."""
BENT_WIDTH, BENT_HEIGHT = 1.2, 0.6
HALO_OUT = 0.45
_DOTTED_BELOW, _DASHED_BELOW = 0.6, 0.85


class Certainty(Enum):
    """How sure a finding is, as the style of its line: (dash, gap) in logical pixels."""

    # Not an empty tuple: Python 3.11.2, which Debian 12 has, makes a bare object of that.
    SOLID = (1, 0)
    DASHED = (10, 4)
    DOTTED = (2, 4)

    @classmethod
    def of(cls, confidence: float) -> Certainty:
        """Solid from 0.85, dashed from 0.6, dotted below."""
        if confidence >= _DASHED_BELOW:
            return cls.SOLID
        return cls.DASHED if confidence >= _DOTTED_BELOW else cls.DOTTED


@dataclass(frozen=True, slots=True, kw_only=True)
class Gloss:
    """Where a remark hangs on this page: its number, its stretch, its row under the system."""

    number: int
    span: Span
    row: int
    below: float = BRACKET_BELOW
    """The first row under the bottom staff, in spaces."""
    step: float = BRACKET_STEP
    """From row to row, in spaces."""
    is_dark: bool = False
    """Drawn stronger, because the pointer is on the remark."""
    begins: bool = True
    ends: bool = True
    """Whether the remark's stretch does so here, or goes on over the cut of a long line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyRule:
    """A key or scale over a stretch of a system; ``label`` is empty where it only goes on."""

    span: Span
    color: QColor
    label: str
    certainty: Certainty
    reach: float = 0.0
    """How far notes and words of the system reach over its top staff line, in spaces."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BentDegree:
    """A degree that departs from its scale: a small triangle on the rule, over the note.

    ``label`` is empty where the one before it says the same close by.
    """

    x: float
    span: Span
    label: str
    reach: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionLetter:
    """The letter of a section, left of the system in which it begins."""

    span: Span
    letter: str
    certainty: Certainty = Certainty.SOLID
    is_inside: bool = False
    """Whether it begins in the middle of the system: then it stands over its first note."""
    reach: float = 0.0
    page_left: float = 0.0
    """Where the paper begins, in drawing units."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageMarks:
    """Everything over one page."""

    spans: tuple[Span, ...] = ()
    """The current passage."""
    begins: bool = True
    """Whether the current passage does so here, or goes on over the cut of a long line."""
    points: tuple[Span, ...] = ()
    """A current place without a mark of its own."""
    selected: tuple[Box, ...] = ()
    """The current note, rest or direction."""
    glosses: tuple[Gloss, ...] = ()
    rules: tuple[KeyRule, ...] = ()
    bent: tuple[BentDegree, ...] = ()
    letters: tuple[SectionLetter, ...] = ()
    sounding: Span | None = None
    """Where it sounds, while it plays."""
    halos: tuple[Box, ...] = ()
    """Evidence of a finding that is asked why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageColors:
    """What is drawn over the image."""

    page: QColor
    edge: QColor
    here: QColor
    rule: QColor
    ink: QColor
    graphite: QColor
    wash: QColor
    printed: QColor
    serif: QFont
    number_font: QFont
    label_font: QFont = field(default_factory=QFont)


class MarkPainter:
    """Paints marks on a page of a certain zoom."""

    def __init__(
        self,
        painter: QPainter,
        colors: PageColors,
        scale: float,
        *,
        device_ratio: float = 1.0,
        label_size: float = LABEL_SIZE,
    ) -> None:
        self._painter, self._colors, self._scale = painter, colors, scale
        self._space = scale * UNITS_PER_SPACE
        self._ratio, self._label_size = device_ratio, label_size

    def paint(self, marks: PageMarks) -> None:
        """The current place first, then the computer, then the person."""
        for span in marks.spans:
            self._painter.fillRect(self._here(span), self._colors.here)
        for span in (*marks.spans[: int(marks.begins)], *marks.points):
            self._place_rule(span)
        if marks.sounding is not None:
            self._sounding(marks.sounding)
        self._painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for box in marks.halos:
            self._halo(box)
        for box in marks.selected:
            self._selected(box)
        for rule in marks.rules:
            self._key_rule(rule)
        for bent in marks.bent:
            self._bent_degree(bent)
        for letter in marks.letters:
            self._letter(letter)
        for gloss in marks.glosses:
            self._gloss(gloss)

    # ------------------------------------------------------------------ here

    def _here(self, span: Span) -> QRectF:
        scale, space = self._scale, UNITS_PER_SPACE
        top, bottom = span.top - HERE_ABOVE * space, span.bottom + HERE_BELOW * space
        return QRectF(
            round(span.left * scale),
            round(top * scale),
            round((span.right - span.left) * scale),
            round((bottom - top) * scale),
        )

    def _place_rule(self, span: Span) -> None:
        rect = self._here(span)
        width = max(2, round(self._space / 5))
        rule = QRectF(floor(rect.left()), rect.top(), width, rect.height())
        self._painter.fillRect(rule, self._colors.rule)

    def _sounding(self, span: Span) -> None:
        """A graphite line, apart from the rule of the current place by its colour."""
        rect = self._here(span)
        width = max(1, round(self._space / 8))
        line = QRectF(floor(rect.left() + 0.9 * self._space), rect.top(), width, rect.height())
        self._painter.fillRect(line, self._colors.graphite)

    def _selected(self, box: Box) -> None:
        self._painter.setBrush(self._colors.here)
        self._painter.setPen(QPen(self._colors.rule, max(1.25, self._space / 8)))
        radius = 0.4 * self._space
        self._painter.drawRoundedRect(self._around(box, HALO_OUT), radius, radius)

    # ------------------------------------------------------------------ computed

    def _halo(self, box: Box) -> None:
        self._painter.setBrush(self._colors.wash)
        self._painter.setPen(QPen(self._colors.graphite, max(1.0, self._space / 8)))
        rect = self._around(box, HALO_OUT)
        radius = min(rect.width(), rect.height()) / 2
        self._painter.drawRoundedRect(rect, radius, radius)

    def _rule_top(self, span: Span, reach: float) -> int:
        return round(span.top * self._scale - rule_above(reach) * self._space)

    def _key_rule(self, rule: KeyRule) -> None:
        top = self._rule_top(rule.span, rule.reach)
        height = max(2, round(RULE_HEIGHT * self._space))
        left, right = round(rule.span.left * self._scale), round(rule.span.right * self._scale)
        long, gap = (round(part * self._ratio) for part in rule.certainty.value)
        if not gap:
            self._painter.fillRect(left, top, right - left, height, rule.color)
        else:
            for x in range(left, right, long + gap):
                self._painter.fillRect(x, top, min(long, right - x), height, rule.color)
        if rule.label:
            self._label(rule.label, left, top)

    def _label(self, text: str, left: float, top: float) -> None:
        font = QFont(self._colors.label_font)
        font.setPixelSize(max(8, round(self._label_size * self._space)))
        self._painter.setPen(self._colors.graphite)
        sign_text.draw(self._painter, QPointF(left, top - LABEL_ABOVE * self._space), text, font)

    def _bent_degree(self, bent: BentDegree) -> None:
        top = self._rule_top(bent.span, bent.reach)
        middle = bent.x * self._scale
        half, high = BENT_WIDTH / 2 * self._space, BENT_HEIGHT * self._space
        tip = top - 0.1 * self._space
        shape = QPolygonF(
            [
                QPointF(middle - half, tip - high),
                QPointF(middle + half, tip - high),
                QPointF(middle, tip),
            ]
        )
        self._painter.setPen(Qt.PenStyle.NoPen)
        self._painter.setBrush(self._colors.graphite)
        self._painter.drawPolygon(shape)
        if bent.label:
            self._label(bent.label, middle + half + 0.3 * self._space, top)

    def _letter(self, letter: SectionLetter) -> None:
        space, span = self._space, letter.span
        font = QFont(self._colors.serif)
        size = LETTER_INSIDE_SIZE if letter.is_inside else LETTER_SIZE
        font.setPixelSize(max(10, round(size * space)))
        self._painter.setFont(font)
        self._painter.setPen(self._colors.graphite)
        if letter.is_inside:
            left = span.left * self._scale
            baseline = self._rule_top(span, letter.reach) - LETTER_OVER_RULE * space
            self._painter.drawText(QPointF(left, baseline), letter.letter)
            return
        middle = (span.top + span.bottom) / 2 * self._scale
        centre = letter.page_left * self._scale + LETTER_MIDDLE * space
        half = LETTER_ROOM / 2 * space
        rect = QRectF(centre - half, middle - half, 2 * half, 2 * half)
        advance = QFontMetricsF(font).horizontalAdvance(letter.letter)
        if advance > rect.width():
            # A person's own word for a section ("Intro").
            font.setPixelSize(max(6, floor(font.pixelSize() * rect.width() / advance)))
            self._painter.setFont(font)
        centred = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter
        self._painter.drawText(rect, int(centred), letter.letter)

    def _around(self, box: Box, out: float) -> QRectF:
        left, top, right, bottom = (edge * self._scale for edge in box)
        out *= self._space
        return QRectF(left - out, top - out, right - left + 2 * out, bottom - top + 2 * out)

    # ------------------------------------------------------------------ a person's

    def _gloss(self, gloss: Gloss) -> None:
        space, scale, ink = self._space, self._scale, self._colors.ink
        stroke = max(1, round(space / (5 if gloss.is_dark else 8)))
        line = round(gloss.span.bottom * scale + gloss_below(gloss) * space)
        left, right = round(gloss.span.left * scale), round(gloss.span.right * scale)
        number = QRectF(left - 3 * space, line - 1.6 * space, 2.6 * space, 2.4 * space)
        side = Qt.AlignmentFlag.AlignRight
        if right - left < space:
            number.moveLeft(left - 1.3 * space)
            side = Qt.AlignmentFlag.AlignHCenter
        else:
            foot = round(BRACKET_FOOT * space)
            self._painter.fillRect(left, line, right - left, stroke, ink)
            if gloss.begins:
                self._painter.fillRect(left, line - foot, stroke, foot, ink)
            if gloss.ends:
                self._painter.fillRect(right - stroke, line - foot, stroke, foot, ink)
        if not gloss.begins:
            return
        font = QFont(self._colors.number_font)
        font.setPixelSize(max(8, round(NUMBER_SIZE * space)))
        self._painter.setFont(font)
        self._painter.setPen(ink)
        self._painter.drawText(number, int(side | Qt.AlignmentFlag.AlignVCenter), str(gloss.number))


def rule_above(reach: float) -> float:
    """How far over the top staff a key rule lies, in spaces.

    Over what reaches over the staff, unless that would be in the system above.
    """
    return min(max(RULE_ABOVE, reach + RULE_CLEAR), RULE_ABOVE_MOST)


def gloss_below(gloss: Gloss) -> float:
    """How far under the bottom staff a bracket lies, in spaces."""
    return gloss.below + gloss.row * gloss.step
