"""Kept analyses: what was computed once for a score is read again, not computed again.

Conventions: a kept analysis is a cache. Whatever is wrong with one (damaged, made by another
version, of a shape that is not today's), it is as if it were not there; none of it is a person's
work. Call these off the window's thread.
"""

from __future__ import annotations

import zlib

from core.errors import ConflictError, MissingError
from core.notebook.analyses import ANALYSER_VERSION, Analysis
from core.notebook.ports import NotebookStore
from core.notebook.typed_json import from_json, shape_of, to_json
from core.notebook.values import AnalysisKey

LARGEST_BYTES = 64 * 2**20
"""Of the JSON of an analysis; a larger one was made to fill the memory (a symphony has 5 MB)."""
_COMPRESSION = 3
"""Of zlib: 1 to 9. More takes longer and saves little."""


def kept(
    store: NotebookStore, score_sha256: str, *, canonical_version: int, settings: str = ""
) -> Analysis | None:
    """The analysis of a score as this version made it before; None where there is none.

    Parameters
    ----------
    store : NotebookStore
    score_sha256 : str
    canonical_version : int
        As in the edition.
    settings : str
        What else its outcome hangs on, as text.

    Raises
    ------
    StorageError
        The notebook can't be read.
    """
    key = _key(score_sha256, canonical_version, settings)
    with store.unit_of_work() as work:
        payload = work.analyses.get(key)
    analysis = None if payload is None else unpacked(payload)
    return analysis if analysis is not None and analysis.sha256 == score_sha256 else None


def keep(
    store: NotebookStore, analysis: Analysis, *, canonical_version: int, settings: str = ""
) -> bool:
    """Keep an analysis; give whether it is kept, as ``keep_packed`` does."""
    return keep_packed(
        store,
        analysis.sha256,
        packed(analysis),
        canonical_version=canonical_version,
        settings=settings,
    )


def keep_packed(
    store: NotebookStore,
    score_sha256: str,
    payload: bytes,
    *,
    canonical_version: int,
    settings: str = "",
) -> bool:
    """Keep what ``packed`` made of an analysis; give whether it is kept.

    It isn't in a notebook that can only be read, nor when its piece was removed meanwhile.

    Raises
    ------
    StorageError
        It can't be kept.
    """
    if store.is_read_only:
        return False
    try:
        with store.unit_of_work() as work:
            work.analyses.put(_key(score_sha256, canonical_version, settings), payload)
            work.commit()
    except (MissingError, ConflictError):  # conflict: somebody else kept the same one
        return False
    return True


def packed(analysis: Analysis) -> bytes:
    """An analysis as it is kept: the name of its shape, then JSON, compressed."""
    return _shape() + zlib.compress(to_json(analysis), _COMPRESSION)


def unpacked(payload: bytes) -> Analysis | None:
    """What ``packed`` made; None for anything else."""
    shape = _shape()
    if not payload.startswith(shape):
        return None
    try:
        analysis = from_json(Analysis, _inflated(payload[len(shape) :]))
    except (zlib.error, ValueError):
        return None
    return analysis if _holds_together(analysis) else None


def _key(score_sha256: str, canonical_version: int, settings: str) -> AnalysisKey:
    return AnalysisKey(
        score_sha256=score_sha256,
        canonical_version=canonical_version,
        analyser_version=ANALYSER_VERSION,
        settings=settings,
    )


def _shape() -> bytes:
    return shape_of(Analysis).encode()


def _inflated(data: bytes) -> bytes:
    reader = zlib.decompressobj()
    text = reader.decompress(data, LARGEST_BYTES)
    if not reader.eof or reader.unused_data:
        raise ValueError("cut off, too long, or followed by something else")
    return text


def _holds_together(analysis: Analysis) -> bool:
    """Whether every index points at something: whoever shows it doesn't ask again."""
    measures, sections = len(analysis.measure_numbers), analysis.form.sections
    owners = [
        owner
        for each in sections
        for owner in (each.value.parent, each.value.of)
        if owner is not None
    ]
    owners.extend(each.section for each in analysis.statements)
    return (
        len(analysis.measure_onsets_quarters) == measures + 1
        and len(analysis.form.facts) == len(sections)
        and all(0 <= each < measures for each in analysis.playing_order.measure_indices)
        and all(0 <= owner < len(sections) for owner in owners)
    )
