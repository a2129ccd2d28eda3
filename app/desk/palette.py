"""do…: finds everything that can be done or gone to, by name."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QVBoxLayout,
    QWidget,
)

from app.desk.desk_model import DeskModel
from app.desk.palette_rows import ROW_HEIGHT, ROW_ROLE, PaletteDelegate, PaletteRows
from app.desk.palette_search import Kind, Row, search
from app.desk.top_line import KEY_HEIGHT
from app.theme import Theme

WIDTH, INPUT_HEIGHT, FOOT_HEIGHT = 664, 36, 36
TOP, RIGHT = 8, 12
ROWS_AT_MOST = 12
KINDS = tuple(Kind)


class Palette(QFrame):
    """The panel that hangs from the field at the top right."""

    chosen = Signal(object)
    """A ``Row`` was chosen."""
    closed = Signal()

    def __init__(self, desk: DeskModel, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._window = parent
        self.setObjectName("palette")
        self.setAccessibleName("Do…")
        self._desk, self._theme = desk, theme
        self._only = Kind.ALL
        self._came_from: QWidget | None = None
        self.input, self._hint, self._escape = QLineEdit(), QLabel(), QLabel("Esc")
        self.rows = PaletteRows(self)
        self.list = QListView()
        self._kinds = {kind: QLabel(kind.value) for kind in KINDS}
        self._count = QLabel()
        self._lay_out()
        self.input.textChanged.connect(self._search)
        self.input.installEventFilter(self)
        self.list.clicked.connect(lambda _index: self._choose())
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self.hide()

    def open(self, text: str = "") -> None:
        """Open, with a text typed already."""
        if self.isHidden():
            self._came_from = QApplication.focusWidget()
        self._only = Kind.ALL
        self.input.setText(text)
        self._search()
        self.place()
        self.show()
        self.raise_()
        self.input.setFocus(Qt.FocusReason.PopupFocusReason)

    def close_and_go_back(self) -> None:
        """Close; the focus goes back to where it was."""
        self.hide()
        if self._came_from is not None and self._came_from.isVisible():
            self._came_from.setFocus(Qt.FocusReason.PopupFocusReason)
        self.closed.emit()

    def place(self) -> None:
        """Stand at the right of the window, as high as its rows."""
        window = self._window
        rows = min(max(len(self.rows.rows), 1), ROWS_AT_MOST)
        height = INPUT_HEIGHT + rows * ROW_HEIGHT + FOOT_HEIGHT + 4
        width = min(WIDTH, window.width() - 2 * RIGHT)
        self.setGeometry(
            window.width() - RIGHT - width, TOP, width, min(height, window.height() - 2 * TOP)
        )

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.input and event.type() == QEvent.Type.FocusOut and self.isVisible():
            # Whoever clicks elsewhere is done here.
            self.hide()
            self.closed.emit()
        if watched is self.input and event.type() == QEvent.Type.KeyPress:
            return isinstance(event, QKeyEvent) and self._is_handled(event)
        return False

    def _is_handled(self, event: QKeyEvent) -> bool:
        key = event.key()
        steps = {
            Qt.Key.Key_Up: -1,
            Qt.Key.Key_Down: 1,
            Qt.Key.Key_PageUp: -ROWS_AT_MOST,
            Qt.Key.Key_PageDown: ROWS_AT_MOST,
        }
        if key in steps:
            self._step(steps[Qt.Key(key)])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._choose()
        elif key == Qt.Key.Key_Escape:
            self.close_and_go_back()
        elif key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            step = 1 if key == Qt.Key.Key_Tab else -1
            self._only = KINDS[(KINDS.index(self._only) + step) % len(KINDS)]
            self._search()
        else:
            return False
        return True

    def _search(self) -> None:
        text = self.input.text()
        self.rows.show(search(self._desk, text, self._only))
        self.list.setCurrentIndex(self.rows.index(0))
        is_number = text.strip().isdecimal() and self._desk.piece is not None
        title = self._desk.piece.title if self._desk.piece else ""
        self._hint.setText(f"a number is a place in {title} first" if is_number else "")
        self._show_count()
        for kind, label in self._kinds.items():
            role = "chosen" if kind is self._only else "quiet"
            label.setProperty("role", role)
            label.style().unpolish(label)
            label.style().polish(label)
        self.place()

    def _show_count(self) -> None:
        found = len(self.rows.rows)
        self._count.setText(f"{found} found" if found else "nothing found")

    def _step(self, by: int) -> None:
        count = self.rows.rowCount()
        if count:
            row = self.list.currentIndex().row() + by
            row = row % count if abs(by) == 1 else min(max(row, 0), count - 1)
            self.list.setCurrentIndex(self.rows.index(row))

    def _choose(self) -> None:
        index: QModelIndex = self.list.currentIndex()
        row = index.data(ROW_ROLE)
        if not isinstance(row, Row) or row.reason:
            return
        self.close_and_go_back()
        self.chosen.emit(row)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setContentsMargins(12, 0, 12, 0)
        head.setSpacing(12)
        head.addWidget(self.input, 1)
        head.addWidget(self._hint)
        head.addWidget(self._escape)
        self._hint.setProperty("role", "quiet")
        self._escape.setProperty("role", "key")
        self._escape.setFixedHeight(KEY_HEIGHT)
        self.input.setFixedHeight(INPUT_HEIGHT)
        self.input.setFrame(False)
        self.input.setAccessibleName("What to do, or where to go")
        self.list.setModel(self.rows)
        self.list.setItemDelegate(PaletteDelegate(self._theme, self.list))
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.list.setUniformItemSizes(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setAccessibleName("Found")
        column = QVBoxLayout(self)
        column.setContentsMargins(1, 1, 1, 1)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self.list, 1)
        column.addLayout(self._foot())

    def _foot(self) -> QHBoxLayout:
        foot = QHBoxLayout()
        foot.setContentsMargins(12, 0, 12, 0)
        foot.setSpacing(8)
        self._small: list[QLabel] = [self._count]
        for keys, words in ((("↑", "↓"), "choose"), (("Enter",), "do it"), (("Tab",), "only")):
            for key in keys:
                foot.addWidget(self._label(key, "key"))
            foot.addWidget(self._label(words, "quiet"))
            foot.addSpacing(8)
        for label in self._kinds.values():
            label.setFixedHeight(KEY_HEIGHT)
            self._small.append(label)
            foot.addWidget(label)
        foot.addStretch(1)
        self._count.setProperty("role", "quiet")
        self._count.setFixedHeight(FOOT_HEIGHT)
        foot.addWidget(self._count)
        return foot

    def _label(self, text: str, role: str) -> QLabel:
        label = QLabel(text)
        label.setProperty("role", role)
        if role == "key":
            label.setFixedHeight(KEY_HEIGHT)
        self._small.append(label)
        return label

    def _take_theme(self) -> None:
        self.input.setFont(self._theme.sans(16))
        for label in (*self._small, self._hint, self._escape):
            label.setFont(self._theme.sans(11))
        self.list.viewport().update()
