"""The page of keys: every action with its keys, found by typing."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QFrame,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desk.action_table import ACTIONS, HELD_KEYS
from app.theme import Theme

WIDTH, HEIGHT, MARGIN = 664, 620, 12


def key_rows() -> tuple[tuple[str, str, str], ...]:
    """Group, keys as this platform writes them, what they do."""
    rows = [
        (action.group, ", ".join(native(keys) for keys in action.keys), action.name)
        for action in ACTIONS
        if action.keys
    ]
    return (*rows, *HELD_KEYS)


def native(keys: str) -> str:
    """A key sequence as this platform writes it."""
    text = QKeySequence(keys, QKeySequence.SequenceFormat.PortableText)
    return text.toString(QKeySequence.SequenceFormat.NativeText)


class KeysPage(QFrame):
    """A panel over the desk; Escape closes it."""

    closed = Signal()

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._window = parent
        self.setObjectName("palette")
        self.setAccessibleName("Keys")
        self._theme = theme
        self._title, self.filter, self.table = QLabel("Keys"), QLineEdit(), QTreeWidget()
        self._fill()
        column = QVBoxLayout(self)
        column.setContentsMargins(MARGIN, MARGIN, MARGIN, MARGIN)
        column.setSpacing(8)
        for widget in (self._title, self.filter, self.table):
            column.addWidget(widget)
        self.filter.setPlaceholderText("key or word")
        self.filter.setAccessibleName("Find a key")
        self.filter.textChanged.connect(self._show_matching)
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self.hide()

    def open(self) -> None:
        """Show it in the middle of the window."""
        self.place()
        self.show()
        self.raise_()
        self.filter.setFocus(Qt.FocusReason.PopupFocusReason)

    def place(self) -> None:
        """Stand in the middle of the window."""
        window = self._window
        width, height = min(WIDTH, window.width() - 24), min(HEIGHT, window.height() - 24)
        self.setGeometry(
            (window.width() - width) // 2, (window.height() - height) // 2, width, height
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.hide()
            self.closed.emit()
        else:
            super().keyPressEvent(event)

    def _fill(self) -> None:
        self.table.setColumnCount(3)
        self.table.setHeaderLabels(["Where", "Keys", "What they do"])
        self.table.setRootIsDecorated(False)
        self.table.setFrameShape(QFrame.Shape.NoFrame)
        self.table.setAccessibleName("Keys and what they do")
        for row in key_rows():
            self.table.addTopLevelItem(QTreeWidgetItem(list(row)))
        self.table.setSortingEnabled(True)
        self.table.sortByColumn(0, Qt.SortOrder.AscendingOrder)
        header = self.table.header()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)

    def _show_matching(self, text: str) -> None:
        words = text.casefold().split()
        for number in range(self.table.topLevelItemCount()):
            item = self.table.topLevelItem(number)
            if item is not None:
                row = " ".join(item.text(column) for column in range(3)).casefold()
                item.setHidden(not all(word in row for word in words))

    def _take_theme(self) -> None:
        self._title.setFont(self._theme.sans(13, 600))
        self.filter.setFont(self._theme.sans(13))
        self.table.setFont(self._theme.sans(13))
        self.table.header().setFont(self._theme.sans(11))
