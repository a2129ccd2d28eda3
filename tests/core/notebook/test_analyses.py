"""The analysis of a file, as the command line and background jobs get it."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from core.errors import UnreadableFileError
from core.notebook.analyses import Analysis, analyse_file

Analyse = Callable[..., Analysis]
NOTE = (
    "<note><pitch><step>C</step><octave>4</octave></pitch><duration>{0}</duration>"
    "<voice>1</voice></note>"
)
FOUR, THREE = (
    f"<time><beats>{beats}</beats><beat-type>4</beat-type></time>" for beats in ("4", "3")
)
FREE = "<time><senza-misura/></time>"


def words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


WEDGE = "<direction><direction-type><wedge type='crescendo'/></direction-type></direction>"


@pytest.fixture
def analysed(tmp_path: Path) -> Analyse:
    def analyse(*measures: str) -> Analysis:
        body = "".join(
            f"<measure number='{number}'>{measure}</measure>"
            for number, measure in enumerate(measures, start=1)
        )
        file = tmp_path / "made.musicxml"
        file.write_text(
            "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name/>"
            f"</score-part></part-list><part id='P1'>{body}</part></score-partwise>"
        )
        return analyse_file(file)

    return analyse


def attributes(time: str) -> str:
    return f"<attributes><divisions>3</divisions>{time}</attributes>"


def test_the_metre_has_one_entry_a_change(analysed: Analyse) -> None:
    found = analysed(
        attributes(FOUR) + NOTE.format(12),
        NOTE.format(12),
        attributes(THREE) + NOTE.format(9),
        attributes(FOUR) + NOTE.format(12),
    )
    changes = [(metre.onset_quarters, metre.signature) for metre in found.written_metre]
    assert changes == [(0, "4/4"), (8, "3/4"), (11, "4/4")]
    assert not found.is_unbarred
    assert found.duration_quarters == 15


@pytest.mark.parametrize("time", ["", FREE])
def test_without_a_signature_the_music_is_unbarred(analysed: Analyse, time: str) -> None:
    found = analysed(attributes(time) + NOTE.format(40))
    assert found.is_unbarred
    assert found.written_metre == ()
    assert found.duration_quarters == Fraction(40, 3)


def test_directions_are_what_is_printed_in_words(analysed: Analyse) -> None:
    found = analysed(
        attributes(FOUR) + words("dolce") + WEDGE + NOTE.format(4) + words("rit.") + NOTE.format(8)
    )
    printed = [(d.text, d.onset_quarters, d.measure_number) for d in found.directions]
    assert printed == [("dolce", 0, "1"), ("rit.", Fraction(4, 3), "1")]


def test_an_analysis_survives_pickling(analysed: Analyse) -> None:
    found = analysed(attributes(FOUR) + NOTE.format(12))
    assert pickle.loads(pickle.dumps(found)) == found


def test_a_file_that_is_no_score_is_an_error(tmp_path: Path) -> None:
    file = tmp_path / "letter.txt"
    file.write_text("Dear Sir,")
    with pytest.raises(UnreadableFileError, match=r"letter\.txt"):
        analyse_file(file)
