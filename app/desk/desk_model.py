"""The desk without widgets: which piece is open, what is selected, what is written there.

Every view of the window listens here. A signal says that something changed; the views then read
the attributes anew. Files, the notebook's bytes and scores are read off the window's thread, so
``bring_in`` and ``open_piece`` return at once and ``piece_opened`` follows, then ``score_read``.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoStack

from app.bringing.bringing_in import BringingIn
from app.desk import place_names, reading
from app.desk.background import Background
from app.desk.selection import Selection
from app.desk.turns import Turns
from core.errors import PostilError
from core.notebook.anchors import anchor_at_statement, anchor_for, begins_in
from core.notebook.remarks import remarks_here
from core.notebook.values import Anchor, AnchorKind, Edition, Piece, Remark
from core.score.places import Passage

if TYPE_CHECKING:
    from core.notebook.ports import NotebookStore
    from core.score.score import Score
    from core.score.statements import Statement

    _Shelf = tuple[int, tuple[Piece, ...]]
    """How often the shelf had been reloaded when it was fetched, and its pieces."""


class DeskModel(QObject):
    """What is current in one window.

    Parameters
    ----------
    store : NotebookStore
        Not closed here.
    read : callable, optional
        Reads a score's file, off the window's thread; ``core.score.reading`` by default.

    Attributes
    ----------
    pieces : tuple of Piece
        The shelf, the one opened last first.
    piece, edition, canonical, score :
        The open piece; None (``canonical``: empty) with none open. ``score`` stays None until
        ``score_read``.
    remarks : tuple of Remark
        Of the open piece, the newest first.
    selection : Selection or None
        The current place; None is the whole piece.
    statement : Statement or None
        Which sounding of the current place is meant; None for all of them.
    undo_stack : QUndoStack
        Every change of the notebook goes over it.
    bringing : BringingIn
        How scores come in.
    turns : Turns
        For what may wait its turn.
    """

    pieces_changed = Signal()
    looked_at = Signal(object)
    """A score that is being brought in can be shown already: its ``FirstLook``."""
    piece_opened = Signal()
    """Another piece is current, or none (``piece`` is None then)."""
    piece_asked_for = Signal()
    """The open piece was asked for again: whoever covers it makes way."""
    score_read = Signal()
    selection_changed = Signal()
    statement_changed = Signal()
    """Another statement of the current place is meant, or none in particular."""
    remarks_changed = Signal()
    typing_begun = Signal(str)
    """The person began to type with the score focused; the text belongs to the margin, or to
    the palette where it is a number."""
    going_to = Signal(int)
    notice = Signal(object)
    """An exception, or a sentence, for the window's one exit for errors."""
    remark_pointed = Signal(int)
    """The pointer rests on this remark, in the margin or in the score; 0 on none."""
    busy_changed = Signal(str)
    """What is being done ("Reading barcarolle.musicxml"); empty when nothing is."""

    def __init__(
        self,
        store: NotebookStore,
        parent: QObject | None = None,
        *,
        read: reading.Reader | None = None,
    ) -> None:
        super().__init__(parent)
        self.store = store
        self.undo_stack = QUndoStack(self)
        self.turns = Turns(self)
        self.pieces: tuple[Piece, ...] = ()
        self.piece: Piece | None = None
        self.edition: Edition | None = None
        self.canonical = b""
        self.score: Score | None = None
        self.remarks: tuple[Remark, ...] = ()
        self.selection: Selection | None = None
        self.statement: Statement | None = None
        self.remark_pointed_at = 0
        self._background = Background(self._on_failed, self)
        self._errands = self._reloads = 0
        self.bringing = BringingIn(store, self._background, read or reading.read_file, self)
        self.bringing.errand_begun.connect(self._begin)
        self.bringing.errand_ended.connect(self._end)
        self.bringing.opened.connect(self._show)
        self.bringing.noticed.connect(self.notice)
        self.bringing.kept.connect(self.fetch_pieces)

    @property
    def is_read_only(self) -> bool:
        """Whether nothing can be kept in this notebook now."""
        return self.store.is_read_only

    @property
    def is_reading(self) -> bool:
        """Whether files are being read, which can be stopped."""
        return self.bringing.is_reading

    # Pieces

    def bring_in(self, paths: Iterable[Path | str]) -> None:
        """Read a score into the notebook and open it; several, as ``bringing`` says.

        What can't be read goes to ``notice``; of several files, it is listed in their batch.
        """
        self.bringing.bring_in(paths)

    def stop_reading(self) -> None:
        """Read no further file; what is read already stays."""
        self.bringing.stop()

    def open_piece(self, piece_id: int) -> None:
        """Make a piece current."""
        if self.piece is not None and self.piece.id == piece_id:
            self.piece_asked_for.emit()
            return
        self._begin("Opening")
        self._background.run(lambda: self._fetch(piece_id), self._on_opened)

    def close_piece(self) -> None:
        """Clear the desk."""
        self._show(None)

    def reload_pieces(self) -> None:
        """Read the shelf again, after a change of the notebook."""
        self._reloads += 1
        self._take_pieces(reading.pieces_of(self.store))

    def fetch_pieces(self) -> None:
        """As ``reload_pieces``, off the window's thread."""
        self._background.run(self._fetch_shelf, self._on_shelf)

    def _take_pieces(self, pieces: tuple[Piece, ...]) -> None:
        self.pieces = pieces
        if self.piece is not None:
            known = {piece.id: piece for piece in self.pieces}
            if self.piece.id not in known:
                self._show(None)
            else:
                self.piece = known[self.piece.id]
        self.pieces_changed.emit()

    def reload_remarks(self) -> None:
        """Read the open piece's remarks again, after a change of the notebook."""
        if self.piece is None:
            return
        with self.store.unit_of_work() as work:
            self.remarks = work.remarks.of_piece(self.piece.id)
        self.remarks_changed.emit()

    # Where a remark hangs

    def place_to_write(self) -> tuple[int, Anchor] | None:
        """The open piece's id and what a remark written now hangs on; None with none open."""
        if self.piece is None or self.edition is None:
            return None
        selection = self.selection
        if selection is None:
            return self.piece.id, Anchor(kind=AnchorKind.PIECE)
        statement, passage = self.statement, selection.passage
        if statement is not None and self.score is not None and begins_in(statement, passage):
            return self.piece.id, anchor_at_statement(self.score, statement, passage)
        if self.score is None:
            # The score is being read; its places are known, only the fingerprint is not.
            sha256 = self.edition.score_sha256
            anchor = Anchor(
                kind=selection.kind,
                score_sha256=sha256,
                passage=selection.passage,
                element_id=selection.element_id,
            )
            return self.piece.id, anchor
        anchor = anchor_for(
            self.score, selection.passage, element_id=selection.element_id, kind=selection.kind
        )
        return self.piece.id, anchor

    def remarks_here(self) -> tuple[Remark, ...]:
        """The remarks that speak of the current place; all of them with nothing selected."""
        passage = None if self.selection is None else self.selection.passage
        if self.score is None:
            return self.remarks if passage is None else ()
        return remarks_here(self.remarks, passage, self.score, statement=self.statement)

    def point_at_remark(self, remark_id: int) -> None:
        """The pointer rests on a remark or its bracket; 0 when it left."""
        if remark_id != self.remark_pointed_at:
            self.remark_pointed_at = remark_id
            self.remark_pointed.emit(remark_id)

    # The current place

    def select(self, selection: Selection | None, statement: Statement | None = None) -> None:
        """Make a place current; None is the whole piece.

        A statement is only named where the person chose one of several; otherwise every
        statement of these measures is meant.
        """
        is_other_place = selection != self.selection
        is_other_statement = statement != self.statement
        self.selection, self.statement = selection, statement
        if is_other_statement:
            self.statement_changed.emit()
        if is_other_place:
            self.selection_changed.emit()

    def select_measures(self, first: int, last: int) -> None:
        """Select whole measures by index, both included, in either order."""
        first, last = min(first, last), max(first, last)
        passage = Passage.of_measures(first, last)
        self.select(Selection(kind=AnchorKind.PASSAGE, passage=passage))

    def go_to(self, measure_index: int) -> None:
        """Select a measure and bring it into sight."""
        self.select_measures(measure_index, measure_index)
        self.going_to.emit(measure_index)

    def measure_index_of_number(self, text: str) -> int | None:
        """Index of the first measure with this printed number; None where there is none."""
        if self.score is None:
            return None
        return place_names.measure_index_of_number(self.score, text)

    def where(self) -> str:
        """The current place in words; "the whole piece" with nothing selected."""
        if self.piece is None:
            return ""
        if self.selection is None:
            return "the whole piece"
        return self.name_of(self.selection.passage)

    def name_of(self, passage: Passage | None) -> str:
        """A passage of the open piece in words; None is the whole piece."""
        if passage is None:
            return "the whole piece"
        if self.score is None:
            return f"measure [{passage.start.measure_index + 1}]"
        return place_names.passage_name(self.score, passage)

    def numbered(self, remarks: Iterable[Remark] | None = None) -> tuple[tuple[int, Remark], ...]:
        """Remarks that hang on a place in this edition, numbered from 1 in order of place.

        Those of the open piece unless others are given; older first at one place.
        """
        sha256 = None if self.edition is None else self.edition.score_sha256
        placed = [
            (remark.anchor.passage.start.moment, remark.anchor.passage.end.moment, remark)
            for remark in (self.remarks if remarks is None else remarks)
            if remark.anchor.passage is not None and remark.anchor.score_sha256 == sha256
        ]
        placed.sort(key=lambda entry: (entry[0], entry[1], entry[2].created_at, entry[2].id))
        return tuple((number, entry[2]) for number, entry in enumerate(placed, start=1))

    def shut_down(self) -> None:
        """Let the thread end; call before the store is closed."""
        self.turns.clear()
        self.bringing.shut_down()
        self._background.shut_down()

    # Off the window's thread

    def _fetch(self, piece_id: int) -> tuple[reading.Opened, _Shelf]:
        return reading.fetch(self.store, piece_id, _now()), self._fetch_shelf()

    def _fetch_shelf(self) -> _Shelf:
        return self._reloads, reading.pieces_of(self.store)

    # Back on it

    def _on_opened(self, fetched: tuple[reading.Opened, _Shelf]) -> None:
        opened, shelf = fetched
        self._end()
        self._show(opened)
        self._on_shelf(shelf)

    def _on_shelf(self, shelf: _Shelf) -> None:
        reloads, pieces = shelf
        if reloads == self._reloads:
            self._take_pieces(pieces)
            return
        # It changed while it was on its way here.
        try:
            self.reload_pieces()
        except PostilError as error:
            self.notice.emit(error)

    def _on_score_read(self, read: tuple[reading.Opened, Score]) -> None:
        opened, score = read
        if self.edition is not None and self.edition.id == opened.edition.id:
            self.score = score
            self.score_read.emit()
            self.selection_changed.emit()

    def _on_failed(self, error: BaseException) -> None:
        self._end()
        self.notice.emit(error)

    def _show(self, opened: reading.Opened | None) -> None:
        self.piece = None if opened is None else opened.piece
        self.edition = None if opened is None else opened.edition
        self.canonical = b"" if opened is None else opened.canonical
        self.score = None
        self.remarks = () if opened is None else opened.remarks
        self.selection = self.statement = None
        self.piece_opened.emit()
        self.selection_changed.emit()
        self.remarks_changed.emit()
        if opened is None:
            return
        score = opened.score
        if score is not None:
            # The page is on its way; what hangs on the notes may follow it.
            self.turns.soon(lambda: self._on_score_read((opened, score)))
        else:
            self._background.run(
                lambda: (opened, reading.read_canonical(opened)), self._on_score_read
            )

    def _begin(self, what: str) -> None:
        self._errands += 1
        self.busy_changed.emit(what)

    def _end(self) -> None:
        self._errands = max(0, self._errands - 1)
        if not self._errands:
            self.busy_changed.emit("")


def _now() -> datetime:
    return datetime.now(UTC)
