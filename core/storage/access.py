"""The one way from repositories to the database: errors translated, read-only notebooks kept so.

Statements are built once, with parameters, and not for each call: building one costs SQLAlchemy
more than SQLite needs to run it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import Any

from sqlalchemy import (
    BindParameter,
    Connection,
    CursorResult,
    Executable,
    Row,
    Select,
    Table,
    bindparam,
    func,
    select,
)
from sqlalchemy.exc import IntegrityError

from core.errors import ConflictError, MissingError

Columns = dict[str, Any]
Query = Select[*tuple[Any, ...]]

KEY: BindParameter[Any] = bindparam("key")
"""The parameter that a statement on one row, or on one row's children, is given."""


class Access:
    """Reads and writes of one unit of work.

    Parameters
    ----------
    connection : Connection
    translated : callable
        Gives a context that turns database errors into StorageError.
    forbid_if_read_only : callable
        Raises StorageError in a notebook that is open for reading only.
    """

    def __init__(
        self,
        connection: Connection,
        translated: Callable[[], AbstractContextManager[None]],
        forbid_if_read_only: Callable[[], None],
    ) -> None:
        self._connection = connection
        self._translated = translated
        self._forbid_if_read_only = forbid_if_read_only

    def all(self, query: Query, **parameters: object) -> Sequence[Row[Any]]:
        """All rows of a query."""
        with self._translated():
            return self._connection.execute(query, parameters).all()

    def first(self, query: Query, **parameters: object) -> Row[Any] | None:
        """The first row of a query."""
        with self._translated():
            return self._connection.execute(query, parameters).first()

    def write(
        self, statement: Executable, columns: Columns | list[Columns] | None = None
    ) -> CursorResult[Any]:
        """Run an insert, update or delete; with a list, once for each of it."""
        self._forbid_if_read_only()
        with self._translated():
            result: CursorResult[Any] = self._connection.execute(statement, columns)
            return result

    def insert(self, table: Table, columns: Columns, kind: str = "entry") -> int:
        """Insert a row, with its old id if ``columns`` has one; give its id (0 without one).

        Raises ConflictError if somebody else was faster (on a shared server).
        """
        try:
            result = self.write(table.insert(), columns)
        except IntegrityError as error:
            raise ConflictError(kind, columns.get("id", "")) from error
        if "id" in columns:
            self.never_give_again(table, columns["id"])
        key = result.inserted_primary_key
        return int(key[0]) if key and "id" in table.c else 0

    def insert_all(self, table: Table, columns: list[Columns]) -> None:
        """Insert many rows at once."""
        if columns:
            self.write(table.insert(), columns)

    def never_give_again(self, table: Table, key: int) -> None:
        """Let new ids go on after one that was brought along (SQLite sees to it itself)."""
        if self._connection.dialect.name == "postgresql":
            sequence = func.pg_get_serial_sequence(table.name, "id")
            self.write(select(func.setval(sequence, func.greatest(func.nextval(sequence), key))))

    def require(self, by_id: Query, kind: str, key: int) -> Row[Any]:
        """The row that a query by ``KEY`` finds. Raises MissingError."""
        row = self.first(by_id, key=key)
        if row is None:
            raise MissingError(kind, key)
        return row

    def refuse_known(self, by_id: Query, kind: str, key: int) -> None:
        """Raise ConflictError if a query by ``KEY`` finds a row."""
        if key and self.first(by_id, key=key) is not None:
            raise ConflictError(kind, key)

    def change(
        self, statement: Executable, kind: str, key: int, columns: Columns | None = None
    ) -> None:
        """Update or delete the row of ``KEY``. Raises MissingError."""
        if not self.write(statement, {**(columns or {}), "key": key}).rowcount:
            raise MissingError(kind, key)
