"""A notebook in memory, held to the same contract as the real stores."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, field, fields, replace
from types import TracebackType
from typing import Self, TypeVar

from core.errors import ConflictError, MissingError, StorageError
from core.notebook.order import shelf_order
from core.notebook.values import (
    AnalysisKey,
    Edition,
    Judgement,
    Piece,
    Remark,
    RemarkVersion,
)

Kept = TypeVar("Kept", Piece, Edition, Remark, Judgement)


@dataclass
class Shelves:
    """All that a fake notebook holds."""

    pieces: dict[int, Piece] = field(default_factory=dict)
    editions: dict[int, Edition] = field(default_factory=dict)
    contents: dict[int, tuple[bytes, bytes]] = field(default_factory=dict)
    remarks: dict[int, Remark] = field(default_factory=dict)
    versions: dict[int, tuple[RemarkVersion, ...]] = field(default_factory=dict)
    judgements: dict[int, Judgement] = field(default_factory=dict)
    analyses: dict[AnalysisKey, bytes] = field(default_factory=dict)
    last_id: int = 0

    def copied(self) -> Shelves:
        return Shelves(**{each.name: copy(getattr(self, each.name)) for each in fields(self)})

    def put(self, where: dict[int, Kept], kind: str, value: Kept) -> Kept:
        if value.id in where:
            raise ConflictError(kind, value.id)
        stored = value if value.id else replace(value, id=self.last_id + 1)
        self.last_id = max(self.last_id, stored.id)
        where[stored.id] = stored
        return stored


class FakePieces:
    def __init__(self, shelves: Shelves) -> None:
        self._shelves = shelves

    def add(self, piece: Piece) -> Piece:
        return self._shelves.put(self._shelves.pieces, "piece", piece)

    def get(self, piece_id: int) -> Piece:
        return _found(self._shelves.pieces, "piece", piece_id)

    def all(self) -> tuple[Piece, ...]:
        return shelf_order(self._shelves.pieces.values())

    def replace(self, piece: Piece) -> None:
        self.get(piece.id)
        self._shelves.pieces[piece.id] = piece

    def remove(self, piece_id: int) -> None:
        self.get(piece_id)
        del self._shelves.pieces[piece_id]
        for edition in FakeEditions(self._shelves).of_piece(piece_id):
            del self._shelves.editions[edition.id], self._shelves.contents[edition.id]
            FakeAnalyses(self._shelves).forget(edition.score_sha256)
        remarks = FakeRemarks(self._shelves)
        for remark in remarks.of_piece(piece_id):
            remarks.remove(remark.id)
        judgements = FakeJudgements(self._shelves)
        for judgement in judgements.of_piece(piece_id):
            judgements.remove(judgement.id)


class FakeEditions:
    def __init__(self, shelves: Shelves) -> None:
        self._shelves = shelves

    def add(self, edition: Edition, original: bytes, canonical: bytes) -> Edition:
        if self.by_hash(edition.score_sha256) is not None:
            raise ConflictError("score", edition.score_sha256)
        _found(self._shelves.pieces, "piece", edition.piece_id)
        stored = self._shelves.put(self._shelves.editions, "edition", edition)
        self._shelves.contents[stored.id] = (original, canonical)
        return stored

    def of_piece(self, piece_id: int) -> tuple[Edition, ...]:
        own = [e for e in self._shelves.editions.values() if e.piece_id == piece_id]
        return tuple(sorted(own, key=lambda e: (e.imported_at, e.id), reverse=True))

    def by_hash(self, score_sha256: str) -> Edition | None:
        editions = self._shelves.editions.values()
        return next((e for e in editions if e.score_sha256 == score_sha256), None)

    def original(self, edition_id: int) -> bytes:
        return _found(self._shelves.contents, "edition", edition_id)[0]

    def canonical(self, edition_id: int) -> bytes:
        return _found(self._shelves.contents, "edition", edition_id)[1]


class FakeRemarks:
    def __init__(self, shelves: Shelves) -> None:
        self._shelves = shelves

    def add(self, remark: Remark) -> Remark:
        _found(self._shelves.pieces, "piece", remark.piece_id)
        return self._shelves.put(self._shelves.remarks, "remark", remark)

    def add_removed(self, remarks: Sequence[Remark], versions: Sequence[RemarkVersion]) -> None:
        for remark in remarks:
            if not remark.id:
                raise ValueError(f"remark {remark.body!r} has id 0; a new one? Use add")
            self.add(remark)
        for version in reversed(versions):
            self.add_version(version)

    def get(self, remark_id: int) -> Remark:
        return _found(self._shelves.remarks, "remark", remark_id)

    def of_piece(self, piece_id: int) -> tuple[Remark, ...]:
        own = [r for r in self._shelves.remarks.values() if r.piece_id == piece_id]
        return tuple(sorted(own, key=lambda r: (r.created_at, r.id), reverse=True))

    def replace(self, remark: Remark) -> None:
        self.get(remark.id)
        self._shelves.remarks[remark.id] = remark

    def remove(self, remark_id: int) -> None:
        self.get(remark_id)
        del self._shelves.remarks[remark_id]
        self._shelves.versions.pop(remark_id, None)

    def add_version(self, version: RemarkVersion) -> None:
        self.get(version.remark_id)
        kept = self._shelves.versions.get(version.remark_id, ())
        self._shelves.versions[version.remark_id] = (version, *kept)

    def versions(self, remark_id: int) -> tuple[RemarkVersion, ...]:
        return self._shelves.versions.get(remark_id, ())

    def versions_of_piece(self, piece_id: int) -> tuple[RemarkVersion, ...]:
        owners = [remark.id for remark in self.of_piece(piece_id)]
        return tuple(version for owner in owners for version in self.versions(owner))

    def forget_versions(self, remark_id: int) -> None:
        self._shelves.versions.pop(remark_id, None)


class FakeJudgements:
    def __init__(self, shelves: Shelves) -> None:
        self._shelves = shelves

    def add(self, judgement: Judgement) -> Judgement:
        _found(self._shelves.pieces, "piece", judgement.piece_id)
        return self._shelves.put(self._shelves.judgements, "judgement", judgement)

    def get(self, judgement_id: int) -> Judgement:
        return _found(self._shelves.judgements, "judgement", judgement_id)

    def of_piece(self, piece_id: int) -> tuple[Judgement, ...]:
        own = [j for j in self._shelves.judgements.values() if j.piece_id == piece_id]
        return tuple(sorted(own, key=lambda j: (j.edited_at, j.id), reverse=True))

    def replace(self, judgement: Judgement) -> None:
        self.get(judgement.id)
        self._shelves.judgements[judgement.id] = judgement

    def remove(self, judgement_id: int) -> None:
        self.get(judgement_id)
        del self._shelves.judgements[judgement_id]


class FakeAnalyses:
    def __init__(self, shelves: Shelves) -> None:
        self._shelves = shelves

    def get(self, key: AnalysisKey) -> bytes | None:
        return self._shelves.analyses.get(key)

    def put(self, key: AnalysisKey, payload: bytes) -> None:
        if FakeEditions(self._shelves).by_hash(key.score_sha256) is None:
            raise MissingError("score", key.score_sha256)
        for other in list(self._shelves.analyses):
            is_same_score = other.score_sha256 == key.score_sha256
            if is_same_score and other.analyser_version < key.analyser_version:
                del self._shelves.analyses[other]
        self._shelves.analyses[key] = payload

    def forget(self, score_sha256: str) -> None:
        for key in [key for key in self._shelves.analyses if key.score_sha256 == score_sha256]:
            del self._shelves.analyses[key]


class FakeUnitOfWork:
    def __init__(self, store: FakeStore) -> None:
        self._store = store

    def __enter__(self) -> Self:
        store = self._store
        if store.owner == threading.get_ident():
            raise RuntimeError("a unit of work is open in this thread; pass it on instead")
        store.turn.acquire()
        if store.is_closed:
            store.turn.release()
            raise StorageError("memory", "the notebook is closed; open it again.")
        store.owner = threading.get_ident()
        self._begin()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """What wasn't committed goes with this unit of work."""
        self._store.owner = None
        self._store.turn.release()

    def commit(self) -> None:
        self._store.shelves = self._shelves.copied()

    def _begin(self) -> None:
        self._shelves = self._store.shelves.copied()
        self.pieces = FakePieces(self._shelves)
        self.editions = FakeEditions(self._shelves)
        self.remarks = FakeRemarks(self._shelves)
        self.judgements = FakeJudgements(self._shelves)
        self.analyses = FakeAnalyses(self._shelves)


class FakeStore:
    """NotebookStore that forgets."""

    def __init__(self) -> None:
        self.shelves = Shelves()
        self.is_closed = False
        self.turn = threading.Lock()
        self.owner: int | None = None

    @property
    def is_read_only(self) -> bool:
        return False

    def unit_of_work(self) -> FakeUnitOfWork:
        return FakeUnitOfWork(self)

    def close(self) -> None:
        self.is_closed = True


Value = TypeVar("Value")


def _found(where: dict[int, Value], kind: str, key: int) -> Value:
    if key not in where:
        raise MissingError(kind, key)
    return where[key]
