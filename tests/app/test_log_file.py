"""The log: where in the program it went wrong, and nobody's words."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.kept_where import HOME_VARIABLE, kept_in
from app.log_file import LOGGERS, LogFile
from app.messages import Messages
from core.errors import UnreadableFileError


@pytest.fixture
def log_path(tmp_path: Path) -> Iterator[Path]:
    path = tmp_path / "logs" / "postil.log"
    log_file = LogFile(lambda: path)
    log_file.begin()
    yield path
    log_file.end()


def fail_on(words: str) -> None:
    try:
        raise KeyError(words)
    except KeyError as error:
        raise ValueError(f"remark {words!r} has no place") from error


def test_nothing_is_made_before_something_is_to_be_said(log_path: Path) -> None:
    logging.getLogger("postil").info("all is well")
    assert not log_path.parent.exists()


def test_a_bug_is_logged_without_what_was_written(log_path: Path, qtbot: object) -> None:
    messages = Messages()
    try:
        fail_on("my secret thought")
    except ValueError as error:
        messages.tell(error)
    assert "my secret thought" in messages.shown[0].report
    text = log_path.read_text(encoding="utf-8")
    assert "unexpected error" in text
    assert "builtins.ValueError" in text
    assert "builtins.KeyError" in text
    assert "tests/app/test_log_file.py:" in text
    assert "in fail_on" in text
    assert "secret" not in text
    assert text.startswith("20")
    assert "Python 3." in text.splitlines()[0]


def test_words_that_another_handler_left_behind_are_dropped(log_path: Path) -> None:
    handler = logging.Handler()
    handler.emit = lambda record: logging.Formatter().format(record)  # type: ignore[method-assign,assignment,return-value]
    logger = logging.getLogger("app.somewhere")
    logger.addHandler(handler)
    try:
        fail_on("my secret thought")
    except ValueError:
        logger.exception("it failed")
    finally:
        logger.removeHandler(handler)
    text = log_path.read_text(encoding="utf-8")
    assert "builtins.ValueError" in text
    assert "secret" not in text


def test_a_terminal_sees_all_of_it(log_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    try:
        fail_on("my secret thought")
    except ValueError:
        logging.getLogger("postil").exception("unexpected error")
    assert "my secret thought" in capfd.readouterr().err


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_what_ends_a_thread_is_logged(log_path: Path) -> None:
    thread = threading.Thread(target=fail_on, args=("my secret thought",))
    thread.start()
    thread.join()
    text = log_path.read_text(encoding="utf-8")
    assert "a thread ended" in text
    assert "in fail_on" in text
    assert "secret" not in text


def test_what_a_person_can_act_on_is_not_logged(log_path: Path, qtbot: object) -> None:
    Messages().tell(UnreadableFileError("Anna's waltz.mxl", "It is no score."))
    assert not log_path.exists()


def test_a_home_folder_is_not_named(log_path: Path) -> None:
    code = compile("raise ValueError", "/home/anna/of/a/postil/app/desk/form.py", "exec")
    try:
        exec(code)
    except ValueError:
        logging.getLogger("postil").exception("unexpected error")
    text = log_path.read_text(encoding="utf-8")
    assert "postil/app/desk/form.py:1" in text
    assert "anna" not in text


def test_it_is_bounded(log_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.log_file.MOST_BYTES", 2000)
    for _ in range(200):
        logging.getLogger("app.score").error("engraving failed")
    files = sorted(log_path.parent.iterdir())
    assert [file.name for file in files] == ["postil.log", "postil.log.1", "postil.log.2"]
    assert all(file.stat().st_size <= 2000 for file in files)


def test_a_folder_that_can_not_be_made_adds_no_trouble(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    log_file = LogFile(lambda: tmp_path / "file" / "postil.log")
    log_file.begin()
    try:
        logging.getLogger("postil").error("unexpected error")
    finally:
        log_file.end()


def test_afterwards_nothing_is_taken(tmp_path: Path) -> None:
    log_file = LogFile(lambda: tmp_path / "postil.log")
    log_file.begin()
    log_file.end()
    assert not any(log_file in logging.getLogger(name).handlers for name in LOGGERS)


def test_it_lies_where_the_platform_keeps_logs(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv(HOME_VARIABLE, raising=False)
    kept = kept_in(tmp_path)
    assert kept.log.name == "postil.log"
    assert tmp_path not in kept.log.parents
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path))
    assert kept.log == tmp_path / "postil.log"
