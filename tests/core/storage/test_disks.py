"""Disks that are full or read-only, and files that vanish: the notebook stays as it was."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from core.errors import StorageError
from core.notebook.values import Piece
from core.storage import open_store
from core.storage.sqlite_files import create_file
from tests.core.storage.notebooks import (
    add_edition,
    add_piece,
    add_remark,
    answer,
    nobody_in_particular,
    titles,
)

posix_only = pytest.mark.skipif(os.name != "posix", reason="rights as POSIX has them")


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


def assert_only_read(path: Path, piece: Piece) -> None:
    """By a person who has no rights of their own."""
    with nobody_in_particular():
        store = open_store(path)
        assert store.is_read_only
        assert titles(store) == ["Barcarolle"]
        with pytest.raises(StorageError, match="folder or file can't be written, so it can only"):
            add_remark(store, piece)
        store.close()


@posix_only
def test_a_read_only_folder_is_read(public_folder: Path) -> None:
    path = public_folder / "notebook.postil"
    store = open_store(path)
    piece = add_piece(store)
    store.close()
    public_folder.chmod(0o555)
    path.chmod(0o444)
    before = listing(public_folder)
    assert_only_read(path, piece)
    assert listing(public_folder) == before


@posix_only
def test_a_read_only_file_is_read(public_folder: Path) -> None:
    path = public_folder / "notebook.postil"
    store = open_store(path)
    piece = add_piece(store)
    store.close()
    path.chmod(0o444)
    assert_only_read(path, piece)


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
