"""Typing that is kept as it is typed: one sitting at one remark.

Words are kept after half a second of quiet, and at most a second after they were typed. All that
is kept in one sitting is one step to undo and one earlier wording.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from app.edits.remark_edits import (
    ChangeRemarkKind,
    MoveRemark,
    RemoveRemark,
    RewordRemark,
    WriteRemark,
)
from core.notebook.values import Anchor, Remark, RemarkKind

if TYPE_CHECKING:
    from app.desk.desk_model import DeskModel

QUIET_MS = 500
AT_MOST_MS = 1000


class Sitting(QObject):
    """One field's typing, from the first letter to Enter, Escape or another place.

    Parameters
    ----------
    desk : DeskModel
    remark : Remark, optional
        The one that is reworded; without it the first words make a new one.
    place : (int, Anchor), optional
        The piece's id and what the new remark hangs on; the current place without it.

    Attributes
    ----------
    remark_id : int or None
        The remark that is written on; None while nothing is kept yet.
    kind : RemarkKind or None
        What the remark is, or will be.
    """

    changed = Signal()
    """Something was kept, or the kind is another."""

    def __init__(
        self,
        desk: DeskModel,
        remark: Remark | None = None,
        parent: QObject | None = None,
        *,
        place: tuple[int, Anchor] | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk = desk
        self._token = object()
        self._remark_given = remark
        self._was_there = remark is not None
        self._kept = remark.body if remark else ""
        self._text = self._kept
        self._place = place
        self.remark_id = remark.id if remark else None
        self.kind = remark.kind if remark else None
        self._quiet = self._timer(QUIET_MS)
        self._at_most = self._timer(AT_MOST_MS)

    @property
    def piece_id(self) -> int | None:
        """The piece that is written about; None before the first letter."""
        if self._remark_given is not None:
            return self._remark_given.piece_id
        return None if self._place is None else self._place[0]

    @property
    def anchor(self) -> Anchor | None:
        """What the remark hangs on, or will; None before the first letter."""
        remark = self._remark()
        if remark is not None:
            return remark.anchor
        return None if self._place is None else self._place[1]

    @property
    def is_begun(self) -> bool:
        """Whether there are words."""
        return bool(self._text.strip())

    @property
    def is_kept(self) -> bool:
        """Whether the words stand in the notebook as they stand in the field."""
        return self._text == self._kept

    def type(self, text: str) -> None:
        """Take the field's whole text after a change of it."""
        if text == self._text:
            return
        self._text = text
        if self._place is None and self.remark_id is None:
            self._place = self._desk.place_to_write()
        self._quiet.start()
        if not self._at_most.isActive():
            self._at_most.start()

    def take_kind(self, kind: RemarkKind | None) -> None:
        """Make it of another kind, now where it is kept, else when it will be."""
        if kind is self.kind:
            return
        remark = self._remark()
        if remark is None or ChangeRemarkKind(self._desk, remark, kind).push():
            self.kind = kind
            self.changed.emit()

    def take_anchor(self, anchor: Anchor) -> None:
        """Hang it on something else, now where it is kept, else when it will be."""
        remark = self._remark()
        if self._place is None or anchor == self.anchor:
            return
        if remark is None or MoveRemark(self._desk, remark, anchor).push():
            self._place = self._place[0], anchor
            self.changed.emit()

    def keep(self) -> bool:
        """Keep what was typed, now; whether it stands in the notebook."""
        self._quiet.stop()
        self._at_most.stop()
        if not self.is_begun or self.is_kept:
            return self.is_kept
        text = self._text
        is_kept = self._write(text) if self.remark_id is None else self._reword(text)
        if is_kept:
            self._kept = text
        self.changed.emit()
        return is_kept

    def end(self) -> bool:
        """Keep the rest; a remark whose words were all deleted is removed. Whether it is safe."""
        if self.is_begun:
            return self.keep()
        self._quiet.stop()
        self._at_most.stop()
        if self.remark_id is not None and self._remark() is not None:
            return RemoveRemark(self._desk, self.remark_id).push()
        return True

    def _write(self, text: str) -> bool:
        if self._place is None:
            return False
        piece_id, anchor = self._place
        edit = WriteRemark(
            self._desk,
            piece_id=piece_id,
            body=text,
            kind=self.kind,
            anchor=anchor,
            sitting=self._token,
        )
        # Views read the notebook again inside of push, and ask what is being written.
        self._desk.undo_stack.push(edit)
        if edit.remark is None:
            return False
        self.remark_id = edit.remark.id
        return True

    def _reword(self, text: str) -> bool:
        assert self.remark_id is not None
        is_kept = RewordRemark(
            self._desk,
            self.remark_id,
            text,
            sitting=self._token,
            begins_sitting=self._was_there,
        ).push()
        if is_kept:
            self._was_there = False
        return is_kept

    def _remark(self) -> Remark | None:
        return next((r for r in self._desk.remarks if r.id == self.remark_id), None)

    def _timer(self, interval_ms: int) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(interval_ms)
        timer.timeout.connect(self.keep)
        return timer
