"""A field for a person's words: serif, as high as its text, Markdown shown or its source typed."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QMimeData, QSize, Qt, QUrl, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QTextDocument, QTextOption
from PySide6.QtWidgets import QFrame, QSizePolicy, QTextEdit, QWidget

LINES_AT_MOST = 12
"""Lines shown of what is being written before the field scrolls."""


class TextField(QTextEdit):
    """Words that grow downwards; Enter, Escape and exhausted undo leave as signals."""

    finished = Signal()
    """Enter or Escape: the remark is done."""
    undo_asked = Signal()
    """Undo was asked for, and there is no typing left to take back."""
    redo_asked = Signal()
    left = Signal()
    """The focus went elsewhere."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAcceptRichText(False)
        self.setTabChangesFocus(True)
        self.setWordWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.document().setDocumentMargin(0)
        self.document().documentLayout().documentSizeChanged.connect(self._fit)
        self.viewport().setAutoFillBackground(False)

    def show_markdown(self, body: str) -> None:
        """Show CommonMark as it reads; a single line break breaks the line."""
        # HTML is left as text: what a person typed is shown, never run or fetched.
        self.document().setMarkdown(
            with_hard_breaks(body),
            QTextDocument.MarkdownFeature.MarkdownDialectCommonMark
            | QTextDocument.MarkdownFeature.MarkdownNoHTML,
        )
        self.setUndoRedoEnabled(False)
        self._fit()

    def show_source(self, body: str) -> None:
        """Show what was typed, to be typed on."""
        self.setUndoRedoEnabled(False)
        self.setPlainText(body)
        self.setUndoRedoEnabled(True)
        self._fit()

    def loadResource(self, kind: int, name: QUrl | str) -> Any:
        """Load nothing: an image that a text names is neither read nor fetched."""
        return None

    def insertFromMimeData(self, source: QMimeData) -> None:
        self.insertPlainText(source.text())

    def canInsertFromMimeData(self, source: QMimeData) -> bool:
        # Files belong to the window, which brings them in.
        return source.hasText() and not source.hasUrls()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self.isReadOnly() and self._is_handled(event):
            event.accept()
            return
        super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.left.emit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit()

    def resizeEvent(self, event: Any) -> None:
        super().resizeEvent(event)
        self._fit()

    def sizeHint(self) -> QSize:
        return QSize(super().sizeHint().width(), self._wanted_height())

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self._wanted_height())

    def _is_handled(self, event: QKeyEvent) -> bool:
        if event.matches(QKeySequence.StandardKey.Undo) and not self.document().isUndoAvailable():
            self.undo_asked.emit()
        elif event.matches(QKeySequence.StandardKey.Redo) and not self.document().isRedoAvailable():
            self.redo_asked.emit()
        elif event.key() == Qt.Key.Key_Escape or (
            event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
            and not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        ):
            self.finished.emit()
        else:
            return False
        return True

    def _wanted_height(self) -> int:
        line = self.fontMetrics().lineSpacing()
        height = max(line, round(self.document().size().height()))
        if not self.isReadOnly():
            height = min(height, LINES_AT_MOST * line)
        margins = self.contentsMargins()
        return height + margins.top() + margins.bottom()

    def _fit(self) -> None:
        height = self._wanted_height()
        if height != self.height():
            self.setFixedHeight(height)
        is_full = self.document().size().height() > height + 1
        self.setVerticalScrollBarPolicy(
            Qt.ScrollBarPolicy.ScrollBarAsNeeded
            if is_full
            else Qt.ScrollBarPolicy.ScrollBarAlwaysOff
        )


def with_hard_breaks(body: str) -> str:
    r"""CommonMark in which each line break breaks the line, as a renderer may (0.31, 6.13).

    Examples
    --------
    >>> with_hard_breaks("lean\\non A")
    'lean  \\non A'
    """
    return body.replace("\n", "  \n")
