"""The page of keys: every action with its keys, found by typing."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QFrame,
    QHeaderView,
    QLineEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app.desk.shortcuts import key_rows
from app.pages.page import Page
from app.theme import Theme

WIDTH = 720


class KeysPage(Page):
    """A table of keys; Escape puts it away."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__("Keys", theme, parent, width=WIDTH)
        self.filter, self.table = QLineEdit(), QTreeWidget()
        self._fill()
        for widget in (self.filter, self.table):
            self.column.addWidget(widget)
        self.filter.setPlaceholderText("key or word")
        self.filter.setAccessibleName("Find a key")
        self.filter.textChanged.connect(self._show_matching)
        self.take_theme()

    def first(self) -> QWidget:
        return self.filter

    def take_theme(self) -> None:
        super().take_theme()
        self.filter.setFont(self._theme.sans(13))
        self.table.setFont(self._theme.sans(13))
        for column in range(self.table.columnCount()):
            self.table.headerItem().setFont(column, self._theme.sans(11))

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
        self.table.setSelectionMode(QTreeWidget.SelectionMode.ExtendedSelection)
        copy = QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), self.table)
        copy.setContext(Qt.ShortcutContext.WidgetShortcut)
        copy.activated.connect(self._copy)

    def _copy(self) -> None:
        """The chosen rows, or all that are shown: a line each, their columns apart by tabs."""
        items = [self.table.topLevelItem(row) for row in range(self.table.topLevelItemCount())]
        shown = [item for item in items if item is not None and not item.isHidden()]
        chosen = [item for item in shown if item.isSelected()] or shown
        lines = ["\t".join(item.text(column) for column in range(3)) for item in chosen]
        QGuiApplication.clipboard().setText("\n".join(lines))

    def _show_matching(self, text: str) -> None:
        words = text.casefold().split()
        for number in range(self.table.topLevelItemCount()):
            item = self.table.topLevelItem(number)
            if item is not None:
                row = " ".join(item.text(column) for column in range(3)).casefold()
                item.setHidden(not all(word in row for word in words))
