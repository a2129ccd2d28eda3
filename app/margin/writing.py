"""The field at the foot of the margin: "write here…", where every remark begins."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette, QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.desk.desk_model import DeskModel
from app.desk.shortcuts import key_of
from app.margin.signed_text import Run, SignedText
from app.margin.sitting import Sitting
from app.margin.soundings import SoundingRow, soundings_of
from app.margin.text_field import TextField
from app.theme import Theme
from app.tonality.signs import spoken
from core.notebook.analyses import Analysis
from core.notebook.anchors import anchor_at_statement
from core.notebook.values import Anchor, AnchorKind, RemarkKind
from core.score.statements import Statement

KINDS = tuple(RemarkKind)
STATE_HEIGHT = 16


class WritingField(QFrame):
    """Words for the current place; kept as they are typed.

    Enter or Escape ends a remark and begins a fresh one; so does another place.
    """

    written_on_changed = Signal()
    """Another remark, or none, stands in the field."""
    left = Signal()
    """Escape in an empty field: back to the score."""

    def __init__(self, desk: DeskModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self._theme = desk, theme
        self.setObjectName("writing")
        self.field = TextField()
        self._state = QLabel()
        self._on = SignedText(theme)
        self._on_name = ""
        self._box = QFrame()
        self._kinds = {kind: QPushButton(kind.value) for kind in KINDS}
        self._kinds_in_a_row = 0
        self._soundings = SoundingRow(theme, self)
        self._analysis: Analysis | None = None
        self._asked: Anchor | None = None
        self._sitting = self._fresh()
        self._lay_out()
        self.field.textChanged.connect(self._on_text_changed)
        self.field.finished.connect(self._on_finished)
        self.field.left.connect(self.keep)
        self.field.undo_asked.connect(self._on_undo_asked)
        self.field.redo_asked.connect(self._on_redo_asked)
        desk.selection_changed.connect(self.end)
        desk.statement_changed.connect(self.end)
        desk.piece_opened.connect(self._on_piece_opened)
        desk.remarks_changed.connect(self._on_remarks_changed)
        self._soundings.chosen.connect(self._on_sounding_chosen)
        theme.changed.connect(self._take_theme)
        self._take_theme()
        self._show_state()
        self._on_piece_opened()

    @property
    def remark_id(self) -> int | None:
        """The remark that stands in the field now; None while nothing is kept."""
        return self._sitting.remark_id

    def type(self, text: str) -> None:
        """Take text that was typed elsewhere, and the focus."""
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)
        self.field.insertPlainText(text)

    def write_on(self, place: tuple[int, Anchor], name: str) -> None:
        """Begin a remark that hangs on something else than the current place, and say on what."""
        if not self.end():
            return
        old, self._sitting = self._sitting, self._fresh(place)
        old.deleteLater()
        self._show_on(name)
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)

    def take_kind(self, kind: RemarkKind | None) -> None:
        """Make what is written of this kind; the one it has already takes it off."""
        self._sitting.take_kind(None if self._sitting.kind is kind else kind)
        self._show_state()

    def take_analysis(self, analysis: Analysis | None) -> None:
        """Know how often the current place sounds."""
        self._analysis = analysis
        self._show_soundings()

    def keep(self) -> bool:
        """Keep what was typed, now; whether it is safe."""
        return not self._sitting.is_begun or self._sitting.keep()

    def end(self) -> bool:
        """End the remark and begin a fresh one; what can't be kept stays in the field."""
        if not self._sitting.is_begun and self._sitting.remark_id is None and not self._on_name:
            self.field.clear()
            return True
        if not self._sitting.end():
            return False
        old, self._sitting = self._sitting, self._fresh()
        old.deleteLater()
        self._show_on("")
        self.field.show_source("")
        self._show_state()
        self.written_on_changed.emit()
        return True

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange_kinds()

    def _fresh(self, place: tuple[int, Anchor] | None = None) -> Sitting:
        sitting = Sitting(self._desk, parent=self, place=place)
        sitting.changed.connect(self._on_sitting_changed)
        return sitting

    def _lay_out(self) -> None:
        self._box.setObjectName("writingBox")
        inside = QVBoxLayout(self._box)
        inside.setContentsMargins(12, 6, 8, 6)
        inside.addWidget(self.field)
        self._kind_row = QWidget()
        self._kind_grid = QGridLayout(self._kind_row)
        self._kind_grid.setContentsMargins(0, 0, 0, 0)
        self._kind_grid.setSpacing(0)
        for number, (kind, button) in enumerate(self._kinds.items(), start=1):
            button.setProperty("role", "kind")
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.setAccessibleName(f"Kind: {kind.value}")
            key = key_of(f"kind_{number}")
            button.setToolTip(f"{kind.value} ({key}; again takes it off)")
            button.clicked.connect(lambda _checked=False, kind=kind: self.take_kind(kind))
        self._arrange_kinds()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self._on)
        column.addWidget(self._kind_row)
        column.addWidget(self._soundings)
        column.addWidget(self._box)
        column.addWidget(self._state)
        self._state.setProperty("role", "quiet")
        self._state.setAlignment(Qt.AlignmentFlag.AlignRight)
        # Always there, so that the field doesn't move when the first letter is typed.
        self._state.setFixedHeight(STATE_HEIGHT)
        self._show_on("")

    def _arrange_kinds(self) -> None:
        """In one row, or in two where the margin is narrow."""
        buttons = list(self._kinds.values())
        needed = sum(button.sizeHint().width() for button in buttons)
        in_a_row = len(buttons) if needed <= self.width() else (len(buttons) + 1) // 2
        if in_a_row == self._kinds_in_a_row:
            return
        self._kinds_in_a_row = in_a_row
        for column in range(len(buttons) + 1):
            self._kind_grid.setColumnStretch(column, 1 if column == in_a_row else 0)
        for at, button in enumerate(buttons):
            row, column = divmod(at, in_a_row)
            self._kind_grid.addWidget(button, row, column, Qt.AlignmentFlag.AlignLeft)

    def _show_on(self, name: str) -> None:
        self._on_name = name
        text = f"on: {name}" if name else ""
        self._on.show_runs([Run(text=text, font=self._theme.sans(11))])
        self._on.setVisible(bool(name))
        self.field.setAccessibleName(f"Write on {spoken(name)}" if name else "Write here")

    def _take_theme(self) -> None:
        theme = self._theme
        self.field.setFont(theme.serif(17))
        self._state.setFont(theme.sans(11))
        for button in self._kinds.values():
            button.setFont(theme.sans(11))
        self._arrange_kinds()
        self._soundings.take_theme()
        palette = self.field.palette()
        palette.setColor(QPalette.ColorRole.Text, theme.color("ink"))
        palette.setColor(QPalette.ColorRole.PlaceholderText, theme.color("quiet"))
        palette.setColor(QPalette.ColorRole.Base, Qt.GlobalColor.transparent)
        self.field.setPalette(palette)

    def _show_state(self) -> None:
        sitting = self._sitting
        for kind, button in self._kinds.items():
            button.setChecked(kind is sitting.kind)
        self._kind_row.setVisible(sitting.is_begun or sitting.kind is not None)
        state = "kept" if sitting.is_kept else "not kept yet"
        self._state.setText(state if sitting.is_begun else "")
        self._show_soundings()

    def _show_soundings(self) -> None:
        """Ask which sounding is meant, where words are written at measures that have several."""
        if not self._sitting.is_begun:
            self._asked = None
        elif self._asked is None:
            self._asked = self._sitting.anchor
        soundings: tuple[Statement, ...] = ()
        is_one_meant = self._desk.statement is not None or bool(self._on_name)
        if self._asked is not None and not is_one_meant:
            soundings = soundings_of(self._analysis, self._asked.passage)
        anchor = self._sitting.anchor
        is_of_one = anchor is not None and anchor.kind is AnchorKind.STATEMENT
        self._soundings.ask(soundings, anchor.statement_number or 0 if is_of_one and anchor else 0)
        self.field.setAccessibleDescription(self._soundings.words())

    def _on_sounding_chosen(self, statement: Statement | None) -> None:
        score, asked = self._desk.score, self._asked
        if asked is None:
            return
        if statement is None or score is None:
            self._sitting.take_anchor(asked)
        else:
            self._sitting.take_anchor(anchor_at_statement(score, statement, asked.passage))
        self._show_soundings()

    def _on_text_changed(self) -> None:
        self._sitting.type(self.field.toPlainText())
        self._show_state()

    def _on_sitting_changed(self) -> None:
        self._show_state()
        self.written_on_changed.emit()

    def _on_finished(self) -> None:
        if self._sitting.is_begun or self._sitting.remark_id is not None:
            self.end()
        elif self._on_name:
            # A step back: what is written now is on the current place again.
            self.end()
        else:
            self.left.emit()

    def _on_undo_asked(self) -> None:
        if self.end():
            self._desk.undo_stack.undo()

    def _on_redo_asked(self) -> None:
        if self.end():
            self._desk.undo_stack.redo()

    def _on_piece_opened(self) -> None:
        self.end()
        can_write = self._desk.piece is not None and not self._desk.is_read_only
        self.field.setReadOnly(not can_write)
        reason = "this notebook can only be read now" if self._desk.is_read_only else ""
        self.field.setPlaceholderText(reason or "write here…")
        self.setVisible(self._desk.piece is not None)

    def _on_remarks_changed(self) -> None:
        piece, sitting = self._desk.piece, self._sitting
        if piece is None or sitting.piece_id != piece.id or sitting.remark_id is None:
            return
        if sitting.remark_id in {remark.id for remark in self._desk.remarks}:
            # Its place may be another: by an answer, or by taking one back.
            self._show_soundings()
        else:
            # Undone, or removed elsewhere: its words must not be kept once more.
            old, self._sitting = self._sitting, self._fresh()
            old.deleteLater()
            self._show_on("")
            self.field.show_source("")
            self._show_state()
