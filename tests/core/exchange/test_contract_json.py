"""The JSON Lines of the command line hold every field, and nothing that is not computed."""

from __future__ import annotations

import json
import math
from fractions import Fraction
from typing import Any

import pytest

from core.analysis.cadences import Cadence
from core.analysis.harmony import Harmony
from core.analysis.keys import Key
from core.analysis.rivals import TonicRivals
from core.analysis.scales import ScaleInUse
from core.errors import UnreadableFileError, UnsupportedScoreError
from core.exchange.contract_json import analysis_object, error_object, json_line
from core.notebook.analyses import Analysis, PrintedDirection, WrittenMetre
from core.score.findings import Finding
from core.score.places import Passage, Place
from core.score.playing_order import PlayingOrder
from core.score.repeats import Repair

FIELDS = {
    "schema": str,
    "source": dict,
    "key": dict,
    "key_regions": list,
    "scale_regions": list,
    "tonic_rivals": list,
    "harmony": list,
    "cadences": list,
    "metre": dict,
    "playing_order": list,
    "repairs": list,
    "sections": list,
    "recurrences": list,
    "accompaniment": list,
    "directions": list,
}
NOTHING_FOUND = (
    "key_regions",
    "scale_regions",
    "tonic_rivals",
    "harmony",
    "cadences",
    "sections",
    "recurrences",
    "accompaniment",
)


def analysis(**changes: Any) -> Analysis:
    fields: dict[str, Any] = {
        "sha256": "ab" * 32,
        "title": "Étude",
        "composer": "Ottavia Brenn (invented)",
        "measure_numbers": ("0", "1", "1"),
        "note_count": 7,
        "duration_quarters": Fraction(25, 3),
        "key": Finding(
            kind="global key",
            value=Key(tonic=1, mode="minor"),
            confidence=0.93456,
            alternatives=((Key(tonic=-2, mode="major"), 0.05),),
            evidence=("n1", "n2"),
        ),
        "playing_order": PlayingOrder(
            measure_indices=(0, 1, 0, 1, 2), repairs=(Repair(measure_index=1, rule="So."),)
        ),
        "written_metre": (WrittenMetre(onset_quarters=Fraction(0), signature="4/4"),),
        "is_unbarred": False,
        "directions": (
            PrintedDirection(
                measure_index=2,
                measure_number="1",
                onset_quarters=Fraction(7, 3),
                staff=1,
                text="poco à poco",
            ),
        ),
    }
    return Analysis(**{**fields, **changes})


def test_every_field_is_there_with_its_type() -> None:
    entry = analysis_object(analysis(), path="a/étude.mxl")
    assert {name: type(value) for name, value in entry.items()} == FIELDS
    assert [entry[name] for name in NOTHING_FOUND] == [[]] * len(NOTHING_FOUND)


def unsaid(confidence: float) -> dict[str, object]:
    return {"confidence": confidence, "alternatives": [], "evidence": []}


