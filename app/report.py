"""The short report of ``postil analyse`` for a reader."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from app.report_form import form_rows, inferred_metre
from core.analysis.keys import tonic_name
from core.analysis.tonal_line import tonal_line
from core.notebook.analyses import Analysis
from core.score.places import Passage

_MOST_DIRECTIONS = 12
_MOST_REGIONS = 8
_LABEL_WIDTH = 12


def report(analysis: Analysis, *, path: str) -> str:
    """The report of one score, with an empty line at its end."""
    title = " · ".join(filter(None, (analysis.title, analysis.composer))) or "(without a title)"
    rows = [
        ("file", path),
        ("length", _length(analysis)),
        ("key", _key(analysis)),
        *_column("keys", _keys(analysis)),
        *_column("scales", _scales(analysis)),
        *_column("rivals", _rivals(analysis)),
        *_column("cadences", _cadences(analysis)),
        ("metre", _metre(analysis)),
        ("played", _played(analysis)),
        *(("", _repair(analysis, *pair)) for pair in _repairs(analysis)),
        *form_rows(analysis),
        ("directions", _directions(analysis)),
        *(("guessed", guess) for guess in analysis.guesses),
        *(("mended", oddity) for oddity in analysis.oddities),
    ]
    lines = [f"  {label:<{_LABEL_WIDTH}}{text}" for label, text in rows]
    return "\n".join([title, *lines, ""])


def _length(analysis: Analysis) -> str:
    quarters = float(analysis.duration_quarters)
    return (
        f"{_count(len(analysis.measure_numbers), 'measure')}, {quarters:g} quarters, "
        f"{_count(analysis.note_count, 'note')}"
    )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _key(analysis: Analysis) -> str:
    found = analysis.key
    if found is None:
        return "none: no note has a pitch"
    others = ", ".join(f"{key.name} {share:.0%}" for key, share in found.alternatives)
    return f"{found.value.name} ({found.confidence:.0%}{f'; else {others}' if others else ''})"


def _column(label: str, lines: Sequence[str]) -> Iterator[tuple[str, str]]:
    """The label beside the first line only; what doesn't fit is counted."""
    shown = lines[:_MOST_REGIONS]
    for place, line in enumerate(shown):
        yield (label if place == 0 else ""), line
    if len(lines) > len(shown):
        yield "", f"and {len(lines) - len(shown)} more"


def _keys(analysis: Analysis) -> list[str]:
    return [
        f"{_where(analysis, stretch.passage)}  {stretch.name} ({stretch.confidence:.0%})"
        for stretch in tonal_line(analysis.key_regions, analysis.scale_regions)
    ]


def _scales(analysis: Analysis) -> list[str]:
    """The scales that bear the keys out, where they say more than the key.

    One that bears out several stretches is told once.
    """
    told = (
        f"{_where(analysis, found.passage)}  {found.value.name} ({found.confidence:.0%})"
        for stretch in tonal_line(analysis.key_regions, analysis.scale_regions)
        for found in stretch.told_by
        if found.passage is not None and found.value.name != stretch.name
    )
    return list(dict.fromkeys(told))


def _rivals(analysis: Analysis) -> list[str]:
    return [
        f"{_where(analysis, found.passage)}  "
        f"{' and '.join(tonic_name(tonic) for tonic in found.value.tonics)} "
        f"({found.value.balance:.0%} to {1 - found.value.balance:.0%})"
        for found in analysis.tonic_rivals
        if found.passage is not None
    ]


def _cadences(analysis: Analysis) -> list[str]:
    return [
        f"{_where(analysis, found.passage)}  {found.value.kind} in {found.value.key.name}"
        for found in analysis.cadences
        if found.passage is not None
    ]


def _where(analysis: Analysis, passage: Passage) -> str:
    """Printed numbers of the first and the last measure: "m. 5-8"."""
    last = passage.end.measure_index
    if passage.end.offset_quarters == 0 and not passage.is_point:
        last -= 1
    numbers = analysis.measure_numbers
    first = numbers[min(passage.start.measure_index, len(numbers) - 1)]
    end = numbers[min(max(last, passage.start.measure_index), len(numbers) - 1)]
    return f"m. {first}" if first == end else f"m. {first}-{end}"


def _metre(analysis: Analysis) -> str:
    if analysis.is_unbarred:
        return inferred_metre(analysis)
    return ", ".join(
        f"{metre.signature} from quarter {float(metre.onset_quarters):g}"
        if metre.onset_quarters
        else metre.signature
        for metre in analysis.written_metre
    )


def _played(analysis: Analysis) -> str:
    """Stretches of the playing order by printed numbers: "1-8, 1-8, 9-16"."""
    numbers = analysis.measure_numbers
    return ", ".join(
        numbers[first] if first == last else f"{numbers[first]}-{numbers[last]}"
        for first, last in _stretches(analysis.playing_order.measure_indices)
    )


def _stretches(indices: Sequence[int]) -> Iterator[tuple[int, int]]:
    first = 0
    for position, index in enumerate(indices):
        if position + 1 == len(indices) or indices[position + 1] != index + 1:
            yield indices[first], index
            first = position + 1


def _repairs(analysis: Analysis) -> Iterator[tuple[int, str]]:
    for repair in analysis.playing_order.repairs:
        yield repair.measure_index, repair.rule


def _repair(analysis: Analysis, measure_index: int, rule: str) -> str:
    return f"measure {analysis.measure_numbers[measure_index]}: {rule}"


def _directions(analysis: Analysis) -> str:
    texts = list(dict.fromkeys(direction.text for direction in analysis.directions))
    shown = " · ".join(texts[:_MOST_DIRECTIONS])
    left = len(texts) - _MOST_DIRECTIONS
    return f"{shown} and {left} more" if left > 0 else shown or "none"
