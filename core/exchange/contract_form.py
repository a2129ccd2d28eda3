"""The form in the lines of ``postil analyse --json``.

Conventions: as in ``contract_json``. Each entry carries its confidence; a section also the
reason for it, in a sentence.
"""

from __future__ import annotations

from fractions import Fraction

from core.analysis.form_reasons import reason_for_section
from core.analysis.metre import InferredMetre
from core.notebook.analyses import Analysis
from core.score.places import Passage

TIME_DECIMALS = 6
DECIMALS = 4


def section_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The sections: the top level first, then the phrases inside."""
    form = analysis.form
    return [
        {
            **_span(analysis, found.value.passage),
            "label": found.value.label,
            "parent": found.value.parent,
            "relation": found.value.relation,
            "of": found.value.of,
            "similarity": round(found.value.similarity, DECIMALS),
            "confidence": round(found.confidence, DECIMALS),
            "reason": reason_for_section(facts),
            "evidence": list(found.evidence),
        }
        for found, facts in zip(form.sections, form.facts, strict=True)
    ]


def recurrence_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The returns, by their first passage."""
    return [
        {
            "first": list(_span(analysis, found.value.first).values()),
            "second": list(_span(analysis, found.value.second).values()),
            "relation": found.value.relation,
            "interval": found.value.interval,
            "similarity": round(found.value.similarity, DECIMALS),
            "confidence": round(found.confidence, DECIMALS),
        }
        for found in analysis.form.recurrences
    ]


def inferred_metre_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The metre inferred for unbarred music; empty where barlines are written."""
    found = analysis.inferred_metre
    if found is None:
        return []
    return [
        {
            **_metre(found.value),
            "confidence": round(found.confidence, DECIMALS),
            "alternatives": [
                {**_metre(metre), "confidence": round(share, DECIMALS)}
                for metre, share in found.alternatives
            ],
        }
    ]


def accompaniment_entries(analysis: Analysis) -> list[dict[str, object]]:
    """The stretches of accompaniment, by staff."""
    return [
        {
            **_span(analysis, found.value.passage),
            "staff": found.value.staff,
            "pattern": found.value.pattern,
            "period": _time(found.value.period_quarters),
            "regularity": round(found.value.regularity, DECIMALS),
            "confidence": round(found.confidence, DECIMALS),
            "evidence": list(found.evidence),
        }
        for found in analysis.accompaniment
    ]


def _metre(metre: InferredMetre) -> dict[str, object]:
    return {
        "start": _time(metre.onset_quarters),
        "signature": metre.signature,
        "first_downbeat": _time(metre.first_downbeat_quarters),
    }


def _span(analysis: Analysis, passage: Passage) -> dict[str, float]:
    return {
        "start": _time(analysis.onset_quarters(passage.start)),
        "end": _time(analysis.onset_quarters(passage.end)),
    }


def _time(quarters: Fraction) -> float:
    return round(float(quarters), TIME_DECIMALS)