def test_tonality_is_told_as_the_contract_has_it() -> None:
    first_two = Passage(start=Place(measure_index=0), end=Place(measure_index=2))
    dorian = ScaleInUse(tonic=1, scale="dorian", bent=("b2",))
    entry: dict[str, Any] = analysis_object(
        analysis(
            measure_onsets_quarters=(Fraction(0), Fraction(1), Fraction(3), Fraction(25, 3)),
            key_regions=(
                Finding(
                    kind="key region",
                    passage=first_two,
                    value=Key(tonic=1, mode="minor"),
                    confidence=0.7,
                    evidence=("n1",),
                ),
            ),
            scale_regions=(
                Finding(
                    kind="scale region",
                    passage=first_two,
                    value=dorian,
                    confidence=0.8,
                    alternatives=((ScaleInUse(tonic=1, scale="natural minor"), 0.12),),
                    evidence=("n2",),
                ),
            ),
            tonic_rivals=(
                Finding(
                    kind="tonic rivals",
                    passage=first_two,
                    value=TonicRivals(tonics=(1, 2), balance=0.52, chords="minor"),
                    confidence=0.6,
                ),
            ),
            harmony=(
                Finding(
                    kind="harmony",
                    passage=first_two,
                    value=Harmony(
                        root=1,
                        bass=-2,
                        quality="minor",
                        figure="i6",
                        key=Key(tonic=1, mode="minor"),
                    ),
                    confidence=0.9,
                ),
            ),
            cadences=(
                Finding(
                    kind="cadence",
                    passage=Passage.at(Place(measure_index=2)),
                    value=Cadence(kind="half", key=Key(tonic=1, mode="minor")),
                    confidence=0.5,
                    evidence=("n3",),
                ),
            ),
        ),
        path="x",
    )
    span = {"start": 0.0, "end": 3.0}
    assert entry["key_regions"] == [
        {**span, "name": "G minor", "confidence": 0.7, "alternatives": [], "evidence": ["n1"]}
    ]
    assert entry["scale_regions"] == [
        {
            **span,
            "tonic": "G",
            "scale": "dorian",
            "altered": [],
            "bent": ["b2"],
            "confidence": 0.8,
            "alternatives": [["G", "natural minor", []]],
            "evidence": ["n2"],
        }
    ]
    assert entry["tonic_rivals"] == [{**span, "tonics": ["G", "D"], "balance": 0.52, **unsaid(0.6)}]
    assert entry["harmony"] == [
        {
            **span,
            "root": "G",
            "quality": "minor",
            "bass": "Bb",
            "figure": "i6",
            "key": "G minor",
            **unsaid(0.9),
        }
    ]
    assert entry["cadences"] == [
        {"at": 3.0, "kind": "half", "key": "G minor", **unsaid(0.5), "evidence": ["n3"]}
    ]


def test_the_values_are_those_of_the_contract() -> None:
    entry: dict[str, Any] = analysis_object(analysis(), path="a/étude.mxl")
    assert entry["schema"] == "postil.analysis/1"
    assert entry["source"] == {
        "path": "a/étude.mxl",
        "sha256": "ab" * 32,
        "title": "Étude",
        "composer": "Ottavia Brenn (invented)",
        "measures": 3,
        "notes": 7,
        "quarters": 8.333333,
    }
    assert entry["key"] == {
        "name": "G minor",
        "confidence": 0.9346,
        "alternatives": [["Bb major", 0.05]],
        "evidence": ["n1", "n2"],
    }
    assert entry["metre"] == {
        "written": [{"start": 0.0, "signature": "4/4"}],
        "unbarred": False,
        "inferred": [],
    }
    assert entry["playing_order"] == [0, 1, 0, 1, 2]
    assert entry["repairs"] == [{"measure_index": 1, "rule": "So."}]


def test_a_direction_that_was_not_read_claims_no_meaning() -> None:
    entry: dict[str, Any] = analysis_object(analysis(), path="x")
    assert entry["directions"] == [
        {
            "measure_index": 2,
            "measure_number": "1",
            "start": 2.333333,
            "staff": 1,
            "text": "poco à poco",
            "language": None,
            "category": [],
            "normal_form": None,
            "translation": None,
            "known": False,
            "alternatives": [],
            "confidence": 0.0,
        }
    ]


def test_a_score_without_pitches_has_no_key() -> None:
    assert analysis_object(analysis(key=None), path="x")["key"] is None


@pytest.mark.parametrize(
    ("error", "kind", "message"),
    [
        (UnreadableFileError("a.mxl", "It is empty.", "line 1"), "unreadable", "a.mxl, line 1: It"),
        (UnsupportedScoreError("a.mxl", "It has no notes."), "unsupported", "a.mxl: It has no"),
        (ZeroDivisionError("division by zero"), "unexpected", "division by zero"),
    ],
)
def test_an_error_has_its_line(error: Exception, kind: str, message: str) -> None:
    entry: dict[str, Any] = error_object(error, path="a.mxl")
    assert entry["source"] == {"path": "a.mxl"}
    assert entry["error"]["kind"] == kind
    assert entry["error"]["message"].startswith(message)


def test_a_line_is_one_line_of_plain_utf8() -> None:
    entry = analysis_object(analysis(title="two\nlines \u2028 é"), path="\udcff.mxl")
    line = json_line(entry)
    assert len(line.splitlines()) == len("a\u2028b".splitlines())
    assert "\n" not in line
    assert json.loads(line.encode("utf-8"))["source"]["title"] == "two\nlines \u2028 é"


def test_numbers_that_json_has_no_word_for_are_refused() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_line({"balance": math.nan})
