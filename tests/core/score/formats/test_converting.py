"""What kind of file it is: by its first bytes, whatever it is called."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.score.formats.converting import FORMATS, SUFFIXES, format_of
from core.score.score_files import canonical_form
from tests.core.score.formats.written_humdrum import PIECE as HUMDRUM
from tests.core.score.formats.written_mei import PIECE as MEI
from tests.core.score.formats.written_midi import midi, track

ABC = "X:1\nT:Invented\nK:C\nCDEF|\n"


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (HUMDRUM.encode(), "Humdrum"),
        (b"**kern\n*clefG2\n4c\n*-\n", "Humdrum"),
        (b"!! a remark\n" + HUMDRUM.encode(), "Humdrum"),
        (b"!!!!SEGMENT: one\n" + HUMDRUM.encode(), "Humdrum"),
        (HUMDRUM.encode("utf-16"), "Humdrum"),
        (ABC.encode(), "ABC"),
        (b"%abc-2.1\n" + ABC.encode(), "ABC"),
        (b"% a remark\n% and more\n\nB:Book\n\n" + ABC.encode(), "ABC"),
        (b"\xef\xbb\xbf\r\n" + ABC.encode(), "ABC"),
        (MEI.encode(), "MEI"),
        (b'<!-- x --><mei:mei xmlns:mei="http://www.music-encoding.org/ns/mei"/>', "MEI"),
        (midi(track([(0, 1, 60)])), "MIDI"),
    ],
)
def test_each_format_is_known_by_its_first_bytes(data: bytes, name: str) -> None:
    known = format_of(data)
    assert known is not None
    assert known.name == name


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"<score-partwise/>",
        b"Dear student, practise slowly.",
        b"% only a remark\n",
        b"%PDF-1.7",
    ],
)
def test_everything_else_is_not_converted(data: bytes) -> None:
    assert format_of(data) is None


def test_suffixes_are_told_apart() -> None:
    assert len(set(SUFFIXES)) == len(SUFFIXES)
    assert all(suffix in SUFFIXES for known in FORMATS for suffix in known.suffixes)


def test_the_engraver_gets_no_head_start_on_what_must_be_converted(tmp_path: Path) -> None:
    path = tmp_path / "a.krn"
    path.write_text(HUMDRUM, encoding="utf-8")
    assert canonical_form(path) is None
