"""The measures of a score, laid together from all its parts.

Conventions: measures of all parts are aligned by their position in the file. A measure lasts
to the farthest point that any part's content reaches, whatever its signature says; an empty
one lasts what its signature says. A signature met inside a measure holds from the next one on.

Source: MusicXML 4.0 (``measure``, ``time``, ``key``).
"""

from __future__ import annotations

from itertools import accumulate
from typing import TypeVar

import numpy as np
from lxml import etree

from core.score.attribute_changes import AttributeChanges, Signature
from core.score.events import Events
from core.score.measure_signs import Signs, spread_endings
from core.score.score import Measure
from core.score.timing import Ticks, Timing

T = TypeVar("T")


def whole_measures(events: Events, changes: AttributeChanges, ticks_per_quarter: int) -> Ticks:
    """Ticks of a full measure at each rest of a whole measure; 0 at everything else."""
    ticks = np.zeros(len(events), dtype=np.int64)
    rests = [e for e, rest in events.detail_elements("rest") if rest.get("measure") == "yes"]
    bounds = dict(changes.signatures)
    parts = set(events.of("part").tolist())
    nominal = 0
    for event in sorted({*rests, *bounds, *parts}):
        if event in parts:
            nominal = 0
        elif event in bounds:
            nominal = int((bounds[event].quarters or 0) * ticks_per_quarter)
        else:
            ticks[event] = nominal
    return ticks


def read_measures(
    events: Events, changes: AttributeChanges, timing: Timing, *, signs: Signs, ticks: int
) -> tuple[tuple[Measure, ...], list[str]]:
    """Make the measures.

    Parameters
    ----------
    ticks : int
        Ticks a quarter note.

    Returns
    -------
    measures : tuple of Measure
    oddities : list of str
    """
    by_part = [list(part.iterchildren("measure")) for _, part in events.elements("part")]
    elements = by_part[0] + max(by_part, key=len)[len(by_part[0]) :]
    count = len(elements)
    signed = _in_force(events, timing, _signed(changes.signatures, ticks), count, (None, None))
    fifths = _in_force(events, timing, _usual_keys(events, changes), count, None)
    nominals = [nominal for _, nominal in signed]
    extents = _extents(events, timing, elements, nominals)
    durations = [extent or nominal or 0 for extent, nominal in zip(extents, nominals, strict=True)]
    onsets = [0, *accumulate(durations)]
    signs.settle(count)
    endings = spread_endings(signs.by_measure)
    measures = [
        Measure(
            index=index,
            id=element.get("id", ""),
            number=element.get("number", ""),
            onset=onsets[index],
            duration=durations[index],
            signature=signed[index][0],
            nominal_duration=signed[index][1],
            fifths=fifths[index],
            is_implicit=element.get("implicit") == "yes",
            repeat_start=sign.repeat_start,
            repeat_end=sign.repeat_end,
            repeat_times=sign.repeat_times,
            endings=endings[index][0],
            ending_starts=endings[index][1],
            ending_stops=endings[index][2],
            jump=sign.jump,
            jump_target=sign.jump_target,
            has_segno=sign.has_segno,
            has_coda=sign.has_coda,
            has_fine=sign.has_fine,
            has_to_coda=sign.has_to_coda,
            barline=sign.barline or ("light-heavy" if sign.repeat_end else "regular"),
        )
        for index, (element, sign) in enumerate(zip(elements, signs.by_measure, strict=True))
    ]
    return tuple(measures), _uneven(by_part, count)


def _extents(
    events: Events, timing: Timing, elements: list[etree._Element], nominals: list[int | None]
) -> list[int]:
    """Ticks to the farthest point of each measure.

    In an implicit measure (a pickup) files often rest a full measure in the parts that don't
    play; such a rest gives way to what the others have.
    """
    full = np.array([nominal or 0 for nominal in nominals], dtype=np.int64)
    implicit = np.array([element.get("implicit") == "yes" for element in elements])
    here = events.measures
    is_filler = events.with_detail("rest") & implicit[here] & (timing.durations == full[here])
    extents = timing.extents(events, len(elements), besides=is_filler)
    everything = timing.extents(events, len(elements))
    played: list[int] = np.where(extents > 0, extents, everything).tolist()
    return played


def _signed(
    signatures: list[tuple[int, Signature]], ticks: int
) -> list[tuple[int, tuple[str | None, int | None]]]:
    """Signatures as printed, each with the ticks of a full measure."""
    return [
        (event, (printed, None if quarters is None else int(quarters * ticks)))
        for event, (printed, quarters) in signatures
    ]


def _usual_keys(events: Events, changes: AttributeChanges) -> list[tuple[int, int | None]]:
    """The keys of the first part that has one of the usual kind, first of all."""
    usual = next((event for event, key in changes.fifths if key is not None), None)
    if usual is None:
        return []
    part = events.parts[usual]
    return [(event, key) for event, key in changes.fifths if events.parts[event] == part]


def _in_force(
    events: Events, timing: Timing, changes: list[tuple[int, T]], count: int, nothing: T
) -> list[T]:
    """What holds in each measure, by the first part that has any change."""
    part = events.parts[changes[0][0]] if changes else 0
    begun = {
        int(events.measures[event]) + bool(timing.onsets[event] > 0): value
        for event, value in changes
        if events.parts[event] == part
    }
    in_force, value = [], nothing
    for index in range(count):
        value = begun.get(index, value)
        in_force.append(value)
    return in_force


def _uneven(by_part: list[list[etree._Element]], count: int) -> list[str]:
    return [
        f"Part P{number} has {len(elements)} measures, where the longest has {count}."
        for number, elements in enumerate(by_part, 1)
        if len(elements) != count
    ]
