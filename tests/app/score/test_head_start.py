"""A head start on a file in another format: read in another process, nothing engraved twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.score.head_start import HeadStart
from core.errors import UnreadableFileError
from core.score.reading import FirstLook, read_score
from tests.core.score.formats.written_humdrum import PIECE


def test_a_converted_score_is_looked_at_and_read(tmp_path: Path) -> None:
    path = tmp_path / "a.krn"
    path.write_text(PIECE, encoding="utf-8")
    start = HeadStart(path)
    looks: list[FirstLook] = []
    try:
        start.when_seen(looks.append)
        start.is_seen.set()
        start.read_on()
        read = start.read(path)
    finally:
        start.typesetter.shut_down()
    assert [look.canonical for look in looks] == [read.score.canonical]
    assert read.score.canonical == read_score(path).score.canonical


def test_a_broken_one_raises_its_sentence(tmp_path: Path) -> None:
    path = tmp_path / "a.krn"
    path.write_text(PIECE.replace("*-\t*-\n", ""), encoding="utf-8")
    start = HeadStart(path)
    try:
        start.is_seen.set()
        start.read_on()
        with pytest.raises(UnreadableFileError, match=r"a\.krn, line \d+: The file breaks off"):
            start.read(path)
    finally:
        start.typesetter.shut_down()
