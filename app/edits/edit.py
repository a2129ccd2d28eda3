"""What every undoable act shares: one call of the notebook each way, and no error unseen.

An exception in ``redo`` would come out of ``push`` and leave the failed edit on the stack, so it
is caught here: the edit makes itself obsolete, and the error goes to the desk's ``notice``.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtGui import QUndoCommand

if TYPE_CHECKING:
    from app.desk.desk_model import DeskModel

TYPING_ID = 1
"""``QUndoCommand.id`` of the edits that typing may merge."""


class Edit(QUndoCommand):
    """A do/undo pair on the notebook.

    Parameters
    ----------
    desk : DeskModel
    text : str
        What undoing takes back, for the menu and for screen readers ("writing a remark").
    """

    def __init__(self, desk: DeskModel, text: str) -> None:
        super().__init__(text)
        self.desk = desk
        self.has_failed = False

    def push(self) -> bool:
        """Do it and put it on the desk's undo stack; whether it went well."""
        self.desk.undo_stack.push(self)
        return not self.has_failed

    def redo(self) -> None:
        self._guarded(self.do)

    def undo(self) -> None:
        self._guarded(self.take_back)

    def do(self) -> None:
        """Do it, or do it again."""
        raise NotImplementedError

    def take_back(self) -> None:
        """Undo it."""
        raise NotImplementedError

    def _guarded(self, act: Callable[[], None]) -> None:
        try:
            act()
        except Exception as error:  # noqa: BLE001 - Qt would leave the failed edit on the stack
            self.has_failed = True
            self.setObsolete(True)
            self.desk.notice.emit(error)
