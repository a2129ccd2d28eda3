"""The middle of the window while several files come in: how far it is, what became of each."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.bringing import file_columns
from app.bringing.batch import Batch
from app.bringing.brought_files import FileState, time_left
from app.bringing.file_section import FileSection
from app.bringing.questions import Questions
from app.bringing.squares import Squares
from app.desk.keyed_button import KeyedButton
from app.desk.shortcuts import key_of
from app.desk.typed_text import typed_text
from app.theme import Theme

QUESTIONS_WIDTH = 372
WIDE = 1040
"""From this width on questions stand beside the page; below they stand on it."""
LOOK_MS, SOON_MS = 500, 50
"""How often the time that is left is looked at; how soon a file's news is told, with others'."""
MARGIN, PAGE_MARGIN = 16, 20
WHILE = "What has been read stays if you stop; nothing in your files is changed."
STOPPED = "Stopped. What has been read stays."
THROUGH = "All that could be read is on the shelf."


class BringingView(QWidget):
    """What is being brought in, or was last."""

    piece_chosen = Signal(int)
    """A row was chosen whose piece is to be opened, by id."""
    left = Signal()
    """Escape, with nothing to step back from here."""

    def __init__(self, batch: Batch, theme: Theme) -> None:
        super().__init__()
        self.batch, self._theme = batch, theme
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._progress, self._words, self._left, self._now = QLabel(), QLabel(), QLabel(), QLabel()
        self.squares = Squares(batch, theme)
        self.stop = KeyedButton("Stop", key_of("stop_reading").replace("+", " "), theme, height=32)
        self.go_on = KeyedButton("Go on", "", theme, height=32)
        self.filter = QLineEdit()
        self._scroll, self._desk = QScrollArea(self), QWidget(self)
        self._page = _Page(theme, self._desk)
        # With their parents: what shows itself must not be a window of its own for a moment.
        self.questions = Questions(batch, theme, self)
        self.sections = [
            FileSection(batch, spec, theme, self._page)
            for spec in (file_columns.BAD, file_columns.READ, file_columns.HERE)
        ]
        self._clock = QTimer(self)
        self._clock.setInterval(LOOK_MS)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(SOON_MS)
        self._lay_out()
        self._order_tabs()
        self._listen()
        self._take_theme()
        self.refresh()

    @property
    def now_words(self) -> str:
        """The sentence under the squares."""
        return self._now.text()

    def refresh(self) -> None:
        """Say how far it is."""
        batch, counts = self.batch, self.batch.counts
        self._progress.setText(f"{counts.done} of {counts.total}")
        self._words.setText(counts.words())
        seconds = batch.seconds_left
        self._left.setText("" if seconds is None else time_left(seconds))
        self._now.setText(self._sentence())
        was_focused = self.stop.hasFocus() or self.go_on.hasFocus()
        self.stop.setVisible(batch.is_running)
        self.go_on.setVisible(not batch.is_running and bool(batch.of(FileState.LEFT)))
        if was_focused:
            # A button that hides hands the keyboard to whatever comes next in the window.
            shown = (button for button in (self.stop, self.go_on) if not button.isHidden())
            next(shown, self).setFocus(Qt.FocusReason.OtherFocusReason)
        told = f"Bringing in: {self._progress.text()}. {counts.words()}. {self._left.text()}"
        self.setAccessibleName(told.strip())
        self.squares.setAccessibleName(f"{self._progress.text()}: {counts.words()}")
        if batch.is_running and not self._clock.isActive():
            self._clock.start()
        elif not batch.is_running:
            self._clock.stop()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self._step_back()
        elif text := typed_text(event):
            self._begin_finding(text)
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_questions()

    # Making

    def _lay_out(self) -> None:
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._lay_out_desk()
        self._scroll.setWidget(self._desk)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        middle = QVBoxLayout()
        middle.setSpacing(0)
        middle.addWidget(self._head())
        middle.addWidget(self._scroll, 1)
        row.addLayout(middle, 1)
        self._beside = row
        self.questions.setFixedWidth(QUESTIONS_WIDTH)
        row.addWidget(self.questions)

    def _head(self) -> QWidget:
        head = QFrame()
        head.setObjectName("bringingHead")
        grid = QGridLayout(head)
        grid.setContentsMargins(MARGIN, 12, MARGIN, 14)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(8)
        for column, widget in enumerate((self._progress, self._words)):
            grid.addWidget(widget, 0, column, Qt.AlignmentFlag.AlignVCenter)
        grid.setColumnStretch(1, 1)
        grid.addWidget(self._left, 0, 3, Qt.AlignmentFlag.AlignVCenter)
        grid.addWidget(self.stop, 0, 4)
        grid.addWidget(self.go_on, 0, 4)
        grid.addWidget(self.squares, 1, 0, 1, 5)
        grid.addWidget(self._now, 2, 0, 1, 5)
        grid.setRowMinimumHeight(0, 36)
        for label in (self._words, self._left, self._now):
            label.setProperty("role", "quiet")
        self._words.setWordWrap(True)
        self._now.setWordWrap(True)
        self._now.setTextFormat(Qt.TextFormat.PlainText)
        return head

    def _lay_out_desk(self) -> None:
        outer = QVBoxLayout(self._desk)
        outer.setContentsMargins(MARGIN, MARGIN, MARGIN, MARGIN)
        self._above = outer
        outer.addWidget(self._page)
        outer.addStretch(1)
        column = QVBoxLayout(self._page)
        column.setContentsMargins(PAGE_MARGIN, PAGE_MARGIN, PAGE_MARGIN, PAGE_MARGIN)
        column.setSpacing(24)
        column.addWidget(self.filter)
        for section in self.sections:
            column.addWidget(section)
        self.filter.setPlaceholderText("piece, composer, file or reason")
        self.filter.setAccessibleName("Find among these files")
        self.filter.hide()

    def _listen(self) -> None:
        batch = self.batch
        for signal in (batch.begun, batch.ended):
            signal.connect(self.refresh)
        self._soon.timeout.connect(self.refresh)
        batch.file_changed.connect(self._on_file_changed)
        self._clock.timeout.connect(self.refresh)
        self.stop.clicked.connect(batch.stop)
        self.go_on.clicked.connect(batch.go_on)
        self.filter.textChanged.connect(self._on_finding)
        self.filter.installEventFilter(self)
        self._theme.changed.connect(self._take_theme)
        for section in self.sections:
            table = section.table
            table.chosen.connect(lambda file: self.piece_chosen.emit(file.piece_id))
            table.acted.connect(lambda file: batch.try_again([file.index]))
            table.typed.connect(self._begin_finding)
            table.escaped.connect(self._step_back)
            section.changed.connect(self._show_page)
            table.row_shown.connect(self._bring_into_sight)
        self._show_page()

    def _take_theme(self) -> None:
        theme = self._theme
        self._progress.setFont(theme.sans(22, 500))
        for label in (self._words, self._left):
            label.setFont(theme.sans(13))
        self._now.setFont(theme.sans(13))
        self.filter.setFont(theme.sans(13))
        self._page.update()

    def _order_tabs(self) -> None:
        """By Tab: the head, the page from the top, then what is asked."""
        order: list[QWidget] = [self, self.stop, self.go_on, self.filter]
        for section in self.sections:
            order += [section.copy_list, section.try_all, section.table]
        for before, after in pairwise([*order, self.questions]):
            QWidget.setTabOrder(before, after)

    # Receiving

    def _on_file_changed(self, _index: int) -> None:
        if not self._soon.isActive():
            self._soon.start()

    def _sentence(self) -> str:
        batch = self.batch
        if not batch.is_running:
            return STOPPED if batch.of(FileState.LEFT) else THROUGH
        now = batch.now
        return f"Now: {now.name}. {WHILE}" if now is not None else WHILE

    def _show_page(self) -> None:
        self._page.setVisible(any(not section.isHidden() for section in self.sections))

    def _place_questions(self) -> None:
        is_beside = self.width() >= WIDE
        if is_beside == (self.questions.parentWidget() is self):
            return
        if is_beside:
            self._above.removeWidget(self.questions)
            self._beside.addWidget(self.questions)
            self.questions.setFixedWidth(QUESTIONS_WIDTH)
        else:
            self._beside.removeWidget(self.questions)
            self._above.insertWidget(0, self.questions)
            self.questions.setMinimumWidth(0)
            self.questions.setMaximumWidth(16_777_215)
        self.questions.refresh()

    def _bring_into_sight(self, table: QWidget, top: int, bottom: int) -> None:
        """A table is as high as its rows, so that it is the page that scrolls."""
        inside = self._desk
        bar, seen = self._scroll.verticalScrollBar(), self._scroll.viewport().height()
        upper, lower = (table.mapTo(inside, table.rect().topLeft()).y() + y for y in (top, bottom))
        if upper < bar.value():
            bar.setValue(upper - MARGIN)
        elif lower > bar.value() + seen:
            bar.setValue(lower - seen + MARGIN)

    # Finding

    def _begin_finding(self, text: str) -> None:
        self.filter.show()
        self.filter.setFocus(Qt.FocusReason.OtherFocusReason)
        self.filter.insert(text)

    def _on_finding(self, text: str) -> None:
        for section in self.sections:
            section.look_for(text)
        if not text:
            self.filter.hide()
            self.setFocus(Qt.FocusReason.OtherFocusReason)

    def eventFilter(self, watched: QWidget, event: QKeyEvent) -> bool:  # type: ignore[override]
        """Escape in the field ends finding; Down goes to what was found."""
        if watched is not self.filter or event.type() != QKeyEvent.Type.KeyPress:
            return False
        if event.key() == Qt.Key.Key_Escape:
            self._step_back()
            return True
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._go_to_first_row()
            return True
        return False

    def _go_to_first_row(self) -> None:
        for section in self.sections:
            if not section.isHidden() and section.table.found.rowCount():
                section.table.setCurrentIndex(section.table.found.index(0, 0))
                section.table.setFocus(Qt.FocusReason.OtherFocusReason)
                return

    def _step_back(self) -> None:
        if self.filter.text():
            self.filter.clear()
        elif self.hasFocus():
            self.left.emit()
        else:
            self.setFocus(Qt.FocusReason.OtherFocusReason)


class _Page(QFrame):
    """A page on the desk: no radius, a hairline edge."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._theme.color("hairline"))
        painter.fillRect(self.rect().adjusted(1, 1, -1, -1), self._theme.page_color("page"))
