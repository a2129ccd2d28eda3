"""The playing order: the measures in the order in which the signs have them played.

Conventions: measures are named by their index; all signs of a measure stand at its edges
(Fine, To Coda and jumps at the end, segno and coda at the beginning).

Rules (common practice), besides those of ``repeats``:

* A jump is taken once, after the repeats around it are done; after it no repeat is taken, and
  of several endings the last one is. Printed up to two measures before the sign or double bar
  that closes its part, it belongs there.
* D.C. goes to the beginning, or past an upbeat that the measure of the D.C. already holds. D.S.
  goes to the last segno before it; without one to the first start sign.
* After a jump the playing leaves at To Coda for the coda, where repeats are taken again, or
  ends at Fine. Of two coda signs and no To Coda the first one is the place to leave at.
* D.C. without Fine ends with the first part (the minuet before its trio): before the word
  *Trio*; else before the first double bar with a new signature; else before the only double
  bar; else after half of the strains. What stands behind the D.C. is a coda and follows.
* Where jumps follow one another (two trios), only the last one ends at Fine; after the others
  the playing goes on behind them.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from core.score.repeats import (
    Repair,
    Repeat,
    begins_section,
    signature_changes,
    written_repeats,
)
from core.score.score import Measure, RawDirection, Score

__all__ = ["PlayingOrder", "Repair", "playing_order", "playing_order_of", "trio_starts"]

MAX_PLAYED = 50_000
"""Measures; a longer order (ten hours of music) is a slip in the file."""
MAX_JUMPS = 8
"""Jumps that are followed; more is a slip in the file."""
SHIFTED_MEASURES = 2
"""So far before the end of its part a jump's words may be printed."""
_TRIO = re.compile(r"\W*(trio|alternativo|alternativement)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayingOrder:
    """A reading of the signs.

    Parameters
    ----------
    measure_indices : tuple of int
        The measures as they sound; a measure comes as often as it is played.
    repairs : tuple of Repair
        Where the signs left the order open, by measure.
    """

    measure_indices: tuple[int, ...]
    repairs: tuple[Repair, ...] = ()


def playing_order(measures: Sequence[Measure], *, trios: Collection[int] = ()) -> PlayingOrder:
    """The order in which the signs have the measures played.

    Parameters
    ----------
    measures : sequence of Measure, in file order
    trios : collection of int
        Measures over which *Trio* is printed; used where a D.C. has no Fine.

    Returns
    -------
    PlayingOrder
        Never longer than ``MAX_PLAYED``, whatever the signs: an order beyond it is given up
        for the written one, with a repair that says so.

    Notes
    -----
    Source: common practice, as the module's rules put it.

    Examples
    --------
    >>> from core.score.score import Measure
    >>> signs = [{}, {"repeat_end": True}, {}]
    >>> measures = [
    ...     Measure(index=i, id=f"m{i}", number=str(i + 1), onset=4 * i, duration=4, **s)
    ...     for i, s in enumerate(signs)
    ... ]
    >>> playing_order(measures).measure_indices
    (0, 1, 0, 1, 2)
    """
    repeats, mended = written_repeats(measures)
    reading = _Reading(measures, repeats, sorted(trios))
    try:
        indices = reading.whole()
    except _TooLongError:
        rule = f"The signs lead to more than {MAX_PLAYED} measures; taken as written, once."
        return PlayingOrder(
            measure_indices=tuple(range(len(measures))),
            repairs=(Repair(measure_index=0, rule=rule),),
        )
    repairs = sorted((*mended, *reading.repairs), key=lambda repair: repair.measure_index)
    return PlayingOrder(measure_indices=tuple(indices), repairs=tuple(repairs))


def playing_order_of(score: Score) -> PlayingOrder:
    """The playing order of a score, its printed *Trio* taken into account."""
    return playing_order(score.measures, trios=trio_starts(score.directions))


def trio_starts(directions: Iterable[RawDirection]) -> set[int]:
    """Measures over which *Trio*, or a word for it, is printed."""
    return {d.measure_index for d in directions if d.kind == "words" and _TRIO.match(d.text)}


class _TooLongError(Exception):
    """The order has passed ``MAX_PLAYED``; never leaves this module."""


class _Reading:
    """One reading of the signs: repeats first, then the jumps in turn."""

    def __init__(
        self, measures: Sequence[Measure], repeats: Sequence[Repeat], trios: list[int]
    ) -> None:
        self.measures, self.repeats, self.trios = measures, repeats, trios
        self.by_start = {repeat.start: repeat for repeat in repeats}
        self.repairs: list[Repair] = []
        self.last = len(measures) - 1
        self.codas = [m.index for m in measures if m.has_coda and not m.has_to_coda]
        self.leaves = {m.index for m in measures if m.has_to_coda} or set(self.codas[:-1])
        # By the measure after which they are taken; the value is the measure of the sign.
        self.jumps = {self._taken_after(m.index): m for m in measures if m.jump}
        self.jumps = dict(sorted(self.jumps.items())[:MAX_JUMPS])
        self.known_first_part: int | None = None

    def whole(self) -> list[int]:
        """The order of the whole score."""
        played: list[int] = []
        position = 0
        for jump in self.jumps:
            stretch = self._from(position)
            if jump < position or jump not in stretch or self._is_idle(jump):
                continue
            last_time = len(stretch) - stretch[::-1].index(jump)
            tour, following = self._after_jump(jump)
            played += stretch[:last_time] + tour
            if following is None:
                return self._bounded(played)
            position = following
        return self._bounded(played + self._from(position))

    def _taken_after(self, index: int) -> int:
        """The measure at whose end a jump printed in a measure is meant."""
        for later in range(index, min(index + SHIFTED_MEASURES, self.last) + 1):
            if later == self.last or self.measures[later].repeat_end:
                return later
            if self.measures[later + 1].has_coda or begins_section(self.measures, later + 1):
                return later
        return index

    def _is_idle(self, jump: int) -> bool:
        """Whether a jump would only lead back to its own measure."""
        idle = jump <= self._target(jump)
        if idle:
            self._mend(jump, "The jump leads back to its own measure; it is left out.")
        return idle

    def _after_jump(self, jump: int) -> tuple[list[int], int | None]:
        """What is played at once after a jump, and where it goes on; None at the end."""
        target = self._target(jump)
        if self.jumps[jump].jump == "dalsegno" and not self.measures[target].has_segno:
            number = self.measures[target].number
            self._mend(jump, f"There is no segno before the D.S.; it goes to measure {number}.")
        is_last = not any(later > jump for later in self.jumps)
        behind = jump + 1 if jump < self.last else None
        for index in range(target, jump + 1):
            coda = self._coda_from(index, jump)
            if coda is not None:
                return self._once(target, index), coda
            if self.measures[index].has_fine:
                return self._once(target, index), None if is_last else behind
        stop = self._first_part_last(target, jump)
        codas = [coda for coda in self.codas if coda > jump]
        return self._once(target, stop), codas[0] if codas else behind

    def _target(self, jump: int) -> int:
        sign = self.jumps[jump]
        if sign.jump == "dacapo":
            return 1 if self._holds_upbeat(jump) else 0
        # A segno in the measure of the D.S. is the one drawn in its words.
        before = self.measures[: sign.index]
        segnos = [m.index for m in before if m.has_segno]
        starts = [m.index for m in before if m.repeat_start]
        return segnos[-1] if segnos else starts[0] if starts else 0

    def _holds_upbeat(self, jump: int) -> bool:
        """Whether the measure of the D.C. is full, so that the upbeat would be one too many."""
        upbeat, full = self.measures[0], self.measures[jump]
        if jump == 0 or upbeat.nominal_duration is None or full.nominal_duration is None:
            return False
        is_upbeat = upbeat.duration < upbeat.nominal_duration
        return is_upbeat and full.duration >= full.nominal_duration

    def _coda_from(self, index: int, jump: int) -> int | None:
        """The coda that the playing leaves for at the end of a measure, if it does."""
        if index not in self.leaves:
            return None
        ahead = [c for c in self.codas if c > jump] or [c for c in self.codas if c > index]
        # "The last time to the coda": not yet, while another jump comes before it.
        if not ahead or any(jump < later < ahead[0] for later in self.jumps):
            return None
        return ahead[0]

    def _first_part_last(self, target: int, jump: int) -> int:
        """Last measure of what a D.C. without Fine plays again."""
        known = self.known_first_part
        if known is None or not target <= known < jump:
            known = self._find_first_part(target, jump)
            self.known_first_part = known
        number = self.measures[known].number
        self._mend(jump, f"No Fine is printed; the first part ends with measure {number}.")
        return known

    def _find_first_part(self, target: int, jump: int) -> int:
        inner = range(target + 1, jump + 1)
        edges = {r.start for r in self.repeats} | {r.section_last + 1 for r in self.repeats}
        closed = [i for i in inner if i in edges or begins_section(self.measures, i)]
        words = [self._with_upbeat(i, edges) for i in inner if i in self.trios]
        signed = [i for i in closed if signature_changes(self.measures, i)]
        double = [i for i in inner if begins_section(self.measures, i)]
        strains = [i for i in inner if i in edges]
        if words or signed:
            return (words or signed)[0] - 1
        if len(double) == 1:
            return double[0] - 1
        # n edges part n + 1 strains, of which the first half (rounded up) is the first part.
        return strains[len(strains) // 2] - 1 if strains else jump

    def _with_upbeat(self, index: int, edges: set[int]) -> int:
        """Where a part begins whose name stands at a measure: its upbeat may come before."""
        upbeat = self.measures[index - 1]
        is_short = upbeat.nominal_duration is not None and upbeat.duration < upbeat.nominal_duration
        return index - 1 if is_short and index - 1 in edges else index

    def _once(self, first: int, last: int) -> list[int]:
        """Each measure once, without the endings that are passed over."""
        left_out: set[int] = set()
        for repeat in self.repeats:
            left_out |= repeat.left_out_the_last_time
        return [i for i in range(first, last + 1) if i not in left_out]

    def _from(self, first: int) -> list[int]:
        """The rest of the score with its repeats; one that began before is not taken."""
        cut = [r for r in self.repeats if r.start < first <= r.end]
        left_out = {i for repeat in cut for i in repeat.left_out_the_last_time}
        return [i for i in self._with_repeats(first, self.last) if i not in left_out]

    def _with_repeats(self, first: int, last: int) -> list[int]:
        """A stretch with the repeats that begin and end in it."""
        played: list[int] = []
        index = first
        while index <= last:
            repeat = self.by_start.get(index)
            if repeat is not None and repeat.end <= last:
                self._play(repeat, played)
                index = repeat.end + 1
            else:
                played.append(index)
                index += 1
        return self._bounded(played)

    def _play(self, repeat: Repeat, played: list[int]) -> None:
        # The first measure apart, so that the repeat does not find itself in its own body.
        head = [repeat.start] if repeat.start <= repeat.body_last else []
        body = head + self._with_repeats(repeat.start + 1, repeat.body_last)
        for ending in repeat.passes:
            played += body
            if ending is not None:
                played += range(ending.first, ending.last + 1)
            self._bounded(played)

    def _bounded(self, played: list[int]) -> list[int]:
        if len(played) > MAX_PLAYED:
            raise _TooLongError
        return played

    def _mend(self, index: int, rule: str) -> None:
        self.repairs.append(Repair(measure_index=index, rule=rule))
