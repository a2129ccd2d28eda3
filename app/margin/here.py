"""Here: what is known and written of the current place, and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import pairwise

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.desk.desk_model import DeskModel
from app.desk.selection import selection_at
from app.edits.remark_edits import MoveRemark
from app.margin.findings_panel import FindingsPanel
from app.margin.remark_view import RemarkView
from app.margin.writing import WritingField
from app.theme import Theme
from app.tonality.findings_model import FindingsModel
from app.tonality.shown_finding import ShownFinding
from core.notebook.anchors import anchor_at_finding, statement_name
from core.notebook.values import AnchorKind, Remark, RemarkKind
from core.score.places import Passage

WIDTH, MARGIN, GAP = 332, 12, 16
SHOWN_AT_ONCE = 40
"""Remarks shown before "show more": a long piece may have hundreds, each of them widgets."""
NEW_A_TURN = 1
"""Remarks whose widgets are made in one turn of the event loop: some 10 ms each."""


class Here(QFrame):
    """The margin at the right.

    Attributes
    ----------
    findings : FindingsPanel or None
        What is computed, above the remarks; None until ``take_findings``.
    below : QVBoxLayout
        Where the list of the current measure is placed.
    """

    left = Signal()
    """Escape: back to the score."""

    def __init__(self, desk: DeskModel, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("here")
        self.setAccessibleName("Here")
        self._desk, self._theme = desk, theme
        self._views: dict[int, RemarkView] = {}
        self._limit = SHOWN_AT_ONCE
        self._touched = 0
        """Id of the remark that had the keyboard last; 0 for none."""
        self._title, self._where = QLabel("Here"), QLabel()
        self._none = QLabel()
        self._more = QPushButton()
        self.findings: FindingsPanel | None = None
        self._model: FindingsModel | None = None
        self._rule = QFrame()
        self.below = QVBoxLayout()
        self.writing = WritingField(desk, theme)
        self._list, self._scroll = QVBoxLayout(), QScrollArea()
        self._refreshing = QTimer(self)
        self._refreshing.setSingleShot(True)
        self._refreshing.setInterval(0)
        self._refreshing.timeout.connect(self._show_some)
        self._lay_out()
        self._listen()
        self._take_theme()
        self.refresh()

    def take_findings(self, model: FindingsModel) -> None:
        """Show what is computed of the current place above the remarks; once."""
        self._model = model
        self.findings = FindingsPanel(model, self._theme)
        self.findings.step_asked.connect(self._on_left_findings)
        self.findings.typing_begun.connect(self._on_typing_begun)
        self.findings.shown_changed.connect(self._on_findings_shown)
        model.analysis_changed.connect(self._on_analysis_changed)
        self._column.insertWidget(0, self.findings)
        self._on_findings_shown()

    def focus_findings(self) -> bool:
        """Give the first finding the keyboard; whether there is one."""
        views = self.findings.views() if self.findings is not None else ()
        if views:
            views[0].setFocus(Qt.FocusReason.ShortcutFocusReason)
            self._scroll.ensureWidgetVisible(views[0])
        return bool(views)

    def write_on_finding(self) -> bool:
        """Begin a remark on the finding with the focus; whether there is one."""
        shown = self.findings.focused_finding() if self.findings is not None else None
        if shown is not None:
            self._write_on(shown)
        return shown is not None

    def refresh(self) -> None:
        """Show what is written of the current place, all of it at once."""
        self._show(most_new=self._limit)

    def _show_some(self) -> None:
        """Show what is written here; of what is new, a part now and the rest in other turns."""
        if not self._show(most_new=NEW_A_TURN):
            self._desk.turns.soon(self._show_some)

    def _show(self, *, most_new: int) -> bool:
        """Whether all of it is shown."""
        self._refreshing.stop()
        self._where.setText(self._desk.where())
        written = self.writing.remark_id
        remarks = [remark for remark in self._desk.remarks_here() if remark.id != written]
        wanted = remarks[: self._limit]
        self._drop_views({remark.id for remark in wanted})
        shown = self._with_views(wanted, most_new)
        numbers = {remark.id: number for number, remark in self._desk.numbered()}
        for row, remark in enumerate(shown):
            view = self._views.get(remark.id) or self._new_view(remark.id)
            view.show_remark(remark, numbers.get(remark.id, 0), self._place_of(remark))
            if self._list.indexOf(view) != row:
                self._list.insertWidget(row, view)
                # Now and not with the next layout, so that it can take the focus at once.
                view.show()
        self._more.setText(f"show {min(SHOWN_AT_ONCE, len(remarks) - len(wanted))} more")
        self._more.setVisible(len(remarks) > len(wanted))
        self._none.setVisible(not remarks and self._desk.piece is not None and written is None)
        self._none.setText(
            "Nothing is written here yet." if self._desk.selection else "Nothing is written yet."
        )
        self._order_tabs()
        return len(shown) == len(wanted)

    def take_kind(self, kind: RemarkKind) -> None:
        """Make the focused remark, or else the one being written, of this kind."""
        view = self.focused_view()
        if view is not None:
            view.take_kind(kind)
        else:
            self.writing.take_kind(kind)

    def move_remark_here(self) -> bool:
        """Hang the remark that had the keyboard last on the current place; whether there is one."""
        place = self._desk.place_to_write()
        remark = next((each for each in self._desk.remarks if each.id == self._touched), None)
        if remark is None or place is None or not self.finish():
            return False
        MoveRemark(self._desk, remark, place[1]).push()
        return True

    def focused_view(self) -> RemarkView | None:
        """The remark that has the focus, itself or its words."""
        widget: QWidget | None = QApplication.focusWidget()
        while widget is not None and not isinstance(widget, RemarkView):
            widget = widget.parentWidget()
        return widget if widget in self._views.values() else None

    def views(self) -> tuple[RemarkView, ...]:
        """The remarks shown, from the top."""
        return tuple(sorted(self._views.values(), key=self._list.indexOf))

    def focus_remark(self, remark_id: int) -> None:
        """Give a remark that is shown the keyboard."""
        view = self._views.get(remark_id)
        if view is not None:
            view.setFocus(Qt.FocusReason.OtherFocusReason)
            self._scroll.ensureWidgetVisible(view)

    def finish(self) -> bool:
        """Keep everything that is being typed and end it; whether all of it is safe."""
        for view in self.views():
            view.end_editing()
        is_safe = all(view.sitting is None for view in self.views())
        return self.writing.end() and is_safe

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _lay_out(self) -> None:
        for widget, role in (
            (self._title, "strong"),
            (self._where, "quiet"),
            (self._none, "quiet"),
            (self._more, "link"),
        ):
            widget.setProperty("role", role)
        self._rule.setProperty("role", "rule")
        self._rule.setFixedHeight(1)
        self._rule.hide()
        self.below.setContentsMargins(MARGIN, 0, MARGIN, 0)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, MARGIN, 0, 0)
        outer.setSpacing(MARGIN)
        head = _row(self._title, self._where)
        head.insertStretch(1, 1)
        outer.addLayout(head)
        outer.addWidget(self._scroll, 1)
        outer.addLayout(self.below)
        outer.addLayout(_row(self.writing))
        self._scroll.setWidget(self._inside())
        self._list.setSpacing(GAP)
        self._scroll.setWidgetResizable(True)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def _inside(self) -> QWidget:
        """What scrolls: findings, a line, remarks."""
        inside = QWidget()
        self._column = QVBoxLayout(inside)
        self._column.setContentsMargins(0, 0, 0, MARGIN)
        self._column.setSpacing(GAP)
        self._column.addWidget(self._rule)
        column = QVBoxLayout()
        column.setContentsMargins(MARGIN, 0, MARGIN, 0)
        column.setSpacing(GAP)
        self._column.addLayout(column)
        column.addLayout(self._list)
        column.addWidget(self._none)
        column.addWidget(self._more, 0, Qt.AlignmentFlag.AlignLeft)
        self._column.addStretch(1)
        return inside

    def _listen(self) -> None:
        desk = self._desk
        for signal in (
            desk.selection_changed,
            desk.statement_changed,
            desk.remarks_changed,
            desk.score_read,
        ):
            signal.connect(self._refreshing.start)
        desk.piece_opened.connect(self._on_piece_opened)
        self.writing.written_on_changed.connect(self._refreshing.start)
        self.writing.left.connect(self.left)
        self._more.clicked.connect(self._on_more)
        self._theme.changed.connect(self._take_theme)

    def _take_theme(self) -> None:
        self._title.setFont(self._theme.sans(13, 600))
        self._where.setFont(self._theme.sans(11, 500))
        self._none.setFont(self._theme.sans(13))
        self._more.setFont(self._theme.sans(11))

    def _with_views(self, wanted: Sequence[Remark], most_new: int) -> list[Remark]:
        """Those that have their widgets already, and the first few of the others."""
        new = [remark.id for remark in wanted if remark.id not in self._views]
        waiting = set(new[most_new:])
        return [remark for remark in wanted if remark.id not in waiting]

    def _new_view(self, remark_id: int) -> RemarkView:
        view = RemarkView(self._desk, self._theme)
        view.editing_ended.connect(self._refreshing.start)
        view.going_there.connect(self._on_going_there)
        view.step_asked.connect(self._on_step_asked)
        view.touched.connect(partial(self._on_touched, remark_id))
        self._views[remark_id] = view
        return view

    def _on_touched(self, remark_id: int) -> None:
        self._touched = remark_id

    def _drop_views(self, wanted: set[int]) -> None:
        for remark_id in [known for known in self._views if known not in wanted]:
            view = self._views[remark_id]
            is_there = any(remark.id == remark_id for remark in self._desk.remarks)
            if is_there:
                view.end_editing()
            if view.sitting is not None and is_there:
                continue
            self._hand_focus_on(view)
            del self._views[remark_id]
            self._list.removeWidget(view)
            view.hide()
            view.deleteLater()

    def _hand_focus_on(self, view: RemarkView) -> None:
        """The focus of a remark that goes: to the next one, else to the field."""
        focused = QApplication.focusWidget()
        if focused is None or (focused is not view and not view.isAncestorOf(focused)):
            return
        shown = self.views()
        row = shown.index(view)
        others = (*shown[row + 1 :], *reversed(shown[:row]), self.writing.field)
        others[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _place_of(self, remark: Remark) -> str:
        """Where a remark hangs, unless it is just the current place."""
        if remark.anchor.kind is AnchorKind.FINDING and remark.anchor.finding_kind:
            return f"on: {self._title_of(remark)}"
        selection = self._desk.selection
        here = None if selection is None else selection.passage
        passage = remark.anchor.passage
        edition = self._desk.edition
        if passage and edition and remark.anchor.score_sha256 != edition.score_sha256:
            return "in another edition"
        where = "" if passage == here else self._desk.name_of(passage)
        return ", ".join(filter(None, (statement_name(remark.anchor), where)))

    def _on_piece_opened(self) -> None:
        self._limit, self._touched = SHOWN_AT_ONCE, 0
        self._refreshing.start()

    def _on_more(self) -> None:
        self._limit += SHOWN_AT_ONCE
        self.refresh()

    def _on_step_asked(self, step: int) -> None:
        shown = self.views()
        focused = self.focused_view()
        if focused not in shown:
            return
        row = shown.index(focused) + step
        if 0 <= row < len(shown):
            shown[row].setFocus(Qt.FocusReason.TabFocusReason)
            self._scroll.ensureWidgetVisible(shown[row])
        elif row == len(shown):
            self.writing.field.setFocus(Qt.FocusReason.TabFocusReason)
        elif self.findings is not None and self.findings.views():
            self.findings.views()[-1].setFocus(Qt.FocusReason.TabFocusReason)

    # Findings

    def _title_of(self, remark: Remark) -> str:
        kind = remark.anchor.finding_kind or ""
        return kind if self._model is None else self._model.title_of(kind, remark.anchor.passage)

    def _write_on(self, shown: ShownFinding) -> None:
        piece, score = self._desk.piece, self._desk.score
        if piece is not None and score is not None and not self._desk.is_read_only:
            place = piece.id, anchor_at_finding(score, shown.kind, shown.passage)
            self.writing.write_on(place, shown.name)

    def _on_typing_begun(self, shown: ShownFinding, text: str) -> None:
        self._write_on(shown)
        if not self._desk.is_read_only:
            self.writing.type(text)

    def _on_analysis_changed(self) -> None:
        assert self._model is not None
        self.writing.take_analysis(self._model.analysis)
        self._refreshing.start()

    def _on_left_findings(self, step: int) -> None:
        """From the last finding down to the remarks; up from the first one leads nowhere."""
        if step > 0:
            targets = (*self.views(), self.writing.field)
            targets[0].setFocus(Qt.FocusReason.TabFocusReason)

    def _on_findings_shown(self) -> None:
        assert self.findings is not None
        self._rule.setVisible(not self.findings.isHidden())
        self._order_tabs()

    def _order_tabs(self) -> None:
        """Findings, then remarks, then the field, in whatever order they were made."""
        findings = self.findings.made_views() if self.findings is not None else ()
        for first, second in pairwise((*findings, *self.views(), self.writing.field)):
            QWidget.setTabOrder(first, second)

    def _on_going_there(self, passage: Passage | None) -> None:
        view = self.sender()
        remark = view.remark if isinstance(view, RemarkView) else None
        if passage is None or remark is None:
            self._desk.select(None)
            return
        self._desk.select(selection_at(remark.anchor))
        self._desk.going_to.emit(passage.start.measure_index)


def _row(*widgets: QWidget) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setContentsMargins(MARGIN, 0, MARGIN, 0)
    for widget in widgets:
        row.addWidget(widget)
    return row
