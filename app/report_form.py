"""The form in the short report of ``postil analyse``: sections, accompaniment, inferred metre."""

from __future__ import annotations

from core.analysis.form_reasons import reason_for_section
from core.notebook.analyses import Analysis
from core.score.places import Passage

_MOST_SECTIONS = 24
_MOST_PATTERNS = 6


def form_rows(analysis: Analysis) -> list[tuple[str, str]]:
    """Rows of the sections of the top level with their reasons, and of the accompaniment."""
    pairs = zip(analysis.form.sections, analysis.form.facts, strict=True)
    rows = [
        f"{found.value.label} {_measures(analysis, found.value.passage)}"
        f" ({found.confidence:.0%}). {reason_for_section(facts)}".rstrip()
        for found, facts in pairs
        if found.value.parent is None
    ]
    patterns = [
        f"{found.value.pattern} {_measures(analysis, found.value.passage)}"
        f" (staff {found.value.staff})"
        for found in analysis.accompaniment
    ]
    return [*_labelled("form", rows, _MOST_SECTIONS), *_labelled("below", patterns, _MOST_PATTERNS)]


def inferred_metre(analysis: Analysis) -> str:
    """What is said of the metre where none is written."""
    found = analysis.inferred_metre
    if found is None:
        return "none is written"
    metre = found.value
    others = ", ".join(f"{other.signature} {share:.0%}" for other, share in found.alternatives)
    return (
        f"none is written; inferred: {metre.signature}, first downbeat at quarter "
        f"{float(metre.first_downbeat_quarters):g} ({found.confidence:.0%}; else {others})"
    )


def _labelled(label: str, rows: list[str], most: int) -> list[tuple[str, str]]:
    shown = rows[:most] + ([f"and {len(rows) - most} more"] if len(rows) > most else [])
    return [(label if index == 0 else "", row) for index, row in enumerate(shown)]


def _measures(analysis: Analysis, passage: Passage) -> str:
    """By printed numbers; inside one long measure by quarters."""
    first, end = passage.start, passage.end
    if first.offset_quarters or end.offset_quarters:
        begin, stop = (float(analysis.onset_quarters(place)) for place in (first, end))
        return f"quarters {begin:g}-{stop:g}"
    numbers = analysis.measure_numbers
    last = max(first.measure_index, end.measure_index - 1)
    return f"m. {numbers[first.measure_index]}-{numbers[last]}"
