"""What is selected: the current place, and what a remark written now would hang on."""

from __future__ import annotations

from dataclasses import dataclass

from core.notebook.values import AnchorKind
from core.score.places import Passage


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """A note, a place, a passage or a direction of the open score.

    Parameters
    ----------
    kind : AnchorKind
        Never ``PIECE``: nothing selected is None instead.
    passage : Passage
        A point for a note, a place, a direction.
    element_id : str or None
        Id of the note or direction in the canonical score.
    """

    kind: AnchorKind
    passage: Passage
    element_id: str | None = None
