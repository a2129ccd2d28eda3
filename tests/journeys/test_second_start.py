"""Postil is started again while its window is open: that window takes the score."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.kept_where import HOME_VARIABLE, NOTEBOOK
from app.one_window import NO_ANSWER
from core.resources import sample_library
from core.storage import open_store

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform == "win32", reason="there every start has a window"),
]

CHECKOUT = Path(__file__).parents[2]
SAMPLE = sample_library() / "barcarolle.musicxml"
PATIENCE_SECONDS = 60


@pytest.fixture
def surroundings(tmp_path: Path) -> dict[str, str]:
    (tmp_path / "run").mkdir(mode=0o700)
    return {
        **os.environ,
        HOME_VARIABLE: str(tmp_path),
        "XDG_RUNTIME_DIR": str(tmp_path / "run"),
        "QT_QPA_PLATFORM": "offscreen",
    }


@pytest.fixture
def first(surroundings: dict[str, str]) -> Iterator[subprocess.Popen[bytes]]:
    """A window that listens."""
    running = subprocess.Popen(
        [sys.executable, "-m", "app.main"],
        cwd=CHECKOUT,
        env=surroundings,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    folder = Path(surroundings["XDG_RUNTIME_DIR"])
    give_up_at = time.monotonic() + PATIENCE_SECONDS
    while not is_answering(folder) and time.monotonic() < give_up_at:
        time.sleep(0.05)
    assert is_answering(folder)
    yield running
    running.kill()
    running.wait()


def is_answering(folder: Path) -> bool:
    """Whether the socket has its name; until it answers it has another one, with a suffix."""
    return any(not path.suffix for path in folder.iterdir())


def start(surroundings: dict[str, str], *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "app.main", *arguments],
        cwd=CHECKOUT,
        env=surroundings,
        capture_output=True,
        text=True,
        timeout=PATIENCE_SECONDS,
        check=False,
    )


def titles_in(notebook: Path) -> list[str]:
    store = open_store(notebook)
    try:
        with store.unit_of_work() as work:
            return [piece.title for piece in work.pieces.all()]
    finally:
        store.close()


def test_the_window_that_is_there_takes_the_score(
    first: subprocess.Popen[bytes], surroundings: dict[str, str], tmp_path: Path
) -> None:
    done = start(surroundings, "open", str(SAMPLE))
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    again = start(surroundings)
    assert (again.returncode, again.stderr) == (0, "")
    assert first.poll() is None
    give_up_at = time.monotonic() + PATIENCE_SECONDS
    while not (titles := titles_in(tmp_path / NOTEBOOK)) and time.monotonic() < give_up_at:
        time.sleep(0.2)
    assert titles == ["Barcarolle"]


def test_a_window_that_hangs_leaves_the_second_to_itself(
    first: subprocess.Popen[bytes], surroundings: dict[str, str]
) -> None:
    first.send_signal(signal.SIGSTOP)
    second = subprocess.Popen(
        [sys.executable, "-m", "app.main"],
        cwd=CHECKOUT,
        env=surroundings,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert second.stderr is not None
        assert second.stderr.readline() == f"{NO_ANSWER}\n"
        with pytest.raises(subprocess.TimeoutExpired):
            second.wait(2)
    finally:
        second.kill()
        second.communicate()
        first.send_signal(signal.SIGCONT)
