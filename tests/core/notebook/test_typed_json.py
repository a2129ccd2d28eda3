"""Values as JSON and back by their types."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.analysis.keys import KEYS, Key
from core.notebook.analyses import Analysis
from core.notebook.typed_json import from_json, shape_of, to_json
from core.score.findings import Finding
from core.score.places import Passage, Place


class Colour(StrEnum):
    RED = "red"
    BLUE = "blue"


@dataclass(frozen=True, slots=True, kw_only=True)
class Everything:
    """Each thing that a value may be made of."""

    words: str
    share: float
    count: int
    length: Fraction
    is_so: bool
    side: Literal["left", "right"]
    colour: Colour
    passage: Passage | None
    keys: tuple[Finding[Key], ...]
    pairs: tuple[tuple[str, float], ...]
    numbered: dict[int, Fraction]
    of_one_kind: frozenset[int]
    late: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lately:
    words: str
    late: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LatelyWithMore:
    words: str
    late: tuple[int, ...] = ()
    later: int = 0


FRACTIONS = st.fractions(max_denominator=10**6)
PLACES = st.builds(
    Place,
    measure_index=st.integers(0, 2**31),
    offset_quarters=st.fractions(min_value=0, max_denominator=10**6),
    staff=st.none() | st.integers(1, 9),
    voice=st.none() | st.text(),
    note_id=st.none() | st.text(),
)
PASSAGES = st.lists(PLACES, min_size=2, max_size=2).map(
    lambda ends: Passage(
        start=min(ends, key=lambda place: place.moment),
        end=max(ends, key=lambda place: place.moment),
    )
)
SHARES = st.floats(0, 1)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
FINDINGS = st.builds(
    Finding,
    kind=TEXTS,
    passage=st.none() | PASSAGES,
    value=st.sampled_from(KEYS),
    confidence=SHARES,
    alternatives=st.lists(st.tuples(st.sampled_from(KEYS), SHARES)).map(tuple),
    evidence=st.lists(TEXTS).map(tuple),
)
EVERYTHING = st.builds(
    Everything,
    words=TEXTS,
    share=st.floats(allow_nan=False, allow_infinity=False),
    count=st.integers(-(2**63), 2**63 - 1),
    length=FRACTIONS,
    is_so=st.booleans(),
    side=st.sampled_from(["left", "right"]),
    colour=st.sampled_from(Colour),
    passage=st.none() | PASSAGES,
    keys=st.lists(FINDINGS, max_size=3).map(tuple),
    pairs=st.lists(st.tuples(TEXTS, SHARES), max_size=3).map(tuple),
    numbered=st.dictionaries(st.integers(0, 99), FRACTIONS, max_size=3),
    of_one_kind=st.frozensets(st.integers(0, 99), max_size=3),
    late=st.lists(st.integers(0, 99), max_size=3).map(tuple),
)


@settings(deadline=None)
@given(EVERYTHING)
def test_any_value_comes_back(value: Everything) -> None:
    again = from_json(Everything, to_json(value))
    assert again == value
    assert type(again.colour) is Colour
    assert all(type(found.value) is Key for found in again.keys)


@settings(deadline=None)
@given(st.binary())
def test_noise_is_never_taken_for_a_value(noise: bytes) -> None:
    with pytest.raises(ValueError, match="data hold no Everything"):
        from_json(Everything, noise)


@settings(deadline=None)
@given(EVERYTHING, st.data())
def test_a_cut_off_value_is_damaged(value: Everything, data: st.DataObject) -> None:
    text = to_json(value)
    length = data.draw(st.integers(0, len(text) - 1))
    with pytest.raises(ValueError, match="data hold no Everything"):
        from_json(Everything, text[:length])


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (Place, b'{"measure_index": -1}'),
        (Place, b'{"measure_index": 1, "offset_quarters": "1/0"}'),
        (Place, b'{"measure_index": 1, "offset_quarters": "one"}'),
        (Place, b'{"measure_index": 1, "offset_quarters": 0.5}'),
        (Place, b'{"measure_index": "1"}'),
        (Place, b"{}"),
        (Place, b"[" * 100_000),
        (Key, b'{"tonic": 1, "mode": "dorian"}'),
        (Finding, b'{"kind": "", "value": 1, "confidence": 2.0}'),
        (Place, b'{"measure_index": 1, "offset_quarters": "' + b"9" * 10_000 + b'"}'),
    ],
)
def test_what_breaks_a_rule_is_damaged(kind: type, text: bytes) -> None:
    with pytest.raises(ValueError, match=f"data hold no {kind.__name__}"):
        from_json(kind, text)


def test_numbers_of_numpy_become_plain_ones() -> None:
    finding = Finding(kind="", value=np.int16(3), confidence=np.float64(0.5))
    assert to_json(finding) == to_json(Finding(kind="", value=3, confidence=0.5))


def test_what_is_no_value_is_refused() -> None:
    with pytest.raises(TypeError, match="object can't be kept as JSON"):
        to_json(Finding(kind="", value=object(), confidence=0.5))


def test_a_field_more_is_another_shape() -> None:
    assert shape_of(Lately) != shape_of(LatelyWithMore)
    assert shape_of(Everything) != shape_of(Lately)


def test_a_shape_is_the_same_in_another_process() -> None:
    code = (
        "from core.notebook.typed_json import shape_of;"
        "from core.notebook.analyses import Analysis;"
        "print(shape_of(Analysis), end='')"
    )
    other = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONPATH": ":".join(sys.path), "PYTHONHASHSEED": "7"},
    )
    assert other.stdout == shape_of(Analysis)
