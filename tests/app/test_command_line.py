"""The command line as a person meets it: what it prints, where, and its exit status."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
import types
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from app import commands, system_libraries
from app.main import run
from core.score.formats.converting import FORMAT_NAMES
from tests.app import batch_works

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_library" / "barcarolle.musicxml"


def postil(*arguments: str | Path, **options: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "app.main", *map(str, arguments)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
        **options,
    )


def lines(text: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in text.splitlines()]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three scores, one in a folder below, and what is no score."""
    for name in ("b.musicxml", "a.xml", "below/c.musicxml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        shutil.copy(SAMPLE, tmp_path / name)
    (tmp_path / "notes.txt").write_text("no score")
    (tmp_path / "._b.musicxml").write_text("left by another system")
    return tmp_path


# ------------------------------------------------------------------------------------ usage


def test_help_names_every_format(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        run(["analyse", "--help"])
    said = " ".join(capsys.readouterr().out.split())
    assert f"({', '.join(FORMAT_NAMES)})" in said


@pytest.mark.parametrize(
    "command", [[], ["open"], ["demo"], ["analyse"], ["directions"], ["install-desktop"]]
)
def test_every_command_has_help(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        run([*command, "--help"])
    assert stop.value.code == 0
    assert " ".join(["usage: postil", *command]) in capsys.readouterr().out


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        run(["--version"])
    assert stop.value.code == 0
    assert capsys.readouterr().out.startswith("postil ")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["analyse"], "the following arguments are required: SCORE|FOLDER"),
        (["analyse", "x", "--jobs", "0"], "argument --jobs: 0 is less than 1"),
        (["analyse", "x", "--jobs", "two"], "argument --jobs: 'two' is not a whole number"),
        (["analyse", "x", "--nonsense"], "unrecognized arguments: --nonsense"),
        (["open"], "the following arguments are required: SCORE"),
        (["play"], "invalid choice: 'play'"),
    ],
)
def test_wrong_usage(
    arguments: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stop:
        run(arguments)
    assert stop.value.code == 2
    assert message in capsys.readouterr().err


# --------------------------------------------------------------------------------- analyse


def test_a_report_for_a_reader(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["analyse", str(SAMPLE)]) == 0
    shown = capsys.readouterr()
    assert shown.err == ""
    title, *rows = shown.out.splitlines()
    assert title == "Barcarolle · Ottavia Brenn (invented)"
    report = {row[:14].strip(): row[14:] for row in rows}
    assert report["key"].startswith("G minor (")
    assert report["metre"] == "6/8"
    assert report["played"] == "1-4, 1-24"
    assert "Andantino" in report["directions"]


def test_json_holds_what_the_score_holds(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["analyse", str(SAMPLE), "--json"]) == 0
    (entry,) = lines(capsys.readouterr().out)
    assert entry["source"]["path"] == str(SAMPLE)
    assert entry["source"]["measures"] == 24
    assert entry["key"]["name"] == "G minor"
    assert entry["playing_order"] == [0, 1, 2, 3, *range(24)]
    assert entry["metre"]["written"] == [{"start": 0.0, "signature": "6/8"}]
    assert "come un\u2019onda lenta" in [each["text"] for each in entry["directions"]]


def test_the_order_is_that_of_the_input_and_failures_have_their_line(folder: Path) -> None:
    broken = folder / "broken.musicxml"
    broken.write_text("<score-partwise>")
    missing = folder / "missing.mxl"
    inputs = [folder / "below", broken, SAMPLE, missing, folder / "a.xml"]
    done = postil("analyse", *inputs, "--json", "--jobs", "2")
    assert done.returncode == 1
    entries = lines(done.stdout)
    expected = [folder / "below" / "c.musicxml", *inputs[1:]]
    assert [entry["source"]["path"] for entry in entries] == list(map(str, expected))
    assert ["error" in entry for entry in entries] == [False, True, False, True, False]
    assert entries[3]["error"]["kind"] == "unreadable"
    assert "The file is not there" in entries[3]["error"]["message"]
    assert f"postil: {missing}: The file is not there" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_is_walked_in_order_of_name(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["analyse", str(folder), "--json", "--jobs", "1"]) == 0
    paths = [entry["source"]["path"] for entry in lines(capsys.readouterr().out)]
    assert paths == [str(folder / name) for name in ("a.xml", "b.musicxml", "below/c.musicxml")]


def test_each_tune_of_a_book_has_its_line(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = folder / "below" / "book.abc"
    tunes = (f"X:{number}\nM:4/4\nL:1/4\nK:G\nGABc|d4|\n" for number in (1, 2))
    book.write_text("\n".join(tunes), encoding="utf-8")
    assert run(["analyse", str(book), str(book) + "#2", str(folder), "--json"]) == 0
    paths = [entry["source"]["path"] for entry in lines(capsys.readouterr().out)]
    both = [f"{book}#1", f"{book}#2"]
    below = [*both, str(folder / "below" / "c.musicxml")]
    assert paths == [*both, f"{book}#2", str(folder / "a.xml"), str(folder / "b.musicxml"), *below]


def test_a_folder_without_scores_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["analyse", str(tmp_path), "--json"]) == 1
    shown = capsys.readouterr()
    (entry,) = lines(shown.out)
    assert entry["source"]["path"] == str(tmp_path)
    assert "There is no score in this folder" in shown.err


def test_output_goes_to_a_file_at_once(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = folder / "out.jsonl"
    target.write_text("from before")
    assert run(["analyse", str(folder / "a.xml"), "--json", "--output", str(target)]) == 0
    assert capsys.readouterr().out == ""
    assert len(lines(target.read_text(encoding="utf-8"))) == 1
    assert not list(folder.glob(".out*"))


def test_a_link_stays_a_link(folder: Path) -> None:
    target, link = folder / "out.jsonl", folder / "link"
    target.write_text("from before")
    link.symlink_to(target)
    assert run(["analyse", str(SAMPLE), "--json", "--output", str(link)]) == 0
    assert link.is_symlink()
    assert len(lines(target.read_text(encoding="utf-8"))) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="there are no named pipes of this kind")
def test_a_pipe_is_written_to_and_stays_one(folder: Path) -> None:
    pipe = folder / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        assert run(["analyse", str(SAMPLE), "--output", str(pipe)]) == 0
        assert os.read(reader, 1 << 16).startswith("Barcarolle · ".encode())
    finally:
        os.close(reader)
    assert pipe.is_fifo()


@pytest.mark.skipif(sys.platform == "win32", reason="pipes break otherwise there")
def test_a_reader_that_has_seen_enough_is_no_error(folder: Path) -> None:
    running = subprocess.Popen(
        [sys.executable, "-m", "app.main", "analyse", *[str(SAMPLE)] * 40, "--json"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stdout is not None
    assert running.stderr is not None
    running.stdout.readline()
    running.stdout.close()
    assert running.stderr.read() == ""
    assert running.wait(timeout=30) == 1
    running.stderr.close()


def test_an_output_that_cannot_be_written_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = folder / "nowhere" / "out.jsonl"
    assert run(["analyse", str(SAMPLE), "--output", str(target)]) == 1
    assert f"The results can't be written to {target}" in capsys.readouterr().err


def test_a_full_disk_is_said() -> None:
    if not Path("/dev/full").exists():
        pytest.skip("needs /dev/full")
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "app.main", "analyse", str(SAMPLE)],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            timeout=60,
            check=False,
        )
    assert done.returncode == 1
    assert "The results can't be written to standard output" in done.stderr


@pytest.mark.skipif(not hasattr(signal, "setitimer"), reason="this system has no alarms")
def test_a_score_that_has_no_end_is_refused_with_a_reason(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(commands, "analyse_file", batch_works.never_ends)
    monkeypatch.setattr(commands, "analysing_seconds", lambda _path, _length: 0.2)
    path = folder / "a.xml"
    assert run(["analyse", str(path), "--json"]) == 1
    said = capsys.readouterr()
    (line,) = lines(said.out)
    assert line["source"] == {"path": str(path)}
    assert line["error"]["kind"] == "unreadable"
    assert (
        "a.xml: It was given up after 0 seconds: it seems to have no end"
        in (line["error"]["message"])
    )
    assert said.err.startswith(f"postil: {path}: It was given up")


@pytest.fixture
def stopped_with_control_c(folder: Path) -> Iterator[Callable[..., tuple[int, str]]]:
    """Begins a long batch, sends Ctrl-C so much later; gives its exit status and complaints."""
    begun: list[subprocess.Popen[str]] = []

    def stopped(jobs: str, after_seconds: float) -> tuple[int, str]:
        scores = [str(folder / "a.xml")] * 2000
        arguments = ["analyse", *scores, "--output", str(folder / "out.jsonl"), "--jobs", jobs]
        running = subprocess.Popen(
            [sys.executable, "-m", "app.main", *arguments],
            cwd=ROOT,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
            # Tests begun with "&" in a script inherit that Ctrl-C is ignored, and would hand it on.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        begun.append(running)
        give_up_at = time.monotonic() + 30
        while not list(folder.glob(".out*")) and time.monotonic() < give_up_at:
            time.sleep(0.005)
        time.sleep(after_seconds)
        # A terminal sends it to every process of the group.
        os.killpg(running.pid, signal.SIGINT)
        _, complaints = running.communicate(timeout=30)
        return running.returncode, complaints

    yield stopped
    for running in begun:
        with suppress(ProcessLookupError):
            os.killpg(running.pid, signal.SIGKILL)
        running.communicate()


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent otherwise there")
@pytest.mark.parametrize("jobs", ["1", "2"])
@pytest.mark.parametrize(
    "after_seconds",
    # Workers begin in the first third of a second, and work later.
    [0.0, pytest.param(0.05, marks=pytest.mark.slow), pytest.param(1.0, marks=pytest.mark.slow)],
)
def test_control_c_stops_and_leaves_nothing(
    folder: Path,
    stopped_with_control_c: Callable[..., tuple[int, str]],
    jobs: str,
    after_seconds: float,
) -> None:
    status, complaints = stopped_with_control_c(jobs, after_seconds)
    assert (status, complaints) == (130, "postil: Stopped.\n")
    assert list(folder.glob("*out*")) == list(folder.glob(".out*")) == []


# ----------------------------------------------------------------------------------- window


@pytest.fixture
def windows(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> list[tuple[Path | None, bool, tuple[Path, ...], Path | None]]:
    """What the window was opened on, without a window."""
    # Or a window on the developer's own notebook would be handed the scores.
    monkeypatch.setenv("POSTIL_HOME", str(tmp_path))
    opened: list[tuple[Path | None, bool, tuple[Path, ...], Path | None]] = []
    bootstrap = types.ModuleType("app.bootstrap")

    def run_window(
        score_path: Path | None,
        *,
        demo: bool = False,
        scores: tuple[Path, ...] = (),
        notebook: Path | None = None,
    ) -> int:
        opened.append((score_path, demo, scores, notebook))
        return 0

    bootstrap.run_window = run_window  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "app.bootstrap", bootstrap)
    return opened


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        ([], (None, False, (), None)),
        (["open", "a b.mxl"], (Path("a b.mxl"), False, (), None)),
        (["open", "a.mxl", "b.abc#2"], (None, False, (Path("a.mxl"), Path("b.abc#2")), None)),
        (["demo"], (None, True, (), None)),
    ],
)
def test_the_window_is_opened(
    windows: list[object], arguments: Sequence[str], expected: tuple[object, ...]
) -> None:
    assert run(arguments) == 0
    assert windows == [expected]


def test_another_notebook_is_opened(windows: list[object], tmp_path: Path) -> None:
    notebook = tmp_path / "school.postil"
    notebook.touch()
    assert run(["open", str(notebook)]) == 0
    assert windows == [(None, False, (), notebook)]


@pytest.mark.parametrize(
    ("arguments", "status", "sentence"),
    [
        (["none.postil"], 1, "postil: none.postil: There is no notebook here.\n"),
        (["a.mxl", "x.postil"], 2, "postil: A notebook is opened by itself, without scores.\n"),
    ],
)
def test_a_notebook_that_can_not_be_opened(
    windows: list[object],
    arguments: Sequence[str],
    status: int,
    sentence: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["open", *arguments]) == status
    assert capsys.readouterr().err == sentence
    assert windows == []


def test_without_a_display_the_window_says_so(
    windows: list[object],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(system_libraries, "has_display", lambda: False)
    assert run([]) == 1
    assert capsys.readouterr().err.strip() == system_libraries.no_display_sentence()
    assert windows == []


def test_missing_libraries_are_named(
    windows: list[object],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(system_libraries, "explain_missing", lambda: "Install libegl1.")
    assert run(["demo"]) == 1
    assert capsys.readouterr().err == "Install libegl1.\n"
    assert windows == []
