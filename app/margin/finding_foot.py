"""What one can do with a finding that is open: confirm, overrule, withdraw; and the field for it.

Made when it is first wanted: a place has a dozen findings, and one of them is open.
"""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.theme import Theme
from app.tonality.shown_finding import ShownFinding


class FindingFoot(QWidget):
    """A row of links with their keys, the field for what it is instead, and a refusal."""

    confirmed = Signal()
    overruling_asked = Signal()
    withdrawn = Signal()
    overruled = Signal(str)
    """What it is instead; empty where that isn't said."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.confirm, self.overrule = QPushButton("confirm"), QPushButton("overrule")
        self.withdraw = QPushButton("withdraw")
        self._keys = {
            self.confirm: QLabel("Y"),
            self.overrule: QLabel("N"),
            self.withdraw: QLabel("Del"),
        }
        self._pairs = {button: QWidget() for button in self._keys}
        self._row = QWidget()
        self.field, self.refusal = QLineEdit(), QLabel()
        self._lay_out()
        self._listen()
        self._take_theme()

    def show_finding(self, shown: ShownFinding) -> None:
        """Offer what can be done with a finding; what is being typed stays."""
        self._row.setVisible(shown.is_open and shown.is_arguable)
        self._pairs[self.confirm].setVisible(not shown.is_confirmed)
        self._pairs[self.withdraw].setVisible(shown.judgement is not None)
        self._show_if_any()

    def begin_overruling(self, own_value: str) -> None:
        """Open the field for what it is instead."""
        self.field.setText(own_value)
        self.refusal.hide()
        self.field.show()
        self._show_if_any()
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)
        self.field.selectAll()

    def end_overruling(self) -> None:
        """Close the field."""
        self.field.hide()
        self.refusal.hide()
        self._show_if_any()

    def refuse(self, sentence: str) -> None:
        """Say why what was typed can't be taken; it stays to be mended."""
        self.refusal.setText(sentence)
        self.refusal.show()
        self.field.setAccessibleDescription(sentence)

    def _show_if_any(self) -> None:
        parts = (self._row, self.field, self.refusal)
        self.setVisible(any(not part.isHidden() for part in parts))

    def _lay_out(self) -> None:
        row = QHBoxLayout(self._row)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        for button, key in self._keys.items():
            button.setProperty("role", "link")
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.setStyleSheet("padding: 2px 0")
            key.setProperty("role", "key")
            # Together in one, so that what is hidden leaves no gap.
            both = QHBoxLayout(self._pairs[button])
            both.setContentsMargins(0, 0, 0, 0)
            both.setSpacing(4)
            both.addWidget(button)
            both.addWidget(key)
            row.addWidget(self._pairs[button])
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        for widget in (self._row, self.field, self.refusal):
            column.addWidget(widget)
            widget.hide()
        self.refusal.setProperty("role", "graphite")
        self.refusal.setWordWrap(True)
        self.field.setAccessibleName("What it is instead")
        self.field.setPlaceholderText("what is it? Enter keeps it, also empty")

    def _listen(self) -> None:
        self.confirm.clicked.connect(self.confirmed)
        self.overrule.clicked.connect(self.overruling_asked)
        self.withdraw.clicked.connect(self.withdrawn)
        self.field.returnPressed.connect(lambda: self.overruled.emit(self.field.text()))
        self.field.textEdited.connect(self.refusal.hide)
        self._theme.changed.connect(self._take_theme)

    def _take_theme(self) -> None:
        theme = self._theme
        self.refusal.setFont(theme.sans(11))
        for button, key in self._keys.items():
            button.setFont(theme.sans(11))
            key.setFont(theme.sans(11))
        self.field.setFont(theme.serif(17))
        # The window's style sheet knows fields in print only; these are a person's words.
        self.field.setStyleSheet(f"color: {theme.color('ink').name()}")
