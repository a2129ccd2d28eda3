"""Which notes share a beam, and how many beams each has.

Conventions: a group is a run of notes with flags in one voice of one measure; grace notes keep
their own. Source: common practice (beams show the beats).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from core.score.formats.drafts import Event
from core.score.formats.note_shapes import FLAGS, shape_of


def beamed_as_given(events: list[Event]) -> list[Event]:
    """Give every level of beams to notes that say at their first level where a group is."""
    if not any(event.beams for event in events):
        return events
    groups: list[list[int]] = []
    is_open = False
    for index, event in enumerate(events):
        if event.grace:
            continue
        said = event.beams[0] if event.beams else ""
        if said == "begin":
            groups.append([index])
        elif said in ("continue", "end") and is_open:
            groups[-1].append(index)
        is_open = said == "begin" or (is_open and said == "continue")
    return _beamed([event._replace(beams=()) if event.beams else event for event in events], groups)


def beamed_by_beats(events: list[Event], beat: Fraction) -> list[Event]:
    """Beam what lies within one beat, for a file that says nothing of beams."""
    groups: list[list[int]] = []
    last_beat, end = -1, Fraction(-1)
    for index, event in enumerate(events):
        if event.grace:
            continue
        number = int(event.onset / beat)
        if event.pitches and _flags(event):
            if groups and number == last_beat and event.onset == end:
                groups[-1].append(index)
            else:
                groups.append([index])
            last_beat, end = number, event.onset + event.quarters
    return _beamed(events, groups)


def beat_of(beats: str, beat_type: str) -> Fraction:
    """Quarter notes of one beat: three units in compound metres, else one, a quarter at least.

    Examples
    --------
    >>> beat_of("6", "8"), beat_of("3", "4"), beat_of("2", "2")
    (Fraction(3, 2), Fraction(1, 1), Fraction(1, 1))
    """
    unit = Fraction(4, int(beat_type)) if beat_type.isdecimal() and int(beat_type) else Fraction(1)
    if unit < 1 and beats.isdecimal() and int(beats) % 3 == 0:
        return 3 * unit
    return Fraction(1)


def _beamed(events: Sequence[Event], groups: list[list[int]]) -> list[Event]:
    made = list(events)
    for group in groups:
        flags = [_flags(made[index]) for index in group]
        if len(group) < 2 or not all(flags):
            continue
        for position, index in enumerate(group):
            made[index] = made[index]._replace(beams=tuple(_levels(flags, position)))
    return made


def _levels(flags: list[int], position: int) -> Iterator[str]:
    own = flags[position]
    before = flags[position - 1] if position else 0
    after = flags[position + 1] if position + 1 < len(flags) else 0
    for level in range(1, own + 1):
        if before >= level and after >= level:
            yield "continue"
        elif after >= level:
            yield "begin"
        elif before >= level:
            yield "end"
        else:
            yield "backward hook" if before else "forward hook"


def _flags(event: Event) -> int:
    shape = event.shape or shape_of(event.quarters)
    return FLAGS.get(shape[0], 0) if shape else 0
