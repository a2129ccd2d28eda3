"""Keys, scales, rival tonics, chords and cadences in the lines of ``postil analyse --json``.

Conventions: as in ``contract_json``. ``bent`` of a scale region, which is no part of the scale,
names degrees that another note stands for in some places.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from core.analysis.harmony import Harmony
from core.analysis.keys import Key, tonic_name
from core.analysis.scales import ScaleInUse
from core.notebook.analyses import Analysis
from core.score.findings import Finding

TIME_DECIMALS = 6
DECIMALS = 4
ValueT = TypeVar("ValueT")


def key_entry(found: Finding[Key]) -> dict[str, object]:
    """A key with its sureness, what else it may be, and its notes."""
    return {
        "name": found.value.name,
        **_sureness(
            found, [[key.name, round(share, DECIMALS)] for key, share in found.alternatives]
        ),
    }


def key_region_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The key of every passage."""
    return [{**_span(analysis, found), **key_entry(found)} for found in analysis.key_regions]


def scale_region_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The scale of every passage."""
    return [
        {
            **_span(analysis, found),
            "tonic": tonic_name(found.value.tonic),
            "scale": found.value.scale,
            "altered": list(found.value.altered),
            "bent": list(found.value.bent),
            **_sureness(found, [_scale(scale) for scale, _ in found.alternatives]),
        }
        for found in analysis.scale_regions
    ]


def tonic_rival_entries(analysis: Analysis) -> list[dict[str, object]]:
    """Passages in which two tonics compete."""
    return [
        {
            **_span(analysis, found),
            "tonics": [tonic_name(tonic) for tonic in found.value.tonics],
            "balance": round(found.value.balance, DECIMALS),
            **_sureness(found, []),
        }
        for found in analysis.tonic_rivals
    ]


def harmony_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The chords that are clear."""
    return [
        {
            **_span(analysis, found),
            **_chord(found.value),
            "key": found.value.key.name,
            **_sureness(
                found,
                [
                    {**_chord(other), "confidence": round(share, DECIMALS)}
                    for other, share in found.alternatives
                ],
            ),
        }
        for found in analysis.harmony
    ]


def cadence_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The cadences that are clear, at the onset of their last chord."""
    return [
        {
            "at": _span(analysis, found)["start"],
            "kind": found.value.kind,
            "key": found.value.key.name,
            **_sureness(found, [other.kind for other, _ in found.alternatives]),
        }
        for found in analysis.cadences
    ]


def _chord(chord: Harmony) -> dict[str, object]:
    return {
        "root": tonic_name(chord.root),
        "quality": chord.quality,
        "bass": tonic_name(chord.bass),
        "figure": chord.figure,
    }


def _sureness(found: Finding[ValueT], alternatives: Sequence[object]) -> dict[str, object]:
    return {
        "confidence": round(found.confidence, DECIMALS),
        "alternatives": list(alternatives),
        "evidence": list(found.evidence),
    }


def _scale(scale: ScaleInUse) -> list[object]:
    return [tonic_name(scale.tonic), scale.scale, list(scale.altered)]


def _span(analysis: Analysis, found: Finding[ValueT]) -> dict[str, object]:
    if found.passage is None:
        raise ValueError(f"finding {found.kind!r} has no passage; is it one of the whole score?")
    places = {"start": found.passage.start, "end": found.passage.end}
    return {
        name: round(float(analysis.onset_quarters(place)), TIME_DECIMALS)
        for name, place in places.items()
    }
