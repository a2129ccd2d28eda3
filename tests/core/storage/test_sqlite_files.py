"""One notebook in one file: made, opened, opened twice, not one at all."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from core.errors import NewerNotebookError, StorageError
from core.storage import open_store, sqlite_files
from core.storage.schema import REVISIONS
from core.storage.sqlite_files import connect
from tests.core.storage.notebooks import (
    add_piece,
    run,
    titles,
)

posix_only = pytest.mark.skipif(os.name != "posix", reason="rights as POSIX has them")


# ----------------------------------------------------------------------------------- opening


def test_folder_and_file_are_made(tmp_path: Path) -> None:
    path = tmp_path / "new folder?" / "été #1" / "notebook 100%.postil"
    store = open_store(path)
    assert not store.is_read_only
    add_piece(store)
    store.close()
    assert sorted(each.name for each in path.parent.iterdir()) == [path.name, path.name + ".lock"]


def test_an_empty_file_becomes_a_notebook(tmp_path: Path) -> None:
    path = tmp_path / "notebook.postil"
    path.touch()
    store = open_store(path)
    add_piece(store)
    assert titles(store) == ["Barcarolle"]
    store.close()


def test_the_connection_is_set_for_safety(path: Path) -> None:
    store = open_store(path)
    with store.take_turn() as connection:
        told = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        }
    store.end_turn()
    store.close()
    # SQLite: PRAGMA synchronous, 2 is FULL.
    assert told == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def test_what_would_wait_for_itself_is_refused(path: Path) -> None:
    store = open_store(path)
    with pytest.raises(RuntimeError, match="outside of the unit of work's block"):
        store.unit_of_work().commit()
    with store.unit_of_work(), pytest.raises(RuntimeError, match="a unit of work is open"):
        store.close()
    store.close()


@posix_only
def test_a_link_leads_to_the_notebook_itself(tmp_path: Path, path: Path) -> None:
    link = tmp_path / "somewhere" / "link.postil"
    link.parent.mkdir()
    link.symlink_to(path)
    first, second = open_store(link), open_store(path)
    assert (first.is_read_only, second.is_read_only) == (False, True)
    first.close()
    second.close()
    assert link.is_symlink()
    assert [each.name for each in link.parent.iterdir()] == ["link.postil"]


def test_a_folder_in_its_place(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match=r"this is a folder, not a notebook; choose a file"):
        open_store(tmp_path)


def test_a_file_where_a_folder_is_needed(path: Path) -> None:
    with pytest.raises(StorageError, match="a file stands where a folder is needed"):
        open_store(path / "notebook.postil")


@pytest.mark.parametrize(
    "content", [b"x", b"PK\x03\x04" * 500, b"SQLite format 3\0" + b"\xff" * 2000]
)
def test_not_a_database(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "notebook.postil"
    path.write_bytes(content)
    with pytest.raises(StorageError, match=r"notebook\.postil: this file is not a notebook"):
        open_store(path)
    assert path.read_bytes() == content


@pytest.mark.parametrize(
    "sql",
    [
        "CREATE TABLE songs (id INTEGER)",
        "CREATE TABLE alembic_version (version_num TEXT);"
        "INSERT INTO alembic_version VALUES ('0001')",
    ],
)
def test_another_programs_database(tmp_path: Path, sql: str) -> None:
    path = tmp_path / "notebook.postil"
    run(path, sql)
    before = path.read_bytes()
    with pytest.raises(StorageError, match=r"this file is not a notebook.*was not touched"):
        open_store(path)
    assert path.read_bytes() == before
    path.unlink()
    open_store(path).close()  # the lock was let go


def test_a_damaged_notebook(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2 // 4096 * 4096])
    with pytest.raises(StorageError, match=r"the notebook's file is damaged"):
        open_store(path)


def test_a_newer_notebook_is_not_touched(path: Path) -> None:
    run(path, "UPDATE alembic_version SET version_num = '9999'")
    before = path.read_bytes()
    with pytest.raises(NewerNotebookError, match=r"version 9999 of its tables; this one knows"):
        open_store(path)
    assert path.read_bytes() == before
    run(path, f"UPDATE alembic_version SET version_num = '{REVISIONS[-1]}'")
    store = open_store(path)
    assert not store.is_read_only
    store.close()


# ------------------------------------------------------------------------------- two at once


def test_the_second_one_reads_and_says_so(path: Path) -> None:
    first = open_store(path)
    second = open_store(path)
    assert (first.is_read_only, second.is_read_only) == (False, True)
    piece = add_piece(first, "Nocturne")
    assert titles(second) == ["Barcarolle", "Nocturne"]
    said = r"notebook\.postil: another Postil has this notebook open.*close it there"
    for write in WRITES:
        with second.unit_of_work() as work, pytest.raises(StorageError, match=said):
            write(work, piece)
    first.close()
    third = open_store(path)
    assert not third.is_read_only
    assert titles(third) == ["Barcarolle", "Nocturne"]
    second.close()
    third.close()


WRITES: list[Callable[..., object]] = [
    lambda work, piece: work.pieces.add(
        piece.__class__(title="", composer="", created_at=piece.created_at)
    ),
    lambda work, piece: work.pieces.replace(piece),
    lambda work, piece: work.pieces.remove(piece.id),
    lambda work, piece: work.remarks.remove(1),
    lambda work, piece: work.remarks.forget_versions(1),
]


HOLDER = """
import sys
from pathlib import Path
from core.storage import open_store
store = open_store(Path(sys.argv[1]))
print(store.is_read_only, flush=True)
sys.stdin.read()
"""


def test_a_killed_process_lets_the_notebook_go(path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "False\n"
        second = open_store(path)
        assert second.is_read_only
        second.close()
        holder.kill()
    third = open_store(path)
    assert not third.is_read_only
    third.close()


def test_another_program_that_writes(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite_files, "BUSY_SECONDS", 0.05)
    store = open_store(path)
    with closing(connect(path, "rw")) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StorageError, match="another program is using the notebook; close it"):
            add_piece(store)
    add_piece(store, "Afterwards")
    assert titles(store) == ["Afterwards", "Barcarolle"]
    store.close()


# ---------------------------------------------------------------------------------- start-up

UP_TO_DATE = """
import sys
from pathlib import Path
from core.storage import open_store
open_store(Path(sys.argv[1])).close()
heavy = {"alembic", "mako", "numpy", "psycopg", "sqlalchemy.orm", "core.score.score"}
print(sorted(heavy & set(sys.modules)))
"""


def test_an_up_to_date_notebook_loads_nothing_that_it_does_not_need(path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", UP_TO_DATE, str(path)], capture_output=True, text=True, check=True
    )
    assert ran.stdout == "[]\n"
