"""One window a notebook: scores are handed over, whatever became of the window that was there."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app import one_window
from app.callers import Callers, come_forward
from app.kept_where import HOME_VARIABLE
from app.one_window import hand_over, notebook_key, socket_path

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="there are no such sockets")

ROOT = Path(__file__).parents[2]


@pytest.fixture
def runtime(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for sockets, short enough for their names, and nobody's notebook."""
    folder = tmp_path_factory.mktemp("run")
    folder.chmod(0o700)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(folder))
    monkeypatch.setenv(HOME_VARIABLE, str(folder / "home"))
    monkeypatch.setattr(one_window, "ANSWER_SECONDS", 0.3)
    for name in one_window.TOKENS:
        monkeypatch.delenv(name, raising=False)
    return folder


@pytest.fixture
def callers(qtbot: QtBot, runtime: Path) -> Iterator[Callers]:
    made = Callers(notebook_key())
    assert made.listen()
    yield made
    made.close()


@pytest.fixture
def apart() -> Iterator[Callable[..., Future[bool]]]:
    """Hands over on another thread, as another process does."""
    with ThreadPoolExecutor(1) as pool:
        yield lambda *given: pool.submit(hand_over, *given)


def test_scores_are_handed_over(
    qtbot: QtBot, callers: Callers, apart: Callable[..., Future[bool]]
) -> None:
    with qtbot.waitSignal(callers.called) as called:
        done = apart(["a b.mxl", "/music/Übung.musicxml", "book.abc#2"], notebook_key())
    paths, token = called.args
    here = Path.cwd()
    assert paths == (here / "a b.mxl", Path("/music/Übung.musicxml"), here / "book.abc#2")
    assert token == ""
    qtbot.waitUntil(done.done)
    assert done.result()


