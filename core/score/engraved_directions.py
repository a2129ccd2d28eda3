"""Which engraved direction is which direction of the score.

Verovio gives directions ids of its own. They are told apart by measure, kind, staff, time stamp
and text, in order; the first rule that leaves one candidate wins, and a direction that was
split by the engraver (words and dynamics in one) may be met more than once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from core.score.engraved_page import EngravedDirection

if TYPE_CHECKING:
    from core.score.score import Measure, RawDirection

_KINDS: Mapping[str, frozenset[str]] = {
    "dir": frozenset(["words", "segno", "coda", "dashes", "other-direction", "symbol"]),
    "tempo": frozenset(["words", "metronome"]),
    "dynam": frozenset(["dynamics", "words"]),
    "hairpin": frozenset(["wedge"]),
    "reh": frozenset(["rehearsal"]),
    "pedal": frozenset(["pedal", "words"]),
    "octave": frozenset(["octave-shift"]),
    "repeatMark": frozenset(["segno", "coda", "words"]),
}
"""Kinds of direction that may be drawn as each of Verovio's classes."""

_FIRST_KIND: Mapping[str, str] = {"dir": "words", "tempo": "metronome", "dynam": "dynamics"}
"""The kind that decides where all else is equal."""

_TOLERANCE = Fraction(1, 16)
"""Quarter notes; time stamps come rounded."""


def match_directions(
    engraved: Sequence[EngravedDirection],
    directions: Mapping[str, Sequence[RawDirection]],
    measures: Mapping[str, Measure],
    ticks_per_quarter: int,
) -> list[tuple[EngravedDirection, str]]:
    """Pair engraved directions with the score's.

    Parameters
    ----------
    engraved : sequence of EngravedDirection
        Of one page.
    directions : mapping
        Measure id to that measure's directions.
    measures : mapping
        Measure id to measure.
    ticks_per_quarter : int
        The score's common division.

    Returns
    -------
    list of (EngravedDirection, str)
        Each engraved direction that was recognised, with the direction's id.
    """
    found: list[tuple[EngravedDirection, str]] = []
    taken: set[tuple[str, str]] = set()
    known = {direction.id for group in directions.values() for direction in group}
    for drawn in engraved:
        if drawn.verovio_id in known:
            found.append((drawn, drawn.verovio_id))
            continue
        measure = measures.get(drawn.measure_id)
        if measure is None:
            continue
        candidates = [
            (direction, _onset_quarters(direction, measure, ticks_per_quarter))
            for direction in directions.get(drawn.measure_id, ())
            if (drawn.kind, direction.id) not in taken
        ]
        best = _best(drawn, candidates, _quarters_of(drawn.tstamp, measure))
        if best is not None:
            taken.add((drawn.kind, best.id))
            found.append((drawn, best.id))
    return found


def _best(
    drawn: EngravedDirection,
    candidates: Sequence[tuple[RawDirection, Fraction]],
    stamped: Fraction | None,
) -> RawDirection | None:
    """The candidate with the most in common; the earlier one of equals."""
    scored = [
        (
            _likeness(drawn, direction, stamped is not None and abs(stamped - onset) <= _TOLERANCE),
            -position,
            direction,
        )
        for position, (direction, onset) in enumerate(candidates)
    ]
    likely = [entry for entry in scored if entry[0] >= 3]
    return max(likely, key=lambda entry: entry[:2])[2] if likely else None


def _likeness(drawn: EngravedDirection, direction: RawDirection, is_at_time: bool) -> int:
    is_kind = direction.kind in _KINDS.get(drawn.kind, frozenset())
    is_text = _is_same_text(drawn.text, direction.text)
    if is_text is False:
        return 0
    if not is_kind and not (is_text and is_at_time):
        return 0
    is_staff = drawn.staff in (0, direction.staff)
    is_first_kind = is_kind and direction.kind == _FIRST_KIND.get(drawn.kind)
    return 2 * is_kind + is_first_kind + 4 * bool(is_text) + 2 * is_at_time + is_staff


def _quarters_of(tstamp: float | None, measure: Measure) -> Fraction | None:
    """A time stamp (1 = the measure's start, in beats of its signature) in quarter notes."""
    if tstamp is None:
        return None
    beat_type = int((measure.signature or "4/4").rsplit("/", 1)[-1])
    return (Fraction(tstamp).limit_denominator(1024) - 1) * Fraction(4, beat_type)


def _onset_quarters(direction: RawDirection, measure: Measure, ticks_per_quarter: int) -> Fraction:
    return Fraction(direction.onset - measure.onset, ticks_per_quarter)


def _is_same_text(drawn: str, printed: str) -> bool | None:
    """Whether one holds the other, or all its words; None where either says nothing.

    A metronome mark is drawn with a sign where ``printed`` has the note value in words.
    """
    parts, whole = _words(drawn), _words(printed)
    if not parts or not whole:
        return None
    is_within = "".join(parts) in "".join(whole) or "".join(whole) in "".join(parts)
    return is_within or set(parts) <= set(whole)


def _words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text.casefold())
