"""Analyses kept in the notebook; whatever is wrong with one, it is as if it were not there."""

from __future__ import annotations

import json
import pickle
import zlib
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from core.errors import UnreadableFileError
from core.notebook import analyses, kept_analyses
from core.notebook.analyses import Analysis, analyse_file
from core.notebook.analysis_jobs import analyse_canonical, analyse_to_keep
from core.notebook.kept_analyses import keep, kept, packed, unpacked
from core.notebook.pieces import keep_score, remove_piece, restore_piece
from core.notebook.ports import NotebookStore
from core.resources import sample_library
from core.score.reading import read_score
from core.storage import open_store

NOW = datetime(2025, 3, 1, 18, 30, tzinfo=UTC)
SAMPLE = sample_library() / "barcarolle.musicxml"


@cache
def sample() -> Analysis:
    return analyse_file(SAMPLE)


def bring_in(store: NotebookStore) -> int:
    return keep_score(store, read_score(SAMPLE), source_name=SAMPLE.name, now=NOW).piece.id


def kept_sample(store: NotebookStore) -> Analysis | None:
    return kept(store, sample().sha256, canonical_version=1)


def test_the_sample_s_analysis_comes_back_as_it_was(store: NotebookStore) -> None:
    bring_in(store)
    assert kept_sample(store) is None
    assert keep(store, sample(), canonical_version=1)
    assert kept_sample(store) == sample()


def test_keeping_again_replaces(store: NotebookStore) -> None:
    bring_in(store)
    keep(store, replace(sample(), title="Before"), canonical_version=1)
    keep(store, sample(), canonical_version=1)
    assert kept_sample(store) == sample()


def test_other_settings_and_versions_are_others(
    store: NotebookStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    bring_in(store)
    keep(store, sample(), canonical_version=1)
    with_settings = replace(sample(), title="With settings")
    keep(store, with_settings, canonical_version=1, settings="trills count")
    keep(store, replace(sample(), title="Later form"), canonical_version=2)
    assert kept_sample(store) == sample()
    found = kept(store, sample().sha256, canonical_version=1, settings="trills count")
    assert found == with_settings
    assert kept(store, "0" * 64, canonical_version=1) is None
    monkeypatch.setattr(kept_analyses, "ANALYSER_VERSION", analyses.ANALYSER_VERSION + 1)
    assert kept_sample(store) is None


def test_a_later_analyser_drops_what_earlier_ones_made(
    store: NotebookStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    bring_in(store)
    keep(store, sample(), canonical_version=1)
    with monkeypatch.context() as later:
        later.setattr(kept_analyses, "ANALYSER_VERSION", analyses.ANALYSER_VERSION + 1)
        keep(store, sample(), canonical_version=1)
        assert kept_sample(store) == sample()
    assert kept_sample(store) is None


def test_it_goes_with_its_piece_and_undoing_brings_only_the_piece_back(
    store: NotebookStore,
) -> None:
    piece_id = bring_in(store)
    keep(store, sample(), canonical_version=1)
    removed = remove_piece(store, piece_id)
    assert kept_sample(store) is None
    assert not keep(store, sample(), canonical_version=1)
    restore_piece(store, removed)
    assert kept_sample(store) is None
    assert keep(store, sample(), canonical_version=1)


def test_a_notebook_that_can_only_be_read_keeps_none(tmp_path: Path) -> None:
    first = open_store(tmp_path / "notebook.postil")
    bring_in(first)
    second = open_store(tmp_path / "notebook.postil")
    assert not keep(second, sample(), canonical_version=1)
    assert kept_sample(second) is None
    second.close()
    first.close()


def _json_of(payload: bytes) -> dict[str, object]:
    found: dict[str, object] = json.loads(zlib.decompress(payload[16:]))
    return found


def _with(change: Callable[[dict[str, object]], object]) -> bytes:
    payload = packed(sample())
    found = _json_of(payload)
    change(found)
    return payload[:16] + zlib.compress(json.dumps(found).encode())


def _point_past_the_end(found: dict[str, object]) -> None:
    found["playing_order"]["measure_indices"][0] = 999


def _claim_a_section(found: dict[str, object]) -> None:
    found["statements"][0]["section"] = -1


DAMAGED = {
    "empty": lambda: b"",
    "no shape": lambda: packed(sample())[16:],
    "another shape": lambda: b"0" * 16 + packed(sample())[16:],
    "cut off": lambda: packed(sample())[:-5],
    "a byte changed": lambda: packed(sample())[:60] + b"\xff" + packed(sample())[61:],
    "something behind": lambda: packed(sample()) + b"more",
    "a pickle": lambda: pickle.dumps(sample()),
    "a pickle inside": lambda: packed(sample())[:16] + zlib.compress(pickle.dumps(sample())),
    "a bomb": lambda: packed(sample())[:16] + zlib.compress(b" " * (2**26 + 1)),
    "no sha256": lambda: _with(lambda found: found.pop("sha256")),
    "a text for a number": lambda: _with(lambda found: found.update(note_count="many")),
    "an index past the end": lambda: _with(_point_past_the_end),
    "an index below 0": lambda: _with(_claim_a_section),
    "no onsets": lambda: _with(lambda found: found.update(measure_onsets_quarters=[])),
}


@pytest.mark.parametrize("what", DAMAGED)
def test_what_is_damaged_is_as_if_it_were_not_there(what: str) -> None:
    assert unpacked(packed(sample())) == sample()
    assert unpacked(DAMAGED[what]()) is None


def test_an_analysis_of_another_score_is_not_taken_for_this_one(store: NotebookStore) -> None:
    bring_in(store)
    keep(store, sample(), canonical_version=1)
    with store.unit_of_work() as work:
        key = kept_analyses._key(sample().sha256, 1, "")
        work.analyses.put(key, packed(replace(sample(), sha256="0" * 64)))
        work.commit()
    assert kept_sample(store) is None


def _parts(value: object) -> list[object]:
    if is_dataclass(value):
        inside = [getattr(value, field.name) for field in fields(value)]
    elif isinstance(value, tuple | list | frozenset):
        inside = list(value)
    elif isinstance(value, dict):
        inside = [*value, *value.values()]
    else:
        return [value]
    return [part for each in inside for part in _parts(each)]


def test_an_analysis_holds_nothing_of_numpy() -> None:
    parts = _parts(sample())
    assert len(parts) > 500
    assert [part for part in parts if isinstance(part, np.generic | np.ndarray)] == []


# -------------------------------------------------------------------------------------- as a job


def test_the_job_s_work_gives_what_the_command_line_gives() -> None:
    told: list[tuple[float, str]] = []
    score = read_score(SAMPLE).score
    found = analyse_canonical(
        score.canonical, score.sha256, lambda share, word: told.append((share, word))
    )
    # What was mended is known when the file is read, and gone from the canonical form.
    assert replace(found, oddities=sample().oddities) == sample()
    shares = [share for share, _word in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0, 1)
    words = [word for _share, word in told]
    assert words == [
        "getting ready",
        "reading",
        "sections and returns",
        "keys",
        "scales",
        "chords and cadences",
        "printed words",
        "done",
    ]


def test_the_job_packs_what_it_found() -> None:
    score = read_score(SAMPLE).score
    found, payload = analyse_to_keep(score.canonical, score.sha256, lambda _share, _word: None)
    assert unpacked(payload) == found


def test_a_damaged_canonical_form_is_a_sentence() -> None:
    with pytest.raises(UnreadableFileError, match=r"score abababababab"):
        analyse_canonical(b"<score-partwise>", "ab" * 32, lambda _share, _word: None)
