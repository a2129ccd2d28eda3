"""What a file's score is known by, and what its format is called, before it is read."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from core.errors import UnreadableFileError
from core.resources import sample_library
from core.score.reading import read_score
from core.score.score_files import format_name, sha256_of
from tests.core.score.formats.written_humdrum import PIECE
from tests.core.score.formats.written_midi import key, metre, midi, track
from tests.core.score.written_scores import mxl

TUNE = "X:1\nT:Mill Song\nM:4/4\nL:1/4\nK:G\nGABc|dcBA|\n"
SAMPLE = sample_library() / "barcarolle.musicxml"


def test_it_is_what_the_read_score_is_known_by(tmp_path: Path) -> None:
    packed, book = tmp_path / "a.mxl", tmp_path / "book.abc"
    packed.write_bytes(mxl(SAMPLE.read_bytes()))
    book.write_text(TUNE + "\n" + TUNE.replace("X:1", "X:2").replace("GABc", "GGGG"))
    for path in (SAMPLE, packed, book.with_name("book.abc#2")):
        assert sha256_of(path) == read_score(path).score.sha256
    # Packed or not, it is one score.
    assert sha256_of(packed) == hashlib.sha256(SAMPLE.read_bytes()).hexdigest()


def test_what_can_not_be_opened_is_said(tmp_path: Path) -> None:
    with pytest.raises(UnreadableFileError, match="The file is not there"):
        sha256_of(tmp_path / "gone.xml")
    broken = tmp_path / "broken.mxl"
    broken.write_bytes(b"PK\x03\x04 no")
    with pytest.raises(UnreadableFileError, match="whose zip is broken"):
        sha256_of(broken)


def test_formats_have_the_names_that_musicians_know() -> None:
    data = {
        "MXL": mxl(SAMPLE.read_bytes()),
        "MusicXML": SAMPLE.read_bytes(),
        "Humdrum": PIECE.encode(),
        "ABC": TUNE.encode(),
        "MIDI": midi(track([(0, 4, 60)], before=[metre(4, 4), key("C")])),
    }
    assert {name: format_name(content) for name, content in data.items()} == {
        name: name for name in data
    }
