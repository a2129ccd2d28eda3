"""Which sounding of its measures a remark is for: "both, 1st, 2nd"; asked while it is written.

Nothing waits for an answer: without one, the remark is for all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from app.theme import Theme
from core.notebook.analyses import Analysis
from core.score.places import Passage
from core.score.statements import Statement, ordinal

MOST = 9
"""Soundings that have a key; a piece with more of one section has them in the form line."""
IN_A_ROW = 6
KIND_PADDING = 5
"""As the style sheet gives it to kinds, so that the words of both rows stand under one another."""


def soundings_of(analysis: Analysis | None, passage: Passage | None) -> tuple[Statement, ...]:
    """The statements that hold a passage, where there are several of one section; else none.

    Sections inside of others are left out, as in the form line.
    """
    if analysis is None or passage is None:
        return ()
    sections = analysis.form.sections
    holding = tuple(
        statement
        for statement in analysis.statements
        if sections[statement.section].value.parent is None and _holds(statement, passage)
    )
    is_of_one = len({statement.section for statement in holding}) == 1
    return holding if is_of_one and len(holding) > 1 else ()


def _holds(statement: Statement, passage: Passage) -> bool:
    start, end = statement.passage.start.moment, statement.passage.end.moment
    begins_inside = start <= passage.start.moment < end
    return begins_inside and passage.end.moment <= end


class SoundingRow(QWidget):
    """The question, as quiet as the kinds of remarks; answered by Alt and a number, or a click."""

    chosen = Signal(object)
    """The ``Statement`` that is meant; None for every one."""

    def __init__(self, theme: Theme, keys_within: QWidget) -> None:
        super().__init__()
        self._theme = theme
        self.soundings: tuple[Statement, ...] = ()
        self._label = QLabel("for")
        self._label.setProperty("role", "quiet")
        self._label.setContentsMargins(KIND_PADDING, 0, 0, 0)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(0)
        self._grid.setVerticalSpacing(0)
        self._grid.addWidget(self._label, 0, 0)
        self._buttons: list[QPushButton] = []
        self._keys = [self._key(number, keys_within) for number in range(MOST + 1)]
        self.hide()

    def ask(self, soundings: Sequence[Statement], number: int) -> None:
        """Ask which one is meant, and show the answer so far; nothing is asked without several.

        Parameters
        ----------
        number : int
            The statement's, 0 for every one.
        """
        if tuple(soundings) != self.soundings:
            self.soundings = tuple(soundings)
            self._make_buttons()
        numbers = (0, *self._numbers()) if self.soundings else ()
        for button, of in zip(self._buttons, numbers, strict=True):
            with QSignalBlocker(button):
                button.setChecked(of == number)
        self.setVisible(bool(self.soundings))
        for key, shortcut in enumerate(self._keys):
            shortcut.setEnabled(key < len(self._buttons))

    def words(self) -> str:
        """The question for a screen reader; empty while there is none."""
        if not self.soundings:
            return ""
        count = len(self.soundings)
        often = "twice" if count == 2 else f"{count} times"
        last = min(count, MOST)
        return f"sounds {often}: Alt+1 to Alt+{last} say for which, Alt+0 for {self._every()}"

    def take_theme(self) -> None:
        """Take the theme's fonts."""
        for widget in (self._label, *self._buttons):
            widget.setFont(self._theme.sans(11))

    def _every(self) -> str:
        return "both" if len(self.soundings) == 2 else "all"

    def _numbers(self) -> tuple[int, ...]:
        return tuple(statement.number for statement in self.soundings[:MOST])

    def _make_buttons(self) -> None:
        for button in self._buttons:
            self._grid.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = []
        if not self.soundings:
            return
        for at, number in enumerate((0, *self._numbers())):
            button = QPushButton(ordinal(number) if number else self._every())
            button.setProperty("role", "kind")
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            name = self.soundings[at - 1].name if number else f"{self._every()} soundings"
            button.setAccessibleName(f"For {name}")
            button.setToolTip(f"this remark is for {name} (Alt+{at})")
            button.clicked.connect(self._answering(at))
            self._grid.addWidget(button, at // IN_A_ROW, 1 + at % IN_A_ROW)
            self._buttons.append(button)
        self._grid.setColumnStretch(IN_A_ROW + 1, 1)
        self.take_theme()

    def _answering(self, at: int) -> Callable[[], None]:
        return lambda: self._answer(at)

    def _answer(self, at: int) -> None:
        if self.soundings and at <= len(self.soundings):
            self.chosen.emit(self.soundings[at - 1] if at else None)

    def _key(self, at: int, within: QWidget) -> QShortcut:
        shortcut = QShortcut(QKeySequence(f"Alt+{at}"), within)
        shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        shortcut.activated.connect(self._answering(at))
        shortcut.setEnabled(False)
        return shortcut
