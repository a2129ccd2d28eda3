"""A table of brought-in files with its heading; there only while it has rows."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.bringing.batch import Batch
from app.bringing.brought_files import list_of_troubles
from app.bringing.file_columns import BAD, TableSpec
from app.bringing.file_table import FileTable
from app.theme import Theme


class FileSection(QWidget):
    """Heading, how many, what can be done with all of them, table."""

    changed = Signal()

    def __init__(self, batch: Batch, spec: TableSpec, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme, self._is_found_in = theme, False
        self._title, self._count = QLabel(spec.title), QLabel()
        self.table = FileTable(batch, spec, theme)
        self.copy_list, self.try_all = QPushButton("copy the list"), QPushButton("try all again")
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self._title, 1)
        head.addWidget(self._count)
        for link in (self.copy_list, self.try_all):
            link.setProperty("role", "link")
            link.setMinimumHeight(28)
            head.addWidget(link)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self.table)
        for link in (self.copy_list, self.try_all):
            link.setVisible(spec is BAD)
        self.copy_list.clicked.connect(self._copy)
        self.try_all.clicked.connect(
            lambda: batch.try_again([file.index for file in self.table.rows.files])
        )
        self.table.fitted.connect(self._show)
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self._show()

    def look_for(self, text: str) -> None:
        """Show only rows with these words."""
        self._is_found_in = bool(text.strip())
        self.table.found.find(text)
        self._show()

    def _show(self) -> None:
        shown, every = self.table.found.rowCount(), self.table.rows.rowCount()
        words = f"{every} file" if every == 1 else f"{every} files"
        self._count.setText(f"{shown} of {words}" if self._is_found_in else words)
        self.setVisible(shown > 0)
        self.changed.emit()

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(list_of_troubles(self.table.files()))

    def _take_theme(self) -> None:
        theme = self._theme
        self._title.setFont(theme.sans(13, 600))
        for widget in (self._count, self.copy_list, self.try_all):
            widget.setFont(theme.sans(11))
        for label, role in ((self._title, "print"), (self._count, "quiet")):
            color = theme.page_color(role).name()
            label.setStyleSheet(f"color: {color}; background: transparent;")
