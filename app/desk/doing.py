"""What each action does: the other half of the table in ``actions``."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from app.desk.action_table import ACTIONS
from app.desk.actions import reason_against
from app.desk.palette_search import Kind, Row, passage_of
from app.desk.reading import FORMATS
from app.desk.score_acts import score_acts
from app.desk.selection import Selection, selection_at
from app.edits.piece_edits import RemovePiece
from app.pages.page_acts import page_acts
from app.theme import Choice
from app.tonality.overlays import OverlayKind
from core.notebook.values import AnchorKind, Piece, Remark, RemarkKind
from core.score.formats.converting import SUFFIXES
from core.score.places import Passage
from core.score.score import RawDirection

if TYPE_CHECKING:
    from app.window import MainWindow

FILTER = f"{FORMATS} ({' '.join('*' + suffix for suffix in SUFFIXES)});;All files (*)"


class Doing:
    """Does actions by id, and goes where a row of do… leads.

    Attributes
    ----------
    choose_files, choose_folder : callable
        Ask the person for paths; replaced in tests.
    """

    def __init__(self, window: MainWindow, open_sample: Callable[[], None]) -> None:
        self._window, self._desk = window, window.desk
        self.choose_files: Callable[[], list[str]] = self._ask_for_files
        self.choose_folder: Callable[[], str] = self._ask_for_folder
        theme, desk = window.theme, window.desk
        window.hearing.ask_for_path = self._ask_where_to_write
        self._acts: dict[str, Callable[[], object]] = {
            "bring_in": self._bring_in,
            "bring_in_folder": self._bring_in_folder,
            "stop_reading": desk.stop_reading,
            "brought_in": window.bringing.show,
            "rename_piece": self._rename_piece,
            "remove_piece": self._remove_piece,
            "close_piece": self._close_piece,
            "sample": open_sample,
            "do": lambda: window.palette_panel.open(),
            "write": self._write,
            "write_on_finding": self._write_on_finding,
            "move_remark": self._move_remark,
            "findings": self._go_to_findings,
            "whole_piece": lambda: desk.select(None),
            "undo": self._undo,
            "redo": self._redo,
            "list_measure": window.toggle_measure_list,
            "zoom_in": lambda: window.score_view().zoom_in(),
            "zoom_out": lambda: window.score_view().zoom_out(),
            "zoom_reset": lambda: window.score_view().zoom_reset(),
            "fold_shelf": lambda: window.fold("shelf", window.shelf.isVisible()),
            "fold_here": lambda: window.fold("here", window.here.isVisible()),
            "fold_form": lambda: window.fold("form", window.form_line.isVisible()),
            "play": lambda: window.hearing.toggle(),
            "loop": lambda: window.hearing.loop(),
            "slower": lambda: window.hearing.change_speed(-1),
            "faster": lambda: window.hearing.change_speed(1),
            "hand": lambda: window.hearing.next_hand(),
            "export_wav": lambda: window.hearing.export(".wav"),
            "export_midi": lambda: window.hearing.export(".mid"),
            "next_port": lambda: window.hearing.next_port(),
            "show_keys": lambda: self._switch_overlay(OverlayKind.KEYS),
            "show_bent": lambda: self._switch_overlay(OverlayKind.BENT),
            "show_letters": lambda: self._switch_overlay(OverlayKind.LETTERS),
            "show_glosses": lambda: window.score_view().marking.switch_glosses(),
            "next_pane": lambda: self._step_pane(1),
            "previous_pane": lambda: self._step_pane(-1),
            "light": lambda: theme.choose(Choice.LIGHT),
            "dark": lambda: theme.choose(Choice.DARK),
            "as_platform": lambda: theme.choose(Choice.SYSTEM),
            "white_page": lambda: theme.keep_page_white(not theme.keeps_page_white),
            "full_screen": self._full_screen,
            "quit": window.close,
            **page_acts(window),
            **score_acts(window),
        }
        for number, kind in enumerate(RemarkKind, start=1):
            self._acts[f"kind_{number}"] = partial(self._take_kind, kind)

    def _switch_overlay(self, kind: OverlayKind) -> None:
        out = self._window.finding_out
        out.put_away(kind, kind in out.shown_kinds)

    def _ask_where_to_write(self, title: str, suffix: str) -> str:
        piece = self._desk.piece
        name = (piece.title if piece else "passage") + suffix
        return QFileDialog.getSaveFileName(self._window, title, name, f"*{suffix}")[0]

    def do(self, action_id: str) -> None:
        """Do it, or say why not."""
        action = next(action for action in ACTIONS if action.id == action_id)
        reason = reason_against(action, self._desk)
        if reason:
            self._window.messages.tell(f"{action.name}: not now, {reason}.")
        else:
            self._acts[action_id]()

    def follow(self, row: Row) -> None:
        """Go where a row of do… leads, or do it."""
        match row.kind, row.target:
            case Kind.DO, ("write", str(text)):
                self._write()
                self._window.here.writing.type(text)
            case Kind.DO, str(action_id):
                self.do(action_id)
            case _, Passage() as passage:
                self._desk.select(Selection(kind=AnchorKind.PASSAGE, passage=passage))
                self._desk.going_to.emit(passage.start.measure_index)
                self._window.focus_score()
            case _, Piece() as piece:
                self._desk.open_piece(piece.id)
            case _, Remark() as remark:
                self.go_to_remark(remark)
            case _, RawDirection() as direction:
                self._go_to_direction(direction)

    def go_to_remark(self, remark: Remark) -> None:
        """Select where a remark hangs and give it the keyboard."""
        window, anchor = self._window, remark.anchor
        self._desk.select(selection_at(anchor))
        if anchor.passage is not None:
            self._desk.going_to.emit(anchor.passage.start.measure_index)
        window.fold("here", False)
        window.here.refresh()
        window.here.focus_remark(remark.id)

    def _go_to_direction(self, direction: RawDirection) -> None:
        self._desk.select(
            Selection(
                kind=AnchorKind.DIRECTION,
                passage=passage_of(self._desk, direction),
                element_id=direction.id,
            )
        )
        self._desk.going_to.emit(direction.measure_index)
        self._window.focus_score()

    def _bring_in(self) -> None:
        paths = [Path(path) for path in self.choose_files()]
        if paths:
            self._window.remembered.folder = str(paths[0].parent)
            self._desk.bring_in(paths)

    def _bring_in_folder(self) -> None:
        if folder := self.choose_folder():
            self._window.remembered.folder = folder
            self._desk.bring_in([Path(folder)])

    def _ask_for_files(self) -> list[str]:
        folder = self._window.remembered.folder
        return QFileDialog.getOpenFileNames(self._window, "Bring scores in", folder, FILTER)[0]

    def _ask_for_folder(self) -> str:
        folder = self._window.remembered.folder
        return QFileDialog.getExistingDirectory(self._window, "Bring scores in", folder)

    def _rename_piece(self) -> None:
        self._window.fold("shelf", False)
        self._window.shelf.rename_current()

    def _remove_piece(self) -> None:
        if self._desk.piece is not None and self._window.here.finish():
            RemovePiece(self._desk, self._desk.piece).push()

    def _close_piece(self) -> None:
        if self._window.here.finish():
            self._desk.close_piece()

    def _write(self) -> None:
        self._window.fold("here", False)
        self._window.here.writing.field.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _write_on_finding(self) -> None:
        if not self._window.here.write_on_finding():
            self._window.messages.tell("Write on the finding: choose a finding first, with Tab.")

    def _move_remark(self) -> None:
        self._window.fold("here", False)
        if not self._window.here.move_remark_here():
            self._window.messages.tell(
                "Move the remark: go to a remark first, then choose its new place."
            )

    def _go_to_findings(self) -> None:
        self._window.fold("here", False)
        if not self._window.here.focus_findings():
            self._window.messages.tell("Go to the findings: nothing is found here.")

    def _take_kind(self, kind: RemarkKind) -> None:
        self._window.fold("here", False)
        self._window.here.take_kind(kind)

    def _undo(self) -> None:
        if self._window.here.finish():
            self._desk.undo_stack.undo()

    def _redo(self) -> None:
        if self._window.here.finish():
            self._desk.undo_stack.redo()

    def _full_screen(self) -> None:
        window = self._window
        if window.isFullScreen():
            window.showNormal()
        else:
            window.showFullScreen()

    def _step_pane(self, step: int) -> None:
        window = self._window
        panes: list[tuple[QWidget, QWidget]] = [
            (window.shelf, window.shelf.list),
            (window.middle, window.shown()),
            (window.here, window.here.writing.field),
            (window.form_line, window.form_line),
        ]
        shown = [pane for pane in panes if pane[0].isVisible()]
        focused = QApplication.focusWidget()
        at = next(
            (
                number
                for number, (pane, _) in enumerate(shown)
                if focused is not None and (pane is focused or pane.isAncestorOf(focused))
            ),
            0,
        )
        shown[(at + step) % len(shown)][1].setFocus(Qt.FocusReason.TabFocusReason)
