"""A notebook in a database: one connection, one unit of work at a time."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import AbstractContextManager, suppress
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import SQLAlchemyError

from core.errors import StorageError
from core.notebook.ports import (
    AnalysisRepository,
    EditionRepository,
    JudgementRepository,
    PieceRepository,
    RemarkRepository,
)
from core.storage.access import Access
from core.storage.failures import as_storage_errors
from core.storage.finding_repositories import SqlAnalyses, SqlJudgements
from core.storage.repositories import SqlEditions, SqlPieces, SqlRemarks


class SqlNotebookStore:
    """NotebookStore over SQLAlchemy; made by ``open_store`` and ``open_store_url``.

    Parameters
    ----------
    engine : Engine
        With a pool of one connection.
    where : pathlib.Path
        What errors name: the file, or the database and its server.
    read_only_reason : str
        Why nothing can be written, as sentences; empty where it can.
    check_before_commit : callable
        Raises StorageError where a commit would be lost.
    on_close : callable
        Called once when the store is let go.
    """

    def __init__(
        self,
        engine: Engine,
        where: Path,
        *,
        read_only_reason: str = "",
        check_before_commit: Callable[[], None] = lambda: None,
        on_close: Callable[[], None] = lambda: None,
    ) -> None:
        self.where = where
        self.read_only_reason = read_only_reason
        self.check_before_commit = check_before_commit
        self._engine: Engine | None = engine
        self._on_close = on_close
        self._turn = threading.Lock()
        self._owner: int | None = None

    @property
    def is_read_only(self) -> bool:
        """Whether another process holds the notebook for writing, or the disk is read-only."""
        return bool(self.read_only_reason)

    def unit_of_work(self) -> SqlUnitOfWork:
        """Begin a transaction; another thread's unit of work is waited for."""
        return SqlUnitOfWork(self)

    def close(self) -> None:
        """Let the store go; safe to call twice. Another thread's unit of work is waited for.

        Raises
        ------
        RuntimeError
            This thread has a unit of work open.
        """
        self._refuse_nesting()
        with self._turn:
            if self._engine is None:
                return
            self._engine.dispose()
            self._engine = None
            self._on_close()

    def take_turn(self) -> Connection:
        """The connection, for the unit of work whose turn it is.

        Raises
        ------
        StorageError
            The store is closed or can't be reached.
        RuntimeError
            This thread has a unit of work open.
        """
        self._refuse_nesting()
        self._turn.acquire()
        self._owner = threading.get_ident()
        try:
            if self._engine is None:
                raise StorageError(self.where, "the notebook is closed; open it again.")
            with self.translated():
                return self._engine.connect()
        except BaseException:
            self.end_turn()
            raise

    def _refuse_nesting(self) -> None:
        # Waiting for oneself would be for ever.
        if self._owner == threading.get_ident():
            raise RuntimeError("a unit of work is open in this thread; pass it on instead")

    def end_turn(self) -> None:
        """The next unit of work may begin."""
        self._owner = None
        self._turn.release()

    def translated(self) -> AbstractContextManager[None]:
        """Turn errors of the database into StorageError."""
        return as_storage_errors(self.where)

    def forbid_if_read_only(self) -> None:
        """Raise StorageError where nothing can be written."""
        if self.read_only_reason:
            raise StorageError(self.where, self.read_only_reason)


class SqlUnitOfWork:
    """One transaction on a store."""

    pieces: PieceRepository
    editions: EditionRepository
    remarks: RemarkRepository
    judgements: JudgementRepository
    analyses: AnalysisRepository

    def __init__(self, store: SqlNotebookStore) -> None:
        self._store = store
        self._connection: Connection | None = None

    def __enter__(self) -> Self:
        store = self._store
        self._connection = store.take_turn()
        access = Access(self._connection, store.translated, store.forbid_if_read_only)
        self.pieces = SqlPieces(access)
        self.editions = SqlEditions(access)
        self.remarks = SqlRemarks(access)
        self.judgements = SqlJudgements(access)
        self.analyses = SqlAnalyses(access)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        connection, self._connection = self._connection, None
        if connection is None:
            return
        try:
            # A connection that broke has nothing to take back; its error is on its way already.
            with suppress(SQLAlchemyError):
                connection.close()
        finally:
            self._store.end_turn()

    def commit(self) -> None:
        """Keep everything done so far. Raises StorageError."""
        if self._connection is None:
            raise RuntimeError("commit outside of the unit of work's block")
        self._store.check_before_commit()
        with self._store.translated():
            self._connection.commit()
