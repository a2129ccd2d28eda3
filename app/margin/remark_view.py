"""One remark in the margin: its rule, number, kind, day and words, edited where it stands."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QEvent, QObject, QRect, Qt, Signal
from PySide6.QtGui import (
    QEnterEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
)
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.desk.desk_model import DeskModel
from app.edits.remark_edits import RemoveRemark
from app.margin.dates import day_name
from app.margin.signed_text import Run, SignedText
from app.margin.sitting import Sitting
from app.margin.text_field import TextField
from app.theme import Theme
from app.tonality.signs import spoken
from core.notebook.values import Remark, RemarkKind

RULE_WIDTH, TEXT_INDENT = 2, 12
EDITING_KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2)
REMOVING_KEYS = (Qt.Key.Key_Delete, Qt.Key.Key_Backspace)


class RemarkView(QFrame):
    """A remark that can be focused, edited (Enter or a click) and removed (Delete)."""

    editing_ended = Signal()
    going_there = Signal(object)
    """The passage it hangs on; its place was clicked."""
    step_asked = Signal(int)
    """Up (-1) or down (1) to the next remark."""
    touched = Signal()
    """It has the keyboard now, itself or its words."""

    def __init__(self, desk: DeskModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self._theme = desk, theme
        self.remark: Remark | None = None
        self.sitting: Sitting | None = None
        self._head, self._place, self._day = QLabel(), SignedText(theme), QLabel()
        self._place_text = ""
        self._body = TextField()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self._lay_out()
        self._body.finished.connect(self._on_finished)
        self._body.left.connect(self._on_left)
        self._body.undo_asked.connect(self._on_undo_asked)
        self._body.textChanged.connect(self._on_text_changed)
        self._body.viewport().installEventFilter(self)
        self._place.installEventFilter(self)
        desk.remark_pointed.connect(self.update)
        theme.changed.connect(self._take_theme)
        self._show_reading()
        self._take_theme()

    def show_remark(self, remark: Remark, number: int, place: str) -> None:
        """Show a remark; ``place`` where it hangs elsewhere than at the current place."""
        was, self.remark = self.remark, remark
        words = [str(number)] if number else []
        words += [remark.kind.value] if remark.kind else []
        self._head.setText("  ".join(words))
        self._head.setVisible(bool(words))
        self._place_text = place
        self._show_place()
        self._place.setVisible(bool(place))
        self._day.setText(day_name(remark.created_at, date.today(), remark.zone))
        name = ", ".join([f"Remark {number}" if number else "Remark", *words[bool(number) :]])
        spoken_place = spoken(place) or self._desk.where()
        self.setAccessibleName(f"{name}, {spoken_place}, {self._day.text()}")
        self.setAccessibleDescription(remark.body)
        if self.sitting is None and (was is None or was.body != remark.body):
            self._body.show_markdown(remark.body)

    def edit(self) -> None:
        """Open the words for typing."""
        if self.sitting is not None or self.remark is None or self._desk.is_read_only:
            return
        self.touched.emit()
        self._body.setReadOnly(False)
        self._body.show_source(self.remark.body)
        self.sitting = Sitting(self._desk, self.remark, self)
        self._body.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._body.viewport().setCursor(Qt.CursorShape.IBeamCursor)
        self._body.moveCursor(self._body.textCursor().MoveOperation.End)
        self._body.setFocus(Qt.FocusReason.OtherFocusReason)
        self.update()

    def end_editing(self) -> None:
        """Keep what was typed and show it as it reads."""
        if self.sitting is None:
            return
        if not self.sitting.end():
            return
        sitting, self.sitting = self.sitting, None
        sitting.deleteLater()
        self._show_reading()
        if self.remark is not None:
            self._body.show_markdown(self.remark.body)
        self.editing_ended.emit()

    def take_kind(self, kind: RemarkKind | None) -> None:
        """Make the remark of another kind; the one it has already takes it off."""
        if self.remark is None:
            return
        sitting = self.sitting or Sitting(self._desk, self.remark, self)
        sitting.take_kind(None if self.remark.kind is kind else kind)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key in EDITING_KEYS:
            self.edit()
        elif key in REMOVING_KEYS and self.remark is not None:
            RemoveRemark(self._desk, self.remark.id).push()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.step_asked.emit(-1 if key == Qt.Key.Key_Up else 1)
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.MouseButtonRelease and isinstance(event, QMouseEvent):
            if event.button() != Qt.MouseButton.LeftButton:
                return False
            if watched is self._place and self.remark is not None:
                self.going_there.emit(self.remark.anchor.passage)
            elif self.sitting is None and not self._body.textCursor().hasSelection():
                self.edit()
        return False

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.touched.emit()
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def enterEvent(self, event: QEnterEvent) -> None:
        super().enterEvent(event)
        if self.remark is not None:
            self._desk.point_at_remark(self.remark.id)

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self._desk.point_at_remark(0)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        is_pointed_at = self.remark is not None and self._desk.remark_pointed_at == self.remark.id
        if self.hasFocus() or is_pointed_at:
            painter.fillRect(self.rect(), self._theme.color("here"))
        if self.sitting is not None:
            field = QRect(TEXT_INDENT - 4, 0, self.width() - TEXT_INDENT + 4, self.height())
            painter.fillRect(field, self._theme.color("field"))
        width = RULE_WIDTH + (1 if self.hasFocus() else 0)
        painter.fillRect(QRect(0, 0, width, self.height()), self._theme.color("ink"))

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self._head)
        head.addWidget(self._place)
        head.addStretch(1)
        head.addWidget(self._day)
        column = QVBoxLayout(self)
        column.setContentsMargins(TEXT_INDENT, 0, 4, 2)
        column.setSpacing(2)
        column.addLayout(head)
        column.addWidget(self._body)
        self._head.setProperty("role", "ink")
        self._day.setProperty("role", "quiet")
        self._place.setCursor(Qt.CursorShape.PointingHandCursor)
        self._body.setAccessibleName("Words of the remark")

    def _show_place(self) -> None:
        self._place.show_runs([Run(text=self._place_text, font=self._theme.sans(11), role="quiet")])

    def _show_reading(self) -> None:
        had_focus = self._body.hasFocus()
        self._body.setReadOnly(True)
        self._body.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._body.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        if had_focus:
            self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.update()

    def _take_theme(self) -> None:
        theme = self._theme
        self._head.setFont(theme.sans(11, 500))
        self._show_place()
        self._day.setFont(theme.sans(11))
        self._body.setFont(theme.serif(17))
        palette = self._body.palette()
        palette.setColor(QPalette.ColorRole.Text, theme.color("ink"))
        palette.setColor(QPalette.ColorRole.Link, theme.color("ink"))
        palette.setColor(QPalette.ColorRole.Base, Qt.GlobalColor.transparent)
        self._body.setPalette(palette)
        self.update()

    def _on_text_changed(self) -> None:
        if self.sitting is not None:
            self.sitting.type(self._body.toPlainText())

    def _on_finished(self) -> None:
        self.end_editing()
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_left(self) -> None:
        self.end_editing()

    def _on_undo_asked(self) -> None:
        self.end_editing()
        self._desk.undo_stack.undo()
