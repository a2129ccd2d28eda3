"""What is selected: the current place, and what a remark written now would hang on."""

from __future__ import annotations

from dataclasses import dataclass

from core.notebook.values import Anchor, AnchorKind
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


def selection_at(anchor: Anchor) -> Selection | None:
    """Where an anchor hangs, as a selection; None for the whole piece.

    A section, a statement and a finding are selected as the passage that they hold over.
    """
    passage = anchor.passage
    if passage is None:
        return None
    kind = anchor.kind
    if kind in _OVER_A_PASSAGE:
        kind = AnchorKind.PLACE if passage.is_point else AnchorKind.PASSAGE
    return Selection(kind=kind, passage=passage, element_id=anchor.element_id)


_OVER_A_PASSAGE = frozenset({AnchorKind.SECTION, AnchorKind.STATEMENT, AnchorKind.FINDING})
