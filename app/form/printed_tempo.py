"""How long a piece lasts by its printed metronome marks.

Conventions: a mark is written out as the reader of scores does it ("dotted quarter = 46"). It
holds from its measure on, until the next one. Words such as *rit.* say nothing in numbers, and
are left out of the account.
"""

from __future__ import annotations

from collections.abc import Sequence

from app.form.played_time import PlayedTime
from core.score.score import RawDirection
from core.takes.tempo import marked_qpm


def duration_seconds(directions: Sequence[RawDirection], time: PlayedTime) -> float | None:
    """How long the piece lasts as played; None unless a tempo is printed at its start."""
    marks = {
        direction.measure_index: qpm
        for direction in directions
        if (qpm := marked_qpm(direction.text)) is not None
    }
    if 0 not in marks and 1 in marks and time.lengths and time.lengths[0] < time.lengths[-1]:
        # Over a pickup a mark is often printed at the first full measure.
        marks[0] = marks[1]
    if 0 not in marks:
        return None
    in_force, qpm = [], marks[0]
    for index in range(len(time.lengths)):
        qpm = marks.get(index, qpm)
        in_force.append(qpm)
    return sum(60 * time.lengths[index] / in_force[index] for index in time.order)


def duration_words(seconds: float) -> str:
    """Hours, minutes and seconds, the two largest that there are.

    Examples
    --------
    >>> duration_words(75.6), duration_words(59.7), duration_words(3720)
    ('1 min 16 s', '1 min', '1 h 2 min')
    """
    whole = round(seconds)
    hours, minutes, rest = whole // 3600, whole % 3600 // 60, whole % 60
    parts = [(hours, "h"), (minutes, "min"), (rest, "s")]
    while len(parts) > 1 and not parts[0][0]:
        parts.pop(0)
    shown = [f"{number} {unit}" for number, unit in parts[:2] if number]
    return " ".join(shown) or "0 s"
