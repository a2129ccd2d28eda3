"""The engraver in a process of its own: the same pages, and what happens when it dies."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from core.errors import UnsupportedScoreError
from core.resources import sample_library
from core.score.engraving import Engraver, PageLayout, PrintedWords
from core.score.engraving_process import EngravingProcess
from core.score.reading import ReadScore, read_score

PATH = sample_library() / "barcarolle.musicxml"


@pytest.fixture(scope="module")
def barcarolle() -> ReadScore:
    return read_score(PATH)


@pytest.fixture
def process() -> Iterator[EngravingProcess]:
    process = EngravingProcess()
    yield process
    process.shut_down()


def test_its_pages_are_the_engravers(barcarolle: ReadScore, process: EngravingProcess) -> None:
    engraver = Engraver()
    pages = engraver.load(barcarolle.score.canonical, PageLayout())
    engraver.know(PrintedWords.of(barcarolle.score))
    laid = process.load(barcarolle.score.canonical, PageLayout())
    process.know(barcarolle.score)
    assert laid.pages == pages
    assert [process.page(n) for n in range(1, pages + 1)] == [
        engraver.page(n) for n in range(1, pages + 1)
    ]
    last = barcarolle.score.measures[-1].id
    assert process.page_of(last) == engraver.page_of(last)


def test_a_file_begun_early_gives_the_same(
    barcarolle: ReadScore, process: EngravingProcess
) -> None:
    process.load_file(PATH)
    early = process.load(barcarolle.score.canonical, PageLayout())
    other = EngravingProcess()
    try:
        assert early == other.load(barcarolle.score.canonical, PageLayout())
    finally:
        other.shut_down()


def test_a_bad_file_begun_early_is_passed_over(
    barcarolle: ReadScore, process: EngravingProcess, tmp_path: Path
) -> None:
    process.load_file(tmp_path / "not-there.musicxml")
    assert process.load(barcarolle.score.canonical, PageLayout()).pages == 2


def test_what_the_engraver_refuses_comes_back_as_its_error(process: EngravingProcess) -> None:
    with pytest.raises(UnsupportedScoreError, match=r"odd\.musicxml: .* can't be engraved"):
        process.load(b"<score-partwise/>", PageLayout(), name="odd.musicxml")


def test_a_dead_engraver_is_one_score_that_cant_be_shown(
    barcarolle: ReadScore, process: EngravingProcess
) -> None:
    process.load(barcarolle.score.canonical, PageLayout())
    assert process.pid is not None
    os.kill(process.pid, signal.SIGKILL)
    with pytest.raises(UnsupportedScoreError, match="stopped over this score"):
        process.page(1)
    assert process.load(barcarolle.score.canonical, PageLayout()).pages == 2


def test_shutting_down_does_not_wait_for_work(
    barcarolle: ReadScore, process: EngravingProcess
) -> None:
    process.load_file(PATH)
    began = time.monotonic()
    process.shut_down()
    process.shut_down()
    assert time.monotonic() - began < 2
    assert process.pid is None


def test_after_the_end_nothing_is_started(barcarolle: ReadScore, process: EngravingProcess) -> None:
    process.shut_down()
    process.start()
    assert process.pid is None
    with pytest.raises(UnsupportedScoreError, match="stopped over this score"):
        process.load(barcarolle.score.canonical, PageLayout())
