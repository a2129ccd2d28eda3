"""The first start: two sentences, two actions, and a place to drop files on."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.desk.keyed_button import KeyedButton
from app.desk.reading import FORMATS
from app.desk.shortcuts import key_of
from app.theme import Theme

PAGE_WIDTH, PAGE_TOP, INDENT = 852, 20, 72
TARGET_HEIGHT, TARGET_LEAST, STAFF_SPACE = 264, 168, 8
SENTENCES = (
    "This notebook is empty.",
    "Bring a score in, and what you decide about it is kept beside it.",
)
MORE = "To do anything else, press {} and type what it is. {} opens the first ten minutes."
DROP_HERE = "or drop files, or a folder, here"


class FirstStart(QWidget):
    """An empty desk."""

    bring_in_asked = Signal()
    sample_asked = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("First start")
        self._theme = theme
        self.page = _Page(theme)
        self.bring_in = KeyedButton("Bring scores in…", key_of("bring_in").replace("+", " "), theme)
        self.sample = KeyedButton("Look at the sample", "", theme)
        self.target = DropTarget(theme)
        self._sentences = [QLabel(sentence) for sentence in SENTENCES]
        self._more = QLabel()
        self.bring_in.clicked.connect(self.bring_in_asked)
        self.sample.clicked.connect(self.sample_asked)
        self._lay_out()
        theme.changed.connect(self._take_theme)
        self._take_theme()

    def show_dragging(self, is_over: bool) -> None:
        """Something is dragged over the window, or no more."""
        self.target.is_dragged_over = is_over
        self.target.update()

    def _lay_out(self) -> None:
        acts = QHBoxLayout()
        acts.setSpacing(12)
        acts.addWidget(self.bring_in)
        acts.addWidget(self.sample)
        acts.addStretch(1)
        column = QVBoxLayout(self.page)
        column.setContentsMargins(INDENT, 128, INDENT, 24)
        column.setSpacing(0)
        for label in self._sentences:
            label.setWordWrap(True)
            label.setMinimumHeight(36)
            column.addWidget(label)
        column.addSpacing(24)
        column.addLayout(acts)
        column.addSpacing(60)
        column.addWidget(self.target, 100)
        column.addSpacing(24)
        column.addWidget(self._more)
        column.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(24, PAGE_TOP, 24, 0)
        row.addStretch(1)
        row.addWidget(self.page, 1000)
        row.addStretch(1)
        self.page.setMaximumWidth(PAGE_WIDTH)
        self._more.setText(MORE.format(key_of("do"), key_of("help")))
        self._more.setWordWrap(True)

    def _take_theme(self) -> None:
        self._more.setFont(self._theme.sans(13))
        for label in (*self._sentences, self._more):
            role = "quiet" if label is self._more else "print"
            color = self._theme.page_color(role).name()
            label.setStyleSheet(f"color: {color}; background: transparent;")
        for label in self._sentences:
            label.setFont(self._theme.serif(26))


class _Page(QFrame):
    """A page: no radius, a hairline edge."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._theme.color("hairline2"))
        painter.fillRect(self.rect().adjusted(1, 1, -1, 0), self._theme.page_color("page"))


class DropTarget(QWidget):
    """A dashed frame round an empty system; solid and washed while something is over it."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.setAccessibleName(f"{DROP_HERE}: {FORMATS}")
        self.setMinimumHeight(TARGET_LEAST)
        self.setMaximumHeight(TARGET_HEIGHT)
        self._theme = theme
        self.words = DROP_HERE
        self.is_dragged_over = False
        theme.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        graphite = self._theme.page_color("graphite")
        pen = QPen(graphite, 1)
        if not self.is_dragged_over:
            pen.setDashPattern([3, 3])
        painter.setPen(pen)
        painter.setBrush(
            self._theme.page_color("here") if self.is_dragged_over else Qt.BrushStyle.NoBrush
        )
        painter.drawRoundedRect(frame, 4, 4)
        self._draw_system(painter)
        self._write(painter, graphite)

    def _draw_system(self, painter: QPainter) -> None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        line = self._theme.page_color("hairline2")
        left, right = 36, self.width() - 36
        middle = self.height() // 2
        tops = (middle - 67, middle + 21)
        for top in tops:
            for number in range(5):
                painter.fillRect(left, top + number * STAFF_SPACE, right - left, 1, line)
        height = tops[1] + 4 * STAFF_SPACE + 1 - tops[0]
        for x in (left, right):
            painter.fillRect(x, tops[0], 1, height, line)

    def _write(self, painter: QPainter, color: QColor) -> None:
        painter.setPen(color)
        painter.setFont(self._theme.sans(16))
        box = QRectF(0, self.height() / 2 - 35, self.width(), 56)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, self.words)
        painter.setPen(self._theme.page_color("quiet"))
        painter.setFont(self._theme.sans(11))
        box = QRectF(0, self.height() - 36, self.width(), 24)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, FORMATS)
