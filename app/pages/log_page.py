"""The log, where a person can read it, copy it, and find its file."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPlainTextEdit, QPushButton, QWidget

from app.pages.page import Page
from app.theme import Theme

NOTHING = "Nothing went wrong so far: the log is empty."
NO_FILE = "This notebook is in no file, and has no log."
MOST_SHOWN_BYTES = 64 * 1024
"""From the end, where the newest is."""


class LogPage(Page):
    """The end of the log, read again whenever the page is opened."""

    def __init__(self, path: Path | None, theme: Theme, parent: QWidget) -> None:
        super().__init__("Log", theme, parent, width=760)
        self._path = path
        self._where, self.text = QLabel(str(path or NO_FILE)), QPlainTextEdit()
        self._copy, self._folder = QPushButton("Copy it"), QPushButton("Open its folder")
        self._where.setWordWrap(True)
        self._where.setProperty("role", "quiet")
        self.text.setReadOnly(True)
        self.text.setFrameShape(QFrame.Shape.NoFrame)
        self.text.setAccessibleName("The log, its newest entries last")
        self._copy.clicked.connect(
            lambda: QGuiApplication.clipboard().setText(self.text.toPlainText())
        )
        self._folder.clicked.connect(self._open_folder)
        acts = QHBoxLayout()
        for button in (self._copy, self._folder):
            button.setFixedHeight(28)
            acts.addWidget(button)
        acts.addStretch(1)
        self.column.addWidget(self._where)
        self.column.addWidget(self.text, 1)
        self.column.addLayout(acts)
        self.take_theme()

    def first(self) -> QWidget:
        return self.text

    def open(self) -> None:
        self.text.setPlainText(end_of(self._path) if self._path is not None else NO_FILE)
        self._folder.setEnabled(self._path is not None)
        super().open()
        bar = self.text.verticalScrollBar()
        bar.setValue(bar.maximum())

    def take_theme(self) -> None:
        super().take_theme()
        for widget in (self._where, self.text, self._copy, self._folder):
            widget.setFont(self._theme.sans(13))

    def _open_folder(self) -> None:
        if self._path is not None:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._path.parent)))


def end_of(path: Path) -> str:
    """The newest entries of the log; a sentence where there is none."""
    try:
        with path.open("rb") as file:
            size = file.seek(0, 2)
            file.seek(max(0, size - MOST_SHOWN_BYTES))
            text = file.read().decode("utf-8", errors="replace")
    except FileNotFoundError:
        return NOTHING
    except OSError as error:
        return f"The log can't be read: {error.strerror}."
    return text or NOTHING
