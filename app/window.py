"""The main window: the line that says where one is, shelf, score, Here, and what lies over them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import (
    QAction,
    QCloseEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
    QShortcut,
)
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QMainWindow,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.bringing.showing import Showing
from app.desk import shelf as shelf_panel
from app.desk import shortcuts
from app.desk.action_table import ACTIONS
from app.desk.banners import Banners
from app.desk.desk_model import DeskModel
from app.desk.doing import Doing
from app.desk.finding_out import FindingOut
from app.desk.first_start import FirstStart
from app.desk.hearing import Hearing
from app.desk.palette import Palette
from app.desk.remembered import Remembered
from app.desk.score_acts import take_remembered
from app.desk.shelf import Shelf
from app.desk.shortcuts import key_of
from app.desk.top_line import HEIGHT as TOP_LINE_HEIGHT
from app.desk.top_line import TopLine
from app.form.form_line import FormLine
from app.margin import here as margin
from app.margin.here import Here
from app.messages import Messages
from app.pages.pages import Pages
from app.theme import Theme

if TYPE_CHECKING:
    from app.score.accessible_list import MeasureList
    from app.score.typesetter import Typesetter
    from app.score.view import ScoreView
    from core.score.places import Place

WIDE = 1200
"""From this width of the window on panels are as wide as drawn; below they are narrower."""
LEAST_MIDDLE = 240
NARROW_HERE, NARROW_SHELF = 280, 160
CHOOSE = "Choose a piece: {} leads to the shelf, {} finds it by name."
UNKEPT = (
    "What you typed last could not be kept. Copy it from the field at the right, then close the "
    "window again."
)


class MainWindow(QMainWindow):
    """One window on one notebook.

    Parameters
    ----------
    desk, theme, messages, remembered :
        Made by bootstrap; the desk is shut down with the window.
    open_sample : callable
        Shows the sample notebook.
    typesetter : Typesetter, optional
        One that has begun on a score already; shut down with the window.
    """

    def __init__(
        self,
        desk: DeskModel,
        theme: Theme,
        messages: Messages,
        remembered: Remembered,
        *,
        open_sample: Callable[[], None],
        typesetter: Typesetter | None = None,
    ) -> None:
        super().__init__()
        self._typesetter = typesetter
        self.desk, self.theme, self.messages, self.remembered = desk, theme, messages, remembered
        self.view: ScoreView | None = None
        self.measure_list: MeasureList | None = None
        self._is_warned = self._is_expecting = False
        # Before the parts join: a new style sheet takes back the palettes that they set.
        theme.changed.connect(self._take_theme)
        self.top_line, self.shelf = TopLine(desk, theme), Shelf(desk, theme)
        self.here, self.first_start = Here(desk, theme), FirstStart(theme)
        self._nothing_open = QLabel(CHOOSE.format(key_of("next_pane"), key_of("do")))
        self.middle = QStackedWidget()
        self.finding_out = FindingOut(desk, theme, self)
        self.hearing = Hearing(desk, self.finding_out, self)
        self.form_line = FormLine(self.finding_out.form, theme)
        self.top_line.take_form(self.finding_out.form)
        self.here.take_findings(self.finding_out.findings)
        self._lay_out()
        self.palette_panel = Palette(desk, theme, self)
        self.pages, self.bringing = Pages(self), Showing(self)
        self.banners = Banners(messages, theme, self)
        self.doing = Doing(self, open_sample)
        self._make_actions()
        self._listen()
        self.setAcceptDrops(True)
        self._take_theme()
        self._remember_geometry()
        self.show_what_there_is()

    def show_middle(self, widget: QWidget) -> None:
        """Put a widget into the middle."""
        if self.middle.indexOf(widget) < 0:
            self.middle.addWidget(widget)
        self.middle.setCurrentWidget(widget)

    def score_view(self) -> ScoreView:
        """The score view, made when it is first needed."""
        if self.view is None:
            from app.score.view import ScoreView

            self.view = ScoreView(self.desk, self.theme, typesetter=self._typesetter)
            # Files dropped on the page belong to the window.
            self.view.setAcceptDrops(False)
            self.view.viewport().setAcceptDrops(False)
            take_remembered(self, self.view)
            if (space := self.remembered.number("score/staff_space")) > 0:
                self.view.staff_space = space
            self.view.zoomed.connect(
                lambda space: self.remembered.set_number("score/staff_space", space)
            )
            self.view.remark_pointed.connect(self._on_bracket_pointed)
        return self.view

    def focus_score(self) -> None:
        """Give the keyboard to the page."""
        self.shown().setFocus(Qt.FocusReason.OtherFocusReason)

    def shown(self) -> QWidget:
        """What stands in the middle."""
        return self.middle.currentWidget() or self.middle

    def fold(self, panel: str, is_folded: bool) -> None:
        """Fold or unfold the shelf or Here, and remember it."""
        self.remembered.fold(panel, is_folded)
        self.show_panels()

    def toggle_measure_list(self) -> None:
        """Show or fold the list of the current measure."""
        if self.measure_list is None:
            from app.score.accessible_list import MeasureList

            self.measure_list = MeasureList(self.desk)
            self.measure_list.setFixedHeight(160)
            self.measure_list.setFont(self.theme.sans(13))
            self.measure_list.hide()
            self.here.below.addWidget(self.measure_list)
        is_shown = self.measure_list.isHidden()
        self.measure_list.setVisible(is_shown)
        if is_shown:
            self.fold("here", False)
            self.measure_list.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.focus_score()

    # Events

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        is_wide = event.size().width() >= WIDE
        self.shelf.setFixedWidth(shelf_panel.WIDTH if is_wide else NARROW_SHELF)
        self.here.setFixedWidth(margin.WIDTH if is_wide else NARROW_HERE)
        self.palette_panel.place()
        self.pages.place()
        self._place_banners()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.focus_score()
        elif event.key() == Qt.Key.Key_Space:
            self.doing.do("play")
        else:
            super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        has_files = any(url.isLocalFile() for url in event.mimeData().urls())
        if has_files and not self.desk.is_read_only:
            event.acceptProposedAction()
            self.first_start.show_dragging(True)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self.first_start.show_dragging(False)

    def dropEvent(self, event: QDropEvent) -> None:
        self.first_start.show_dragging(False)
        paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        event.acceptProposedAction()
        self.desk.bring_in([Path(path) for path in paths])

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.here.finish() and not self._is_warned:
            self._is_warned = True
            self.messages.tell(UNKEPT)
            event.ignore()
            return
        self.remembered.geometry = self.saveGeometry()
        self.remembered.selection = self.desk.selection
        self.remembered.save()
        if self.view is not None:
            self.view.shut_down()
        elif self._typesetter is not None:
            self._typesetter.shut_down()
        self.pages.shut_down()
        self.hearing.shut_down()
        self.finding_out.shut_down()
        self.desk.shut_down()
        event.accept()

    # Making

    def _lay_out(self) -> None:
        panes = QHBoxLayout()
        panes.setSpacing(0)
        panes.addWidget(self.shelf)
        panes.addWidget(self.middle, 1)
        panes.addWidget(self.here)
        desk = QWidget()
        desk.setObjectName("desk")
        column = QVBoxLayout(desk)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.top_line)
        column.addLayout(panes, 1)
        column.addWidget(self.form_line)
        self.setCentralWidget(desk)
        # What stands in the middle may be cut off; the window must fit on a small screen.
        self.middle.setMinimumSize(LEAST_MIDDLE, LEAST_MIDDLE)
        for widget in (self.first_start, self._nothing_open):
            self.middle.addWidget(widget)
        self._nothing_open.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._nothing_open.setProperty("role", "quiet")
        self._nothing_open.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def _make_actions(self) -> None:
        self.actions_by_id: dict[str, QAction] = {}
        for action in ACTIONS:
            act = QAction(action.name, self)
            act.setShortcuts(shortcuts.sequences(action))
            act.triggered.connect(lambda _checked=False, id=action.id: self.doing.do(id))
            self.addAction(act)
            self.actions_by_id[action.id] = act
        self._dismissal = QShortcut(QKeySequence("Esc"), self)
        self._dismissal.activated.connect(self.messages.dismiss_last)
        self._dismissal.setEnabled(False)

    def _listen(self) -> None:
        desk = self.desk
        desk.notice.connect(self.messages.tell)
        desk.piece_opened.connect(self.show_what_there_is)
        desk.pieces_changed.connect(self._on_pieces_changed)
        desk.score_read.connect(self._on_score_read)
        desk.typing_begun.connect(self._on_typing_begun)
        desk.remark_pointed.connect(self._on_remark_pointed)
        out, line = self.finding_out, self.form_line
        line.passage_chosen.connect(out.choose_passage)
        line.statement_chosen.connect(out.choose_statement)
        line.remark_chosen.connect(self._on_bracket_pointed)
        line.going_to.connect(desk.going_to)
        out.overlays_changed.connect(self._show_overlays)
        desk.score_read.connect(self._show_overlays)
        self.hearing.words_changed.connect(self.top_line.show_hearing)
        self.hearing.tempo_told.connect(self.top_line.show_tempo)
        self.hearing.moved.connect(self._on_sounding)
        self.messages.changed.connect(self._on_messages_changed)
        self.top_line.shelf_toggled.connect(lambda: self.doing.do("fold_shelf"))
        self.top_line.do_asked.connect(lambda: self.doing.do("do"))
        self.first_start.bring_in_asked.connect(lambda: self.doing.do("bring_in"))
        self.first_start.sample_asked.connect(lambda: self.doing.do("sample"))
        self.palette_panel.chosen.connect(self.doing.follow)
        for panel in (self.here, self.shelf):
            panel.left.connect(self.focus_score)

    def _take_theme(self) -> None:
        self.setStyleSheet(self.theme.stylesheet())
        self.setPalette(self.theme.palette())
        self.setFont(self.theme.sans(13))
        self._nothing_open.setFont(self.theme.sans(13))

    def _remember_geometry(self) -> None:
        self.resize(1440, 900)
        if (geometry := self.remembered.geometry) is not None:
            self.restoreGeometry(geometry)

    # Receiving

    def expect_piece(self) -> None:
        """A score is on its way: show its page and the panels, so that nothing moves later."""
        self._is_expecting = True
        self.show_middle(self.score_view())
        self.show_panels()

    def _on_pieces_changed(self) -> None:
        if self.bringing.is_shown:
            self.show_panels()
        else:
            self.show_what_there_is()

    def show_what_there_is(self) -> None:
        """Put the open piece into the middle, or what stands there with none open."""
        piece = self.desk.piece
        self._is_expecting = False
        self.setWindowTitle("Postil" if piece is None else f"{piece.title} – Postil")
        if piece is not None:
            was_elsewhere = self.middle.currentWidget() is not self.view or self.view is None
            self.show_middle(self.score_view())
            self.remembered.set_number("desk/piece", piece.id)
            if was_elsewhere:
                self.focus_score()
        else:
            is_first = not self.desk.pieces
            self.show_middle(self.first_start if is_first else self._nothing_open)
            if is_first:
                self.first_start.bring_in.setFocus()
        self.show_panels()

    def show_panels(self) -> None:
        """Panels stand folded on an empty desk, and as the person left them later."""
        is_covered = self.bringing.is_shown
        has_piece = (self.desk.piece is not None or self._is_expecting) and not is_covered
        is_empty = not has_piece and not self.desk.pieces and not is_covered
        is_shelf_folded = is_empty or self.remembered.is_folded("shelf")
        self.shelf.setVisible(not is_shelf_folded)
        is_here_folded = not has_piece or self.remembered.is_folded("here")
        self.here.setVisible(not is_here_folded)
        is_form_folded = not has_piece or self.remembered.is_folded("form")
        self.form_line.setVisible(not is_form_folded)
        self.top_line.show_shelf_folded(is_shelf_folded)
        QTimer.singleShot(0, self, self._place_banners)

    def _on_score_read(self) -> None:
        """Go back to where the person was when this piece was left by closing the window."""
        selection, self.remembered.selection = self.remembered.selection, None
        score, piece = self.desk.score, self.desk.piece
        if selection is None or score is None or piece is None:
            return
        if selection.passage.end.measure_index <= len(score.measures):
            self.desk.select(selection)
            self.desk.going_to.emit(selection.passage.start.measure_index)

    def _on_typing_begun(self, text: str) -> None:
        if text.strip().isdecimal():
            self.palette_panel.open(text.strip())
        elif self.desk.is_read_only:
            self.messages.tell("This notebook can only be read now, so nothing can be written.")
        elif self.desk.piece is not None:
            self.fold("here", False)
            self.here.writing.type(text)

    def _show_overlays(self) -> None:
        if self.view is not None:
            self.view.marking.show_overlays(self.finding_out.overlays)

    def _on_sounding(self, place: Place | None) -> None:
        if self.view is not None:
            self.view.show_sounding(place)

    def _on_bracket_pointed(self, number: int) -> None:
        remark = dict(self.desk.numbered()).get(number)
        if remark is not None:
            self.doing.go_to_remark(remark)

    def _on_remark_pointed(self, remark_id: int) -> None:
        if self.view is not None:
            numbers = {remark.id: number for number, remark in self.desk.numbered()}
            self.view.marking.darken_remark(numbers.get(remark_id))

    def _on_messages_changed(self) -> None:
        self._dismissal.setEnabled(bool(self.messages.shown))
        self._place_banners()

    def _place_banners(self) -> None:
        left = self.middle.mapTo(self, self.middle.rect().topLeft()).x()
        self.banners.place(left, TOP_LINE_HEIGHT, self.middle.width())
