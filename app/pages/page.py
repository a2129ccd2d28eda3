"""A page over the desk: in the middle of the window, with the keyboard, put away by Escape."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.theme import Theme

MARGIN, GAP, KEY_HEIGHT = 12, 8, 18


class Page(QFrame):
    """What every page shares.

    Parameters
    ----------
    title : str
        Also what a screen reader calls it.
    width, height : int
        Where the window has room for them.
    """

    left = Signal()
    """It was put away, and whatever had the keyboard before is gone."""

    def __init__(
        self, title: str, theme: Theme, parent: QWidget, *, width: int = 664, height: int = 620
    ) -> None:
        super().__init__(parent)
        self._window, self._theme = parent, theme
        self._wanted = width, height
        self._came_from: QWidget | None = None
        self.setObjectName("palette")
        self.setAccessibleName(title)
        self._title, self._escape = QLabel(title), QLabel("Esc")
        self._escape.setProperty("role", "key")
        self._escape.setFixedHeight(KEY_HEIGHT)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(MARGIN, MARGIN, MARGIN, MARGIN)
        self.column.setSpacing(GAP)
        head = QHBoxLayout()
        head.addWidget(self._title, 1)
        head.addWidget(self._escape)
        self.column.addLayout(head)
        theme.changed.connect(self.take_theme)
        self.hide()

    def first(self) -> QWidget:
        """Who gets the keyboard when the page is opened."""
        raise NotImplementedError

    def open(self) -> None:
        """Show it in the middle of the window, and give it the keyboard."""
        focused = QApplication.focusWidget()
        if focused is not None and not self.isAncestorOf(focused):
            self._came_from = focused
        self.place()
        self.show()
        self.raise_()
        self.first().setFocus(Qt.FocusReason.PopupFocusReason)

    def shut_down(self) -> None:
        """The window closes: end what the page has going."""

    def close_and_go_back(self) -> None:
        """Put it away; the keyboard goes back to where it was."""
        self.hide()
        before, self._came_from = self._came_from, None
        if before is not None and before.isVisible():
            before.setFocus(Qt.FocusReason.PopupFocusReason)
        else:
            self.left.emit()

    def place(self) -> None:
        """Stand in the middle of the window."""
        window = self._window
        room = window.width() - 2 * MARGIN, window.height() - 2 * MARGIN
        width, height = (min(pair) for pair in zip(self._wanted, room, strict=True))
        left, top = (window.width() - width) // 2, (window.height() - height) // 2
        self.setGeometry(left, top, width, height)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close_and_go_back()
        elif event.key() == Qt.Key.Key_Space:
            # Or the desk below would begin to play.
            event.accept()
        else:
            super().keyPressEvent(event)

    def focusNextPrevChild(self, next: bool) -> bool:
        """Keep Tab on the page, which covers what would come next."""
        at = QApplication.focusWidget() or self
        widget = _neighbour(at, next)
        while widget is not None and widget is not at:
            if self.isAncestorOf(widget) and _takes_tab(widget):
                reason = (
                    Qt.FocusReason.TabFocusReason if next else Qt.FocusReason.BacktabFocusReason
                )
                widget.setFocus(reason)
                break
            widget = _neighbour(widget, next)
        return True

    def take_theme(self) -> None:
        """Take the fonts and colours of the theme; called once more by every page that has more."""
        self._title.setFont(self._theme.sans(13, 600))
        self._escape.setFont(self._theme.sans(11))


def _neighbour(widget: QWidget, is_next: bool) -> QWidget | None:
    return widget.nextInFocusChain() if is_next else widget.previousInFocusChain()


def _takes_tab(widget: QWidget) -> bool:
    takes = widget.focusPolicy() & Qt.FocusPolicy.TabFocus
    return bool(takes) and widget.isVisible() and widget.isEnabled()
