"""How strongly each note is struck, from the printed dynamics.

Conventions: a MIDI key velocity, 1 to 127. A mark holds for all staves of its part from its onset
to the next mark, but for a staff that has a mark of its own at that onset. Hairpins lead in a
straight line to the mark at their end, or one step (``STEP``) up or down where none stands.
*Cresc.* and *dim.* in words are left out: where they end is not printed.

Source: the velocities are common practice of notation software, 16 a step about mf = 80. MIDI 1.0
asks for 64 from an instrument that can't tell, and gives no table.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.score.score import Part, RawDirection, Score

VELOCITIES = {
    "pppp": 10, "ppp": 16, "pp": 33, "p": 49, "mp": 64, "mf": 80, "f": 96, "ff": 112, "fff": 122,
    "ffff": 127,
}  # fmt: skip
ACCENTS = {"sf", "sfz", "sffz", "fz", "rf", "rfz", "sfp", "sfpp", "fp"}
ENDS_SOFT = {"sfp": "p", "sfpp": "pp", "fp": "p"}
"""What is in force after the accented chord."""
UNMARKED = 72
"""Between mp and mf, where nothing is printed."""
STEP = 16
ACCENT = 20
"""What an accent adds to the level in force."""
HAIRPIN_REACH_QUARTERS = 1
"""A mark so soon after a hairpin's end is the one it leads to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Level:
    """From an onset on: a velocity, and the slope that it changes with until ``until``."""

    onset: int
    velocity: float
    until: int = 0
    target: float = 0.0


class Dynamics:
    """The printed dynamics of a score, asked by staff and onset."""

    def __init__(self, score: Score) -> None:
        self._levels: dict[int, list[_Level]] = {}
        self._accents: dict[tuple[int, int], int] = {}
        reach = HAIRPIN_REACH_QUARTERS * score.ticks_per_quarter
        for index, part in enumerate(score.parts):
            own = [d for d in score.directions if d.part == index]
            for staff in range(part.first_staff, part.first_staff + part.staves):
                marks = self._marks(own, part, staff)
                self._levels[staff] = _with_hairpins(marks, _hairpins(own), reach)

    def velocities(self, staves: NDArray[np.int16], onsets: NDArray[np.int64]) -> NDArray[np.int16]:
        """Key velocities of notes by staff and onset, shape ``(n,)``, 1 to 127."""
        found = np.full(len(onsets), float(UNMARKED))
        for staff, levels in self._levels.items():
            on_staff = staves == staff
            if levels:
                found[on_staff] = _levels_at(levels, onsets[on_staff])
        found = np.rint(found)
        for (staff, onset), accent in self._accents.items():
            found[(staves == staff) & (onsets == onset)] += accent
        return np.asarray(np.clip(found, 1, 127), dtype=np.int16)

    def _marks(self, own: Sequence[RawDirection], part: Part, staff: int) -> list[_Level]:
        """The levels that marks set for one staff; accents are noted on the way."""
        printed = [d for d in own if d.kind == "dynamics"]
        with_own = {d.onset for d in printed if d.staff == staff and part.staves > 1}
        levels: list[_Level] = []
        for direction in printed:
            if direction.onset in with_own and direction.staff != staff:
                continue
            for token in direction.text.split():
                if token in ACCENTS:
                    self._accents[staff, direction.onset] = ACCENT
                name = ENDS_SOFT.get(token, token)
                if name in VELOCITIES:
                    # The chord under fp is loud; what comes after it is not.
                    late = 1 if token in ENDS_SOFT else 0
                    levels.append(_Level(onset=direction.onset + late, velocity=VELOCITIES[name]))
        return sorted(levels, key=lambda level: level.onset)


def _hairpins(own: Sequence[RawDirection]) -> list[tuple[int, int, int]]:
    """Onset, end and direction (1 louder, -1 softer) of every hairpin of a part."""
    found: list[tuple[int, int, int]] = []
    begun: tuple[int, int] | None = None
    for direction in own:
        if direction.kind != "wedge":
            continue
        if begun is not None and direction.onset > begun[0]:
            found.append((begun[0], direction.onset, begun[1]))
            begun = None
        if direction.text:
            begun = direction.onset, 1 if direction.text.startswith("crescendo") else -1
    return found


def _with_hairpins(
    marks: list[_Level], hairpins: Sequence[tuple[int, int, int]], reach: int
) -> list[_Level]:
    levels = list(marks)
    for onset, end, sign in hairpins:
        at = bisect_right(levels, onset, key=lambda level: level.onset)
        start = _level_at(levels[at - 1], onset) if at else float(UNMARKED)
        inside = [level for level in levels[at:] if level.onset <= end + reach]
        leads_to = inside[0] if inside and (inside[0].velocity - start) * sign > 0 else None
        target = leads_to.velocity if leads_to else min(max(start + sign * STEP, 10), 127)
        stop = leads_to.onset if leads_to else end
        stop = min(stop, inside[0].onset) if inside else stop
        levels.insert(at, _Level(onset=onset, velocity=start, until=stop, target=target))
    return levels


def _levels_at(levels: Sequence[_Level], onsets: NDArray[np.int64]) -> NDArray[np.float64]:
    """``_level_at`` of many onsets; ``UNMARKED`` before the first level."""
    begins = np.array([level.onset for level in levels])
    lasts = np.array([max(level.until - level.onset, 0) for level in levels], dtype=np.float64)
    low = np.array([level.velocity for level in levels])
    rise = np.array([level.target - level.velocity for level in levels]) * (lasts > 0)
    at = np.searchsorted(begins, onsets, side="right") - 1
    share = np.minimum((onsets - begins[at]) / np.maximum(lasts[at], 1.0), 1.0)
    return np.asarray(np.where(at < 0, UNMARKED, low[at] + share * rise[at]))


def _level_at(level: _Level, onset: int) -> float:
    if level.until <= level.onset:
        return level.velocity
    share = min((onset - level.onset) / (level.until - level.onset), 1.0)
    return level.velocity + share * (level.target - level.velocity)
