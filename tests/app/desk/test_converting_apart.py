"""Other formats converted in a process of their own, for the desk."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from app.desk.converting_apart import convert_apart
from app.desk.reading import read_file
from core.errors import UnreadableFileError
from core.score.formats.converting import converted, format_of
from core.score.reading import read_score
from tests.core.score.formats.written_humdrum import PIECE


def test_what_comes_back_is_what_is_made_here() -> None:
    data = PIECE.encode()
    known = format_of(data)
    assert known is not None
    assert convert_apart(data, known, name="a.krn") == converted(data, known, name="a.krn")


def test_the_desk_reads_the_same_score(tmp_path: Path) -> None:
    path = tmp_path / "a.krn"
    path.write_text(PIECE, encoding="utf-8")
    assert read_file(path).score.canonical == read_score(path).score.canonical


def test_a_broken_file_comes_back_with_its_sentence(tmp_path: Path) -> None:
    path = tmp_path / "a.krn"
    path.write_text(PIECE.replace("*-\t*-\n", ""), encoding="utf-8")
    with pytest.raises(UnreadableFileError, match=r"a\.krn, line \d+: The file breaks off"):
        read_file(path)


def test_reading_a_file_leaves_the_library_out_of_this_process(tmp_path: Path) -> None:
    path = tmp_path / "a.krn"
    path.write_text(PIECE, encoding="utf-8")
    held = {name: sys.modules.pop(name) for name in [*sys.modules] if name == "music21"}
    try:
        read_file(path)
        assert "music21" not in sys.modules
    finally:
        sys.modules.update(held)
