"""In what order grace notes follow one another.

The note table orders notes of one onset by pitch, so the order of a slide is asked of the
canonical form, where every note has its id and stands in the order of the file.
"""

from __future__ import annotations

from collections.abc import Sequence

from core.score.score import Score

_A_NOTE_BYTES = 2000
"""A note of the file is seldom longer; its ``<chord/>`` comes first."""


def grace_groups(score: Score, rows: Sequence[int]) -> list[list[int]]:
    """Rows of grace notes before one chord, in the order of the file; chords stay together.

    Parameters
    ----------
    rows : sequence of int, of the note table

    Returns
    -------
    list of list of int
        One group a moment; the rows of a group are struck together.
    """
    placed = sorted((_position(score, score.notes.ids[row]), row) for row in rows)
    groups: list[list[int]] = []
    for position, row in placed:
        if groups and _is_in_chord(score.canonical, position):
            groups[-1].append(row)
        else:
            groups.append([row])
    return groups


def _position(score: Score, note_id: str) -> int:
    return score.canonical.find(f'id="{note_id}"'.encode())


def _is_in_chord(canonical: bytes, position: int) -> bool:
    if position < 0:
        return False
    end = canonical.find(b"</note>", position, position + _A_NOTE_BYTES)
    return canonical.find(b"<chord", position, end) >= 0
