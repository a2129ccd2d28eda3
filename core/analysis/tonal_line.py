"""One account of tonality: at each place the key or the scale, whichever is borne out better.

Key regions and scale regions are found apart, by other evidence: keys by chords and where they
go, scales by the notes alone. Where both have one tonic and third, they say one thing twice, and
the scale says it more closely. Where they have not, a reader wants one word all the same: that of
the key, unless a scale that is neither major nor a form of the minor is likelier there.

Conventions: stretches follow one another, with a gap only where neither is given. The limits are
judgements.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, TypeVar

from core.analysis.keys import Key, Mode
from core.analysis.scales import SYMMETRIC, ScaleInUse
from core.score.findings import Finding
from core.score.places import Passage, Place

PLAIN = frozenset({"major", "natural minor", "harmonic minor", "melodic minor"})
"""Scales that are told by the name of the key."""
LEAST_SCALE = 0.3
"""A scale less sure than that gives no name, even on the tonic of the key."""
KEY_IN_DOUBT = 0.5
"""A scale without a tonic of its own gives the name only where the key is less sure than that."""
SHORTEST_MEASURES = 2
"""A shorter rest of a region, most of which is told otherwise, goes with what is before it."""

ValueT = TypeVar("ValueT")


@dataclass(frozen=True, slots=True, kw_only=True)
class TonalStretch:
    """A passage and the one word on its tonality.

    Parameters
    ----------
    passage : Passage
    name : str
        "G minor", "G Dorian".
    tonic : int
        On the line of fifths.
    mode : "major" or "minor"
        Minor for every scale with a minor third.
    confidence : float
        0 to 1; that of the least sure of what was joined.
    told_by : tuple of Finding
        The findings that say it most closely, key regions or scale regions, by onset.
    """

    passage: Passage
    name: str
    tonic: int
    mode: Mode
    confidence: float
    told_by: tuple[Finding[Any], ...]


def tonal_line(
    keys: Sequence[Finding[Key]], scales: Sequence[Finding[ScaleInUse]]
) -> tuple[TonalStretch, ...]:
    """The stretches of a score, by onset; neighbours have different names.

    Parameters
    ----------
    keys, scales : sequence of Finding
        Each by onset.
    """
    return tuple(tonal_stretches(keys, scales))


def tonal_stretches(
    keys: Sequence[Finding[Key]], scales: Sequence[Finding[ScaleInUse]]
) -> Iterator[TonalStretch]:
    """As ``tonal_line``, one stretch after the other, for whoever must not wait for all."""
    last: TonalStretch | None = None
    key_at, scale_at = _at(keys), _at(scales)
    for start, end in _limits([*keys, *scales]):
        stretch = _stretch(Passage(start=start, end=end), key_at(start), scale_at(start))
        if stretch is None:
            if last is not None:
                yield last
            last = None
        elif last is not None and (last.name == stretch.name or _is_rest(stretch)):
            last = _joined(last, stretch)
        else:
            if last is not None:
                yield last
            last = stretch
    if last is not None:
        yield last


def keys_told(line: Iterable[TonalStretch]) -> tuple[Finding[Key], ...]:
    """The line as keys, for whatever is counted from a tonic: those of modes by their thirds."""
    return tuple(
        Finding(
            kind="key region",
            passage=stretch.passage,
            value=Key(tonic=stretch.tonic, mode=stretch.mode),
            confidence=stretch.confidence,
            evidence=(),
        )
        for stretch in line
    )


def _limits(findings: Iterable[Finding[Any]]) -> Iterable[tuple[Place, Place]]:
    places = {
        place.moment: place
        for found in findings
        if found.passage is not None
        for place in (found.passage.start, found.passage.end)
    }
    return pairwise(places[moment] for moment in sorted(places))


def _at(findings: Iterable[Finding[ValueT]]) -> Callable[[Place], Finding[ValueT] | None]:
    """What holds at a place; to be asked for places in order only, so that it goes through once."""
    spans = [
        (found.passage.start.moment, found.passage.end.moment, found)
        for found in findings
        if found.passage is not None
    ]
    ahead = 0

    def at(place: Place) -> Finding[ValueT] | None:
        nonlocal ahead
        while ahead < len(spans) and spans[ahead][1] <= place.moment:
            ahead += 1
        is_there = ahead < len(spans) and spans[ahead][0] <= place.moment
        return spans[ahead][2] if is_there else None

    return at


def _stretch(
    passage: Passage, key: Finding[Key] | None, scale: Finding[ScaleInUse] | None
) -> TonalStretch | None:
    if scale is not None and (key is None or _is_likelier(scale, key)):
        return _by_scale(passage, scale)
    if key is None:
        return None
    teller: Finding[Any] = scale if scale is not None and _says_as_much(scale, key) else key
    return TonalStretch(
        passage=passage,
        name=key.value.name,
        tonic=key.value.tonic,
        mode=key.value.mode,
        confidence=teller.confidence,
        told_by=(teller,),
    )


def _by_scale(passage: Passage, scale: Finding[ScaleInUse]) -> TonalStretch:
    value = scale.value
    name = value.short_name
    if _is_plain(value):
        name = Key(tonic=value.tonic, mode=value.mode).name
    return TonalStretch(
        passage=passage,
        name=name,
        tonic=value.tonic,
        mode=value.mode,
        confidence=scale.confidence,
        told_by=(scale,),
    )


def _is_likelier(scale: Finding[ScaleInUse], key: Finding[Key]) -> bool:
    """Whether the scale gives the name: a mode, an altered minor, and well borne out."""
    if _is_plain(scale.value) or scale.confidence < LEAST_SCALE:
        return False
    if scale.value.scale in SYMMETRIC:
        return key.confidence < KEY_IN_DOUBT <= scale.confidence
    theirs, own = _pitch_class(key.value), _pitch_class(scale.value)
    if theirs == own:
        return key.value.mode == scale.value.mode or scale.confidence > key.confidence
    return _share(scale, own) + _share(key, own) > _share(scale, theirs) + _share(key, theirs)


def _says_as_much(scale: Finding[ScaleInUse], key: Finding[Key]) -> bool:
    return (
        scale.confidence >= LEAST_SCALE
        and scale.value.scale not in SYMMETRIC
        and _pitch_class(scale.value) == _pitch_class(key.value)
        and scale.value.mode == key.value.mode
    )


def _is_plain(scale: ScaleInUse) -> bool:
    return scale.scale in PLAIN and not scale.altered


def _share(finding: Finding[Key] | Finding[ScaleInUse], pitch_class: int) -> float:
    """What a finding and its alternatives give to a tonic."""
    said = ((finding.value, finding.confidence), *finding.alternatives)
    shares: list[float] = [share for value, share in said if _pitch_class(value) == pitch_class]
    return sum(shares)


def _pitch_class(value: Key | ScaleInUse) -> int:
    return 7 * value.tonic % 12


def _is_rest(stretch: TonalStretch) -> bool:
    """Whether it is a short remainder of what told it."""
    here, whole = stretch.passage, stretch.told_by[0].passage
    length = here.end.measure_index - here.start.measure_index
    return length < SHORTEST_MEASURES and whole != here


def _joined(first: TonalStretch, second: TonalStretch) -> TonalStretch:
    # What goes with its neighbour for being short is told by the neighbour's finding alone.
    more = second.told_by if second.name == first.name else ()
    fresh = tuple(found for found in more if found not in first.told_by)
    return replace(
        first,
        passage=Passage(start=first.passage.start, end=second.passage.end),
        confidence=min(first.confidence, second.confidence),
        told_by=first.told_by + fresh,
    )
