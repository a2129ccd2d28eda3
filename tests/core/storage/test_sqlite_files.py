"""One notebook in one file: made, opened twice, read-only, full, not one at all."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from core.errors import NewerNotebookError, StorageError
from core.storage import open_store
from core.storage.sqlite_files import create_file
from tests.core.storage.notebooks import (
    add_edition,
    add_piece,
    add_remark,
    answer,
    nobody_in_particular,
    run,
    titles,
)

posix_only = pytest.mark.skipif(os.name != "posix", reason="rights as POSIX has them")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a notebook with one piece is."""
    path = tmp_path / "notebook.postil"
    store = open_store(path)
    add_piece(store)
    store.close()
    return path


@pytest.fixture
def public_folder() -> Iterator[Path]:
    """A folder that anybody may enter; pytest's own are root's alone."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o777)
    yield folder
    folder.chmod(0o777)
    shutil.rmtree(folder)


def listing(folder: Path) -> dict[str, bytes]:
    return {each.name: each.read_bytes() for each in folder.iterdir() if each.is_file()}


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


def test_nothing_is_begun_twice_in_one_thread(path: Path) -> None:
    store = open_store(path)
    with store.unit_of_work(), pytest.raises(RuntimeError, match="a unit of work is open"):
        store.unit_of_work().__enter__()
    assert titles(store) == ["Barcarolle"]
    with pytest.raises(RuntimeError, match="outside of the unit of work's block"):
        store.unit_of_work().commit()
    store.close()


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
    store = open_store(path)  # its first page, which is all that opening reads, is whole
    with pytest.raises(StorageError, match=r"the notebook's file is damaged"):
        titles(store)
    store.close()


def test_a_newer_notebook_is_not_touched(path: Path) -> None:
    run(path, "UPDATE alembic_version SET version_num = '9999'")
    before = path.read_bytes()
    with pytest.raises(NewerNotebookError, match=r"version 9999 of its tables; this one knows"):
        open_store(path)
    assert path.read_bytes() == before
    run(path, "UPDATE alembic_version SET version_num = '0001'")
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


# --------------------------------------------------------------------- disks and their rights


@posix_only
def test_a_read_only_folder_is_read(public_folder: Path) -> None:
    path = public_folder / "notebook.postil"
    store = open_store(path)
    piece = add_piece(store)
    store.close()
    public_folder.chmod(0o555)
    path.chmod(0o444)
    before = listing(public_folder)
    with nobody_in_particular():
        store = open_store(path)
        assert store.is_read_only
        assert titles(store) == ["Barcarolle"]
        with pytest.raises(StorageError, match="folder or file can't be written, so it can only"):
            add_remark(store, piece)
        store.close()
    assert listing(public_folder) == before


@posix_only
def test_a_read_only_file_is_read(public_folder: Path) -> None:
    path = public_folder / "notebook.postil"
    store = open_store(path)
    piece = add_piece(store)
    store.close()
    path.chmod(0o444)
    with nobody_in_particular():
        store = open_store(path)
        assert store.is_read_only
        assert titles(store) == ["Barcarolle"]
        with pytest.raises(StorageError, match="folder or file can't be written, so it can only"):
            add_remark(store, piece)
        store.close()


@posix_only
def test_none_can_be_made_in_a_read_only_folder(public_folder: Path) -> None:
    public_folder.chmod(0o555)
    with nobody_in_particular():
        for path in (public_folder / "notebook.postil", public_folder / "new" / "notebook.postil"):
            with pytest.raises(StorageError, match=r"can't be written; choose another place"):
                open_store(path)
    assert list(public_folder.iterdir()) == []


@posix_only
def test_a_file_that_may_not_be_read(public_folder: Path) -> None:
    path = public_folder / "notebook.postil"
    open_store(path).close()
    path.chmod(0o000)
    with (
        nobody_in_particular(),
        pytest.raises(StorageError, match=r"the file can't be opened; check that it is there"),
    ):
        open_store(path)


@posix_only
def test_a_file_that_vanishes_loses_nothing_silently(path: Path) -> None:
    store = open_store(path)
    kept = path.rename(path.with_name("elsewhere.postil"))
    with pytest.raises(StorageError, match="moved or removed while it was open"):
        add_piece(store, "Lost?")
    kept.rename(path)
    add_piece(store, "Kept")
    assert titles(store) == ["Barcarolle", "Kept"]
    store.close()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 400 kB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(disk)]
    if shutil.which("mount") is None or subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("a small disk can only be mounted by root on Linux")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_keeps_what_was_there(small_disk: Path) -> None:
    path = small_disk / "notebook.postil"
    store = open_store(path)
    piece = add_piece(store)
    remark = add_remark(store, piece)
    with pytest.raises(StorageError, match=r"the disk is full; free some space.*as it was before"):
        add_edition(store, piece, original=bytes(1_000_000))
    with store.unit_of_work() as work:
        assert work.editions.of_piece(piece.id) == ()
        assert work.remarks.of_piece(piece.id) == (remark,)
    add_remark(store, piece, "There is room for this.")
    store.close()
    assert answer(path, "PRAGMA integrity_check") == "ok"
    assert answer(path, "SELECT count(*) FROM remarks") == 2


def test_no_half_notebook_on_a_full_disk(small_disk: Path) -> None:
    (small_disk / "ballast").write_bytes(bytes(380_000))
    path = small_disk / "notebook.postil"
    with pytest.raises(StorageError, match="the disk is full"):
        open_store(path)
    assert sorted(each.name for each in small_disk.iterdir()) == ["ballast", path.name + ".lock"]


LIMITED = """
import resource, sys
from pathlib import Path
from core.errors import StorageError
from core.storage import open_store
from tests.core.storage.notebooks import add_edition, add_piece, titles
store = open_store(Path(sys.argv[1]))
resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
piece = add_piece(store, "Before")
try:
    add_edition(store, piece, original=bytes(1_000_000))
except StorageError as error:
    print(error)
add_piece(store, "After")
print(titles(store))
"""


@posix_only
def test_a_write_that_the_disk_refuses(path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path)], capture_output=True, text=True, check=True
    )
    refused, listed = ran.stdout.splitlines()
    assert "the disk reports an error; check the disk and its free space." in refused
    assert listed == "['After', 'Barcarolle', 'Before']"
    assert answer(path, "PRAGMA integrity_check") == "ok"


def test_what_an_interrupted_making_left_is_no_hindrance(tmp_path: Path) -> None:
    path = tmp_path / "notebook.postil"
    path.with_name(path.name + ".new").write_bytes(b"half a notebook")
    create_file(path)
    open_store(path).close()
    assert not path.with_name(path.name + ".new").exists()


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