def test_without_scores_the_window_is_only_called(
    qtbot: QtBot,
    callers: Callers,
    apart: Callable[..., Future[bool]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("XDG_ACTIVATION_TOKEN", "a-token")
    with qtbot.waitSignal(callers.called) as called:
        done = apart([], notebook_key())
    assert called.args == [(), "a-token"]
    qtbot.waitUntil(done.done)
    assert done.result()


def test_several_call_one_after_the_other(
    qtbot: QtBot, callers: Callers, apart: Callable[..., Future[bool]]
) -> None:
    taken: list[object] = []
    callers.called.connect(lambda paths, token: taken.append(paths[0].name))
    calls = [apart([f"{number}.mxl"], notebook_key()) for number in range(5)]
    qtbot.waitUntil(lambda: all(call.done() for call in calls))
    assert all(call.result() for call in calls)
    assert taken == [f"{number}.mxl" for number in range(5)]
    assert callers._lines == set()


def test_nobody_is_there(runtime: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert not hand_over(["a.mxl"], notebook_key())
    assert capsys.readouterr().err == ""


def test_a_window_that_hangs_is_given_up_with_a_sentence(
    callers: Callers, capsys: pytest.CaptureFixture[str]
) -> None:
    began = time.monotonic()
    # On this thread: its event loop does not run meanwhile.
    assert not hand_over(["a.mxl"], notebook_key())
    assert 0.2 < time.monotonic() - began < 2
    assert capsys.readouterr().err == f"{one_window.NO_ANSWER}\n"


def test_what_a_crash_left_behind_is_in_nobodys_way(qtbot: QtBot, runtime: Path) -> None:
    path = socket_path(notebook_key())
    assert path is not None
    left = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    left.bind(str(path))
    left.close()
    assert path.exists()
    assert not hand_over([], notebook_key())
    callers = Callers(notebook_key())
    assert callers.listen()
    callers.close()
    assert not path.exists()


def test_a_second_window_does_not_listen_and_leaves_the_first_its_door(
    qtbot: QtBot, callers: Callers
) -> None:
    second = Callers(notebook_key())
    assert not second.listen()
    second.close()
    path = socket_path(notebook_key())
    assert path is not None
    assert path.exists()


def test_another_notebook_of_the_same_short_name_is_refused(
    qtbot: QtBot,
    callers: Callers,
    apart: Callable[..., Future[bool]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    taken: list[object] = []
    callers.called.connect(lambda *given: taken.append(given))
    monkeypatch.setattr(one_window, "socket_path", lambda key: callers._path)
    done = apart([], "/another/notebook.postil")
    qtbot.waitUntil(done.done)
    assert not done.result()
    assert taken == []


def test_a_window_on_another_display_is_told_of(
    qtbot: QtBot,
    runtime: Path,
    apart: Callable[..., Future[bool]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setenv("DISPLAY", ":0")
    callers = Callers(notebook_key())
    assert callers.listen()
    monkeypatch.setenv("DISPLAY", "localhost:10.0")
    done = apart(["a.mxl"], notebook_key())
    qtbot.waitUntil(done.done)
    callers.close()
    assert not done.result()
    assert capsys.readouterr().err == f"{one_window.ON_ANOTHER_DISPLAY}\n"


def test_what_makes_no_sense_is_refused(qtbot: QtBot, callers: Callers) -> None:
    answers: list[bytes] = []

    def is_answered() -> bool:
        with suppress(BlockingIOError):
            answers.append(line.recv(64))
        return bool(answers)

    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
        line.connect(str(callers._path))
        line.sendall(b"GET / HTTP/1.1")
        line.shutdown(socket.SHUT_WR)
        line.setblocking(False)
        qtbot.waitUntil(is_answered)
    assert answers == [one_window.NOT_OURS]


def test_who_says_nothing_is_hung_up_on(
    qtbot: QtBot, callers: Callers, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.callers.PATIENCE_MS", 50)
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
        line.connect(str(callers._path))
        qtbot.waitUntil(lambda: bool(callers._lines))
        qtbot.waitUntil(lambda: not callers._lines)


def test_the_door_is_the_users_own(callers: Callers) -> None:
    assert callers._path is not None
    assert callers._path.stat().st_mode & 0o077 == 0


def test_a_folder_that_others_can_enter_is_not_used(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    given, other = tmp_path / "given", tmp_path / "tmp"
    given.mkdir(mode=0o755)
    given.chmod(0o755)
    other.mkdir()
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(given))
    monkeypatch.setenv("TMPDIR", str(other))
    path = socket_path("key")
    assert path is not None
    assert path.parent.parent == other
    assert path.parent.stat().st_mode & 0o777 == 0o700
    path.parent.chmod(0o777)
    assert socket_path("key") is None
    path.parent.rmdir()
    (other / "elsewhere").mkdir(mode=0o700)
    path.parent.symlink_to(other / "elsewhere")
    assert socket_path("key") is None


def test_a_name_too_long_for_a_socket_is_no_trouble(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    deep = tmp_path / ("d" * 120)
    deep.mkdir(mode=0o700)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(deep))
    callers = Callers("key")
    assert not callers.listen()
    callers.close()


def test_notebooks_are_told_apart(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path / "one"))
    one = notebook_key()
    assert one == str(tmp_path / "one" / "notebook.postil")
    assert notebook_key(str(tmp_path / "x" / ".." / "one" / "notebook.postil")) == one
    monkeypatch.delenv(HOME_VARIABLE)
    assert notebook_key() != one
    assert socket_path(one) != socket_path(notebook_key())


def test_a_window_comes_forward(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_ACTIVATION_TOKEN", "")
    window = QWidget()
    qtbot.addWidget(window)
    window.showMinimized()
    come_forward(window, "a-token")
    assert not window.windowState() & Qt.WindowState.WindowMinimized
    assert window.isVisible()
    assert os.environ["XDG_ACTIVATION_TOKEN"] == "a-token"


def test_the_question_loads_next_to_nothing(runtime: Path) -> None:
    program = (
        "import sys, app.main; before = set(sys.modules); "
        "from app.one_window import hand_over, notebook_key; hand_over(['a'], notebook_key()); "
        "print(sorted({'socket', 'json', 'platformdirs', 'PySide6', 'core', 'numpy', 'tempfile'} "
        "& (set(sys.modules) - before)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout == "[]\n"
