"""Edits of judgements: a person's word on what was computed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from app.edits.edit import Edit
from app.edits.remark_edits import now, zone
from core.notebook import judgements as notebook
from core.notebook.values import JudgedValue, Judgement, Ruling
from core.score.findings import Finding

if TYPE_CHECKING:
    from app.desk.desk_model import DeskModel


class _JudgeFinding(Edit):
    """A word on a finding, in place of an earlier one where there is one.

    Parameters
    ----------
    finding : Finding or None
        As computed; None to say something else where no finding answers any more.
    earlier : Judgement or None
        What the finding carries already.
    changed : callable
        Called whenever the notebook's judgements are others.
    """

    ruling: Ruling

    def __init__(
        self,
        desk: DeskModel,
        text: str,
        *,
        finding: Finding[Any] | None,
        earlier: Judgement | None,
        changed: Callable[[], None],
        own_value: JudgedValue | None = None,
    ) -> None:
        super().__init__(desk, text)
        self._finding, self._earlier, self._own_value = finding, earlier, own_value
        self._changed = changed
        self._piece_id = 0 if desk.piece is None else desk.piece.id
        self._sha256 = "" if desk.edition is None else desk.edition.score_sha256
        self._judged: notebook.Judged | None = None

    def do(self) -> None:
        store = self.desk.store
        if self._judged is not None:
            notebook.judge_again(store, self._judged)
        elif self._finding is not None:
            self._judged = notebook.judge(
                store,
                piece_id=self._piece_id,
                finding=self._finding,
                score_sha256=self._sha256,
                ruling=self.ruling,
                own_value=self._own_value,
                now=now(),
                zone=zone(),
                replaces=None if self._earlier is None else self._earlier.id,
            )
        elif self._earlier is not None:
            self._judged = notebook.change_judgement(
                store,
                self._earlier.id,
                ruling=self.ruling,
                own_value=self._own_value,
                now=now(),
            )
        self._changed()

    def take_back(self) -> None:
        if self._judged is not None:
            notebook.take_back(self.desk.store, self._judged)
            self._changed()


class ConfirmFinding(_JudgeFinding):
    """The person says so too."""

    ruling = Ruling.CONFIRMED

    def __init__(
        self,
        desk: DeskModel,
        finding: Finding[Any] | None,
        earlier: Judgement | None,
        changed: Callable[[], None],
    ) -> None:
        super().__init__(
            desk, "confirming a finding", finding=finding, earlier=earlier, changed=changed
        )


class OverruleFinding(_JudgeFinding):
    """The person says that it is not so, and maybe what it is instead."""

    ruling = Ruling.OVERRULED

    def __init__(
        self,
        desk: DeskModel,
        finding: Finding[Any] | None,
        earlier: Judgement | None,
        changed: Callable[[], None],
        *,
        own_value: JudgedValue | None,
    ) -> None:
        super().__init__(
            desk,
            "overruling a finding",
            finding=finding,
            earlier=earlier,
            changed=changed,
            own_value=own_value,
        )


class WithdrawJudgement(Edit):
    """Take a word on a finding back; the finding stands as computed."""

    def __init__(self, desk: DeskModel, judgement: Judgement, changed: Callable[[], None]) -> None:
        super().__init__(desk, "withdrawing a judgement")
        self._judgement, self._changed = judgement, changed

    def do(self) -> None:
        self._judgement = notebook.withdraw(self.desk.store, self._judgement.id)
        self._changed()

    def take_back(self) -> None:
        notebook.restore(self.desk.store, self._judgement)
        self._changed()
