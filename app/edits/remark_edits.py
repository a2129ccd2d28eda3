"""Edits of remarks. What is typed in one sitting is one step to undo."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimeZone
from PySide6.QtGui import QUndoCommand

from app.edits.edit import TYPING_ID, Edit
from core.notebook import remarks as notebook
from core.notebook.values import Anchor, Remark, RemarkKind

if TYPE_CHECKING:
    from app.desk.desk_model import DeskModel


class WriteRemark(Edit):
    """A new remark; what is typed on in the same sitting becomes part of it.

    Attributes
    ----------
    remark : Remark or None
        As it was kept; None where keeping failed.
    """

    def __init__(
        self,
        desk: DeskModel,
        *,
        piece_id: int,
        body: str,
        kind: RemarkKind | None,
        anchor: Anchor,
        sitting: object,
    ) -> None:
        super().__init__(desk, "writing a remark")
        self.remark: Remark | None = None
        self.sitting = sitting
        self._piece_id, self._body, self._kind, self._anchor = piece_id, body, kind, anchor
        self._removed: notebook.RemovedRemark | None = None

    def id(self) -> int:
        return TYPING_ID

    def mergeWith(self, other: QUndoCommand) -> bool:
        return (
            isinstance(other, RewordRemark)
            and not other.has_failed
            and other.sitting is self.sitting
        )

    def do(self) -> None:
        if self._removed is not None:
            self.remark = notebook.restore_remark(self.desk.store, self._removed)
        else:
            self.remark = notebook.write_remark(
                self.desk.store,
                piece_id=self._piece_id,
                body=self._body,
                kind=self._kind,
                anchor=self._anchor,
                now=now(),
                zone=zone(),
            )
        self.desk.reload_remarks()

    def take_back(self) -> None:
        if self.remark is not None:
            self._removed = notebook.remove_remark(self.desk.store, self.remark.id)
            self.desk.reload_remarks()


class RewordRemark(Edit):
    """Other words for a remark.

    Parameters
    ----------
    sitting : object
        The same object for all changes of one sitting.
    begins_sitting : bool
        Whether the wording before is kept as a version.
    """

    def __init__(
        self, desk: DeskModel, remark_id: int, body: str, *, sitting: object, begins_sitting: bool
    ) -> None:
        super().__init__(desk, "rewording a remark")
        self.sitting = sitting
        self._remark_id, self._body, self._begins_sitting = remark_id, body, begins_sitting
        self._reworded: notebook.RewordedRemark | None = None

    def id(self) -> int:
        return TYPING_ID

    def mergeWith(self, other: QUndoCommand) -> bool:
        if not isinstance(other, RewordRemark) or other.sitting is not self.sitting:
            return False
        if other.has_failed or self._reworded is None or other._reworded is None:
            return False
        self._body = other._body
        self._reworded = notebook.RewordedRemark(
            earlier=self._reworded.earlier, remark=other._reworded.remark
        )
        return True

    def do(self) -> None:
        self._reworded = notebook.reword_remark(
            self.desk.store,
            self._remark_id,
            self._body,
            now(),
            begins_sitting=self._begins_sitting,
        )
        self.desk.reload_remarks()

    def take_back(self) -> None:
        if self._reworded is not None:
            notebook.restore_wording(self.desk.store, self._reworded)
            self.desk.reload_remarks()


class ChangeRemarkKind(Edit):
    """Another kind for a remark, or none."""

    def __init__(self, desk: DeskModel, remark: Remark, kind: RemarkKind | None) -> None:
        super().__init__(desk, "changing what a remark is")
        self._remark_id, self._before, self._after = remark.id, remark.kind, kind

    def do(self) -> None:
        notebook.change_kind(self.desk.store, self._remark_id, self._after)
        self.desk.reload_remarks()

    def take_back(self) -> None:
        notebook.change_kind(self.desk.store, self._remark_id, self._before)
        self.desk.reload_remarks()


class MoveRemark(Edit):
    """Another place for a remark."""

    def __init__(self, desk: DeskModel, remark: Remark, anchor: Anchor) -> None:
        super().__init__(desk, "moving a remark")
        self._remark_id, self._before, self._after = remark.id, remark.anchor, anchor

    def do(self) -> None:
        notebook.move_remark(self.desk.store, self._remark_id, self._after)
        self.desk.reload_remarks()

    def take_back(self) -> None:
        notebook.move_remark(self.desk.store, self._remark_id, self._before)
        self.desk.reload_remarks()


class RemoveRemark(Edit):
    """Take a remark away."""

    def __init__(self, desk: DeskModel, remark_id: int) -> None:
        super().__init__(desk, "removing a remark")
        self._remark_id = remark_id
        self._removed: notebook.RemovedRemark | None = None

    def do(self) -> None:
        self._removed = notebook.remove_remark(self.desk.store, self._remark_id)
        self.desk.reload_remarks()

    def take_back(self) -> None:
        if self._removed is not None:
            notebook.restore_remark(self.desk.store, self._removed)
            self.desk.reload_remarks()


def now() -> datetime:
    """The moment, aware."""
    return datetime.now(UTC)


def zone() -> str:
    """IANA name of the zone of this machine's clock."""
    return bytes(QTimeZone.systemTimeZoneId().data()).decode("ascii", "replace") or "UTC"
