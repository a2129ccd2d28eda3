"""How long a file may take: ten seconds when short, in proportion to its length when long."""

from __future__ import annotations

import os
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest

from app.patience import (
    LEAST_SECONDS,
    MOST_SECONDS,
    analysing_seconds,
    length_bytes,
    reading_cost,
    reading_seconds,
)
from app.processor_time import Allowance, ProcessorTime, processor_time

KB, MB = 2**10, 2**20


@pytest.mark.parametrize("name", ["a.musicxml", "a.MXL", "a.mei", "a.krn", "a.abc#3", "a.mid", "a"])
def test_what_is_short_has_ten_seconds(name: str) -> None:
    assert reading_seconds(Path(name), 20 * KB) == LEAST_SECONDS == 10
    assert analysing_seconds(Path(name), 10 * KB) == LEAST_SECONDS


def test_what_is_long_may_take_long_and_has_an_end() -> None:
    opera, long_kern = Path("opera.musicxml"), Path("long.krn")
    assert reading_seconds(opera, 4 * MB) == pytest.approx(40.96)
    assert reading_seconds(long_kern, 200 * KB) == pytest.approx(60)
    assert analysing_seconds(long_kern, 200 * KB) == pytest.approx(180)
    assert reading_seconds(opera, 10**12) == MOST_SECONDS


def test_a_packed_score_is_as_long_as_what_is_in_it(tmp_path: Path) -> None:
    path = tmp_path / "a.mxl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("META-INF/container.xml", "short")
        packed.writestr("score.xml", " " * MB)
    assert length_bytes(path) == MB
    assert path.stat().st_size < 10 * KB


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 broken"])
def test_what_can_not_be_told_is_nothing(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.mxl"
    path.write_bytes(content)
    assert length_bytes(path) == 0
    assert length_bytes(tmp_path / "gone.xml") == 0
    assert length_bytes(Path("bad\0name.xml")) == 0


def test_a_tune_is_no_book(tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_bytes(b"X:1\n" * 10_000)
    assert length_bytes(book) == 40_000
    assert length_bytes(tmp_path / "book.abc#7") == KB


def test_longer_costs_more_and_even_nothing_costs() -> None:
    path = Path("a.krn")
    assert 0 < reading_cost(path, 0) < reading_cost(path, KB) < reading_cost(path, MB)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells")
def test_work_takes_time_of_the_processor_and_sleep_takes_none() -> None:
    before = processor_time(os.getpid())
    assert before is not None
    began = time.process_time()
    while time.process_time() - began < 0.1:
        pass
    worked = processor_time(os.getpid())
    assert worked is not None
    assert 0.05 <= worked.seconds - before.seconds <= 0.3
    assert worked.is_runnable
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as asleep:
        give_up_at = time.monotonic() + 30
        while (told := processor_time(asleep.pid)) and told.is_runnable:
            assert time.monotonic() < give_up_at
            time.sleep(0.01)
        assert told is not None
        asleep.communicate(b"\n")
    assert processor_time(asleep.pid) is None
    assert processor_time(None) is None


class Clock:
    """A clock and a process as the allowance sees them."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now = 0.0
        self.used: ProcessorTime | None = ProcessorTime(5.0, True)
        monkeypatch.setattr("app.processor_time.time.monotonic", lambda: self.now)
        monkeypatch.setattr("app.processor_time.processor_time", lambda _pid: self.used)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch)


def test_work_that_has_the_processor_is_given_up_in_time(clock: Clock) -> None:
    allowance = Allowance(10.0, 1)
    assert allowance.left_seconds() == 10
    clock.now, clock.used = 4.0, ProcessorTime(9.0, True)
    assert allowance.left_seconds() == 6
    clock.now, clock.used = 10.0, ProcessorTime(15.0, True)
    assert allowance.left_seconds() == 0


def test_work_that_gets_little_of_the_processor_may_take_as_long_as_it_takes(clock: Clock) -> None:
    allowance = Allowance(10.0, 1)
    clock.now, clock.used = 10.0, ProcessorTime(6.0, True)
    assert allowance.left_seconds() == 9
    clock.now, clock.used = 100.0, ProcessorTime(12.0, True)
    assert allowance.left_seconds() == 3
    clock.now, clock.used = 103.0, ProcessorTime(15.0, True)
    assert allowance.left_seconds() == 0


def test_work_that_waits_for_something_else_has_three_times_as_long(clock: Clock) -> None:
    allowance = Allowance(10.0, 1)
    clock.used = ProcessorTime(5.0, False)
    clock.now = 10.0
    assert allowance.left_seconds() == 10
    clock.now = 30.0
    assert allowance.left_seconds() == 0


def test_where_the_system_does_not_tell_it_goes_by_the_clock(clock: Clock) -> None:
    clock.used = None
    allowance = Allowance(10.0, 1)
    clock.now = 9.5
    assert allowance.left_seconds() == 0.5
    clock.now = 10.0
    assert allowance.left_seconds() == 0
