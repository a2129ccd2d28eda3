"""The lines of ``postil analyse --json``: one JSON object a score (JSON Lines).

Conventions: times are quarter notes from the start of the written score, rounded to 6
decimals; confidences are rounded to 4. Every field is there, empty where nothing is computed.
An object is built as a plain mapping, so that a test or another document may read it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from fractions import Fraction

from core.directions.meaning import Meaning
from core.errors import PostilError, UnreadableFileError, UnsupportedScoreError
from core.exchange.contract_directions import meaning_fields
from core.exchange.contract_form import (
    accompaniment_entries,
    inferred_metre_entries,
    recurrence_entries,
    section_entries,
)
from core.exchange.contract_tonality import (
    cadence_entries,
    harmony_entries,
    key_entry,
    key_region_entries,
    scale_region_entries,
    tonic_rival_entries,
)
from core.notebook.analyses import Analysis, PrintedDirection

ANALYSIS_SCHEMA = "postil.analysis/1"
TIME_DECIMALS = 6
CONFIDENCE_DECIMALS = 4
ERROR_KINDS: Mapping[type[PostilError], str] = {
    UnreadableFileError: "unreadable",
    UnsupportedScoreError: "unsupported",
}
UNEXPECTED = "unexpected"
"""Kind of an error that is a bug, or the end of the process that worked on the score."""


def analysis_object(analysis: Analysis, *, path: str) -> dict[str, object]:
    """The object of one score; ``path`` as the person named it."""
    return {
        "schema": ANALYSIS_SCHEMA,
        "source": _source(analysis, path),
        "key": None if analysis.key is None else key_entry(analysis.key),
        "key_regions": key_region_entries(analysis),
        "scale_regions": scale_region_entries(analysis),
        "tonic_rivals": tonic_rival_entries(analysis),
        "harmony": harmony_entries(analysis),
        "cadences": cadence_entries(analysis),
        "metre": _metre(analysis),
        "playing_order": list(analysis.playing_order.measure_indices),
        "repairs": [
            {"measure_index": repair.measure_index, "rule": repair.rule}
            for repair in analysis.playing_order.repairs
        ],
        "sections": section_entries(analysis),
        "recurrences": recurrence_entries(analysis),
        "accompaniment": accompaniment_entries(analysis),
        "directions": [_direction(direction) for direction in analysis.directions],
    }


def error_object(error: Exception, *, path: str) -> dict[str, object]:
    """The object of a score that could not be analysed."""
    kind = next((kind for class_, kind in ERROR_KINDS.items() if isinstance(error, class_)), None)
    return {
        "source": {"path": _printable(path)},
        "error": {"kind": kind or UNEXPECTED, "message": _printable(str(error))},
    }


def json_line(entry: Mapping[str, object]) -> str:
    """One object on one line, without the line's end."""
    return json.dumps(entry, ensure_ascii=False, allow_nan=False)


def _source(analysis: Analysis, path: str) -> dict[str, object]:
    return {
        "path": _printable(path),
        "sha256": analysis.sha256,
        "title": analysis.title,
        "composer": analysis.composer,
        "measures": len(analysis.measure_numbers),
        "notes": analysis.note_count,
        "quarters": _time(analysis.duration_quarters),
    }


def _metre(analysis: Analysis) -> dict[str, object]:
    written = [
        {"start": _time(metre.onset_quarters), "signature": metre.signature}
        for metre in analysis.written_metre
    ]
    inferred = inferred_metre_entries(analysis)
    return {"written": written, "unbarred": analysis.is_unbarred, "inferred": inferred}


def _direction(direction: PrintedDirection) -> dict[str, object]:
    return {
        "measure_index": direction.measure_index,
        "measure_number": direction.measure_number,
        "start": _time(direction.onset_quarters),
        "staff": direction.staff,
        **meaning_fields(direction.meaning or Meaning(text=direction.text)),
    }


def _time(quarters: Fraction) -> float:
    return round(float(quarters), TIME_DECIMALS)


def _printable(text: str) -> str:
    """Text that UTF-8 can hold: a file's name may have bytes that are none."""
    return os.fsencode(text).decode("utf-8", "replace")
