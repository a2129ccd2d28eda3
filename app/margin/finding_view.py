"""One finding in the margin: its rule, title and sureness; why, and a person's word on it."""

from __future__ import annotations

import re
from dataclasses import replace

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.margin.finding_foot import FindingFoot
from app.margin.finding_palette import FindingPalette
from app.margin.signed_text import Run, SignedText
from app.score.page_marks import Certainty
from app.theme import Theme
from app.tonality.finding_words import as_title
from app.tonality.shown_finding import ShownFinding
from app.tonality.signs import spoken, with_signs

RULE_WIDTH, TEXT_INDENT = 2, 12
DASHES = {Certainty.SOLID: (), Certainty.DASHED: (5, 3), Certainty.DOTTED: (2, 3)}
"""Of the rule: a stroke and a gap, in logical pixels; it is shorter than a key rule's."""
SQUARE = 8
MEASURE = re.compile(r"m\. (\w+)")
UNBROKEN = 20
"""Letters of an own value that are kept together."""
OPENING_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)
WITHDRAWING_KEYS = (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)
_MODIFIERS = ~(Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier)


class FindingView(QFrame):
    """A finding that can be focused, asked why, confirmed and overruled."""

    why_toggled = Signal()
    confirmed = Signal()
    overruled = Signal(str)
    """What it is instead; empty where that isn't said."""
    withdrawn = Signal()
    step_asked = Signal(int)
    """Up (-1) or down (1) to the next one."""
    measure_asked = Signal(str)
    """The printed number of a measure that the title names; it was clicked."""
    typing_begun = Signal(str)
    """A letter that is no key of a finding: a remark on it begins."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.shown: ShownFinding | None = None
        self._square = _Square(theme)
        self._title, self._reason, self._runner_up = (SignedText(theme) for _ in range(3))
        self._sureness, self._place = QLabel(), QLabel()
        self._palette: FindingPalette | None = None
        self._foot: FindingFoot | None = None
        self._column = QVBoxLayout(self)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._lay_out()
        self._listen()
        self._take_theme()

    def show_finding(self, shown: ShownFinding) -> None:
        """Show a finding; what is being typed stays."""
        if shown == self.shown:
            return
        if self.shown is not None and shown.identity != self.shown.identity:
            self.end_overruling()
        self.shown = shown
        self._show(shown)

    def _show(self, shown: ShownFinding) -> None:
        self._title.show_runs(self._title_runs(shown))
        self._square.setVisible(shown.is_confirmed)
        self._sureness.setText(shown.sureness)
        self._place.setText(shown.place)
        self._place.setVisible(bool(shown.place))
        # On the base line of the title beside it.
        self._sureness.setContentsMargins(0, 5 if shown.is_leading else 2, 0, 0)
        self._show_degrees(shown)
        self._show_why(shown)
        parts = (shown.title, shown.own_value and f"you say {shown.own_value}", shown.sureness)
        name = ", ".join(part for part in (*parts, shown.place) if part)
        self.setAccessibleName(spoken(f"Finding: {name}"))
        self.setAccessibleDescription(spoken(f"{shown.why} {shown.runner_up}".strip()))
        self.update()

    @property
    def foot(self) -> FindingFoot:
        """What one can do with it, and the field for what it is instead."""
        if self._foot is None:
            foot = self._foot = FindingFoot(self._theme, self)
            foot.confirmed.connect(self.confirmed)
            foot.withdrawn.connect(self.withdrawn)
            foot.overruled.connect(self.overruled)
            foot.overruling_asked.connect(self.begin_overruling)
            self._column.addWidget(foot)
        return self._foot

    def begin_overruling(self) -> None:
        """Open the field for what it is instead."""
        if self.shown is None or not self.shown.is_arguable:
            self.overruled.emit("")
        else:
            self.foot.begin_overruling(self.shown.own_value)

    def end_overruling(self) -> None:
        """Close the field."""
        if self._foot is None:
            return
        had_focus = self._is_typing
        self._foot.end_overruling()
        if had_focus:
            self.setFocus(Qt.FocusReason.OtherFocusReason)

    def refuse(self, sentence: str) -> None:
        """Say why what was typed can't be taken; it stays to be mended."""
        self.foot.refuse(sentence)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, shown = event.key(), self.shown
        is_plain = not event.modifiers() & _MODIFIERS
        if self._is_typing and key == Qt.Key.Key_Escape:
            self.end_overruling()
        elif not is_plain or shown is None or self._is_typing:
            super().keyPressEvent(event)
        elif key in OPENING_KEYS or (key == Qt.Key.Key_Escape and shown.is_open):
            self.why_toggled.emit()
        elif key == Qt.Key.Key_Y:
            self.confirmed.emit()
        elif key == Qt.Key.Key_N:
            self.begin_overruling()
        elif key in WITHDRAWING_KEYS:
            self.withdrawn.emit()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.step_asked.emit(-1 if key == Qt.Key.Key_Up else 1)
        elif event.text().isprintable() and event.text():
            self.typing_begun.emit(event.text())
        else:
            super().keyPressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(
            event.position().toPoint()
        ):
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.why_toggled.emit()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.shown is None:
            return
        painter = QPainter(self)
        if self.hasFocus():
            painter.fillRect(self.rect(), self._theme.color("here"))
        width = RULE_WIDTH + (1 if self.hasFocus() else 0)
        is_own = self.shown.is_overruled
        color = self._theme.color("ink" if is_own else "graphite")
        dash = DASHES[self.shown.certainty]
        if not dash:
            painter.fillRect(QRect(0, 0, width, self.height()), color)
            return
        stroke, gap = dash
        for top in range(0, self.height(), stroke + gap):
            painter.fillRect(QRect(0, top, width, min(stroke, self.height() - top)), color)

    def _lay_out(self) -> None:
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self._sureness, 0, Qt.AlignmentFlag.AlignRight)
        right.addWidget(self._place, 0, Qt.AlignmentFlag.AlignRight)
        right.addStretch(1)
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self._square, 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(self._title, 1)
        head.addLayout(right)
        column = self._column
        column.setContentsMargins(TEXT_INDENT, 1, 4, 1)
        column.setSpacing(4)
        column.addLayout(head)
        column.addWidget(self._reason)
        column.addWidget(self._runner_up)
        for label in (self._sureness, self._place):
            label.setProperty("role", "graphite")
        self._place.hide()
        self._square.hide()

    def _listen(self) -> None:
        self._title.link_clicked.connect(self.measure_asked)
        self._theme.changed.connect(self._take_theme)

    @property
    def _is_typing(self) -> bool:
        return self._foot is not None and self._foot.field.hasFocus()

    def _title_runs(self, shown: ShownFinding) -> list[Run]:
        size, weight = (16, 500) if shown.is_leading else (13, 400)
        plain = Run(
            text="",
            font=self._theme.sans(size, weight),
            role="quiet" if shown.is_overruled else "graphite",
            is_struck=shown.is_overruled,
        )
        runs = _with_links(shown.title, plain)
        if shown.own_value:
            # Serif, four pixels larger: the same rank in a person's hand.
            own = Run(text=_own_words(shown), font=self._theme.serif(size + 4), role="ink")
            runs += [Run(text="  ", font=own.font), own]
        return runs

    def _show_why(self, shown: ShownFinding) -> None:
        theme = self._theme
        why = Run(text="why?", font=theme.sans(13, 600), is_underlined=True)
        said = Run(text=f"  {shown.why}" if shown.is_open else "", font=theme.sans(13))
        self._reason.show_runs([why, said])
        self._reason.setVisible(shown.has_why and (shown.is_open or shown.is_leading))
        self._runner_up.show_runs([Run(text=shown.runner_up, font=theme.sans(13))])
        self._runner_up.setVisible(shown.is_open and bool(shown.runner_up))
        if self._foot is not None or (shown.is_open and shown.is_arguable):
            self.foot.show_finding(shown)

    def _show_degrees(self, shown: ShownFinding) -> None:
        if shown.degrees:
            if self._palette is None:
                self._palette = FindingPalette(self._theme)
                # Under the title.
                self._column.insertWidget(1, self._palette)
            self._palette.show_degrees(shown.degrees)
        if self._palette is not None:
            self._palette.setVisible(bool(shown.degrees))

    def _take_theme(self) -> None:
        for widget in (self._sureness, self._place):
            widget.setFont(self._theme.sans(11))
        if self.shown is not None:
            self._show(self.shown)


def _with_links(title: str, plain: Run) -> list[Run]:
    """A title in which each measure it names leads there."""
    runs, at = [], 0
    for found in MEASURE.finditer(title):
        runs.append(replace(plain, text=title[at : found.start()]))
        words = found[0].replace(" ", "\N{NO-BREAK SPACE}")
        runs.append(replace(plain, text=words, is_underlined=True, link=found[1]))
        at = found.end()
    return [*runs, replace(plain, text=title[at:])]


def _own_words(shown: ShownFinding) -> str:
    """What the person says instead; a key stays on one line."""
    words = with_signs(as_title(shown.own_value))
    return words.replace(" ", "\N{NO-BREAK SPACE}") if len(words) <= UNBROKEN else words


class _Square(QWidget):
    """The mark of what a person confirmed."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self.setFixedSize(QSize(SQUARE, 20))

    def paintEvent(self, event: QPaintEvent) -> None:
        top = (self.height() - SQUARE) // 2
        color = self._theme.color("graphite")
        QPainter(self).fillRect(QRect(0, top, SQUARE, SQUARE), color)
