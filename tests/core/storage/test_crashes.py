"""A process that is killed: what was committed stays, what was not is gone whole."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from core.storage import open_store
from tests.core.storage.notebooks import answer

pytestmark = pytest.mark.skipif(os.name != "posix", reason="SIGKILL is POSIX's")

WRITER = """
import os, signal, sys
from dataclasses import replace
from pathlib import Path
from core.storage import open_store
from tests.core.storage.notebooks import add_remark, NOW
path, manner = Path(sys.argv[1]), sys.argv[2]
store = open_store(path)
with store.unit_of_work() as work:
    piece = work.pieces.all()[0]
if manner == "after commit":
    add_remark(store, piece, "Kept.")
    os.kill(os.getpid(), signal.SIGKILL)
with store.unit_of_work() as work:
    for number in range(2000):  # more than SQLite's cache holds, so that some reaches the disk
        new = work.pieces.add(replace(piece, id=0, title="x" * 4000))
    work.pieces.remove(piece.id)
    os.kill(os.getpid(), signal.SIGKILL)
"""


def killed_writer(path: Path, manner: str) -> None:
    ran = subprocess.run([sys.executable, "-c", WRITER, str(path), manner], check=False)
    assert ran.returncode == -signal.SIGKILL


def test_a_committed_remark_survives_kill_9(path: Path) -> None:
    killed_writer(path, "after commit")
    store = open_store(path)
    assert not store.is_read_only
    with store.unit_of_work() as work:
        (remark,) = work.remarks.of_piece(work.pieces.all()[0].id)
    assert remark.body == "Kept."
    store.close()
    assert answer(path, "PRAGMA integrity_check") == "ok"


def test_an_unfinished_unit_leaves_nothing(path: Path) -> None:
    killed_writer(path, "before commit")
    store = open_store(path)
    with store.unit_of_work() as work:
        assert [piece.title for piece in work.pieces.all()] == ["Barcarolle"]
    store.close()
    assert answer(path, "PRAGMA integrity_check") == "ok"
    assert answer(path, "PRAGMA foreign_key_check") is None
