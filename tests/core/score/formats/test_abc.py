"""ABC tunes into scores: an invented tune, a book of them, and files that are broken."""

from __future__ import annotations

import gc
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.formats.tune_books import scores_in
from core.score.playing_order import playing_order_of
from core.score.reading import read_bytes, read_score
from core.score.score import Score
from tests.core.score.formats.spelled_notes import names

TUNE = """\
%abc-2.1
X:1
T:Invented Air
C:Anna Nemo
M:6/8
L:1/8
Q:3/8=80
K:Em
B|e2f (gfe)|{g}B3 z2 B|[1 ^d2e f3-|f3 e2:|[2 (3Bcd e4||
|:[eB]2[gB] .a2 .b|e6:|
"""
SECOND = "X:2\nT:Another\nM:C\nL:1/4\nK:none\nCDEF|\n"


def read(text: str) -> Score:
    return read_bytes(text.encode(), name="invented.abc").score


@pytest.fixture(scope="module")
def tune() -> Score:
    return read(TUNE)


def test_names_key_and_metre(tune: Score) -> None:
    assert (tune.title, tune.composer) == ("Invented Air", "Anna Nemo")
    assert (tune.measures[0].signature, tune.measures[0].fifths) == ("6/8", 1)
    assert tune.measures[0].is_implicit
    assert [d.text for d in tune.directions] == ["dotted quarter = 80"]


def test_notes(tune: Score) -> None:
    assert names(tune)[:8] == ["B4", "E5", "F#5", "G5", "F#5", "E5", "G5", "B4"]
    assert names(tune)[9:12] == ["D#5", "E5", "F#5"]
    assert int(tune.notes.is_grace.sum()) == 1
    durations = [tune.notes.quarters(int(d)) for d in tune.notes.duration]
    assert durations[14:17] == [Fraction(1, 3)] * 3


def test_repeats_and_endings_are_played(tune: Score) -> None:
    assert playing_order_of(tune).measure_indices == (0, 1, 2, 3, 4, 0, 1, 2, 5, 6, 7, 6, 7)


def test_slurs_marks_and_beams(tune: Score) -> None:
    root = etree.fromstring(tune.canonical)
    assert [e.get("type") for e in root.iter("slur")] == ["start", "stop"]
    assert len(list(root.iter("staccato"))) == 2
    beams = [beam.text for beam in root.iter("beam")]
    assert beams == ["begin", "continue", "end"] * 2


def test_two_voices_in_a_brace_are_one_part() -> None:
    voices = "V:1 clef=treble\nV:2 clef=bass\nK:G\nV:1\ncdef|c4|\nV:2\nC,4|F,4|\n"
    score = read(f"X:1\nM:4/4\nL:1/4\n%%score {{1 2}}\n{voices}")
    assert [part.staves for part in score.parts] == [2]
    assert [measure.number for measure in score.measures] == ["1", "2"]
    assert score.measures[0].fifths == 1
    assert [(int(s), p) for s, p in zip(score.notes.staff, names(score), strict=True)] == [
        (1, "C5"), (2, "C3"), (1, "D5"), (1, "E5"), (1, "F#5"), (1, "C5"), (2, "F#3"),
    ]  # fmt: skip


def test_what_is_left_out_is_told() -> None:
    score = read(TUNE.replace("B|e2f", 'B|"Em"!f!e2f'))
    assert score.oddities == (
        "Chord symbols over the staff are left out.",
        "Dynamics are left out: they are not read from ABC yet.",
    )


def test_a_tune_of_a_book_is_a_score_by_itself(tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_text(TUNE + "\n" + SECOND, encoding="utf-8")
    assert [path.name for path in scores_in(book)] == ["book.abc#1", "book.abc#2"]
    titles = [read_score(path).score.title for path in scores_in(book)]
    assert titles == ["Invented Air", "Another"]
    alone = tmp_path / "alone.abc"
    alone.write_text("%abc-2.1\n" + SECOND, encoding="utf-8")
    assert scores_in(alone) == [alone]
    assert read_score(alone).score.sha256 == read_score(scores_in(book)[1]).score.sha256


def test_a_book_is_no_score(tmp_path: Path) -> None:
    book = tmp_path / "book.abc"
    book.write_text(TUNE + "\n" + SECOND, encoding="utf-8")
    with pytest.raises(UnsupportedScoreError, match=r"book of 2 tunes.*from #1 to #2"):
        read_score(book)
    with pytest.raises(UnreadableFileError, match=r"book\.abc: It holds 2 tunes, and none is"):
        read_score(tmp_path / "book.abc#3")
    with pytest.raises(UnreadableFileError, match=r"other\.abc: The file is not there"):
        read_score(tmp_path / "other.abc#1")


@pytest.mark.parametrize(
    ("text", "match"),
    [
        (TUNE[: TUNE.index("K:")], r"line 7: Its tune has no key"),
        (TUNE.replace("Air", "A\x00ir"), r"line 3: It holds bytes that are no text"),
    ],
)
def test_broken_files_come_back_with_one_sentence(text: str, match: str) -> None:
    with pytest.raises(UnreadableFileError, match=match):
        read(text)


def test_a_header_without_notes_is_no_score() -> None:
    with pytest.raises(UnsupportedScoreError, match=r"There is not one note in it"):
        read(TUNE[: TUNE.index("K:")] + "K:Em\n")


def test_what_its_reader_stumbles_over_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    score = read(TUNE.replace("B|e2f", "B|\u00eff"))
    assert score.oddities == ("The pitch of '\u00ef' can't be read; C is assumed.",)
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("text", [TUNE, TUNE[: TUNE.index("K:")]])
def test_garbage_is_collected_again_afterwards(text: str) -> None:
    assert gc.isenabled()
    with suppress(UnreadableFileError):
        read(text)
    assert gc.isenabled()


@pytest.mark.parametrize(
    ("music", "durations"),
    [
        ("CDEFGABc|C4|C4|", [4, 4, 4, 4]),
        ("CDEFGABcd|C4|C4|", [4, 5, 4, 4]),
        ("C5 D E3|C4|C4|", [4, 5, 4, 4]),
        ("C6 D7 E8|C4|C4|", [4, 4, 13, 4, 4]),
    ],
)
def test_measures_longer_than_their_metre_are_cut_and_lose_nothing(
    music: str, durations: list[int]
) -> None:
    score = read(f"X:1\nM:4/4\nL:1/4\nK:C\n{music}\n")
    assert [score.quarters(measure.duration) for measure in score.measures] == durations
    assert [measure.number for measure in score.measures] == [
        str(number) for number in range(1, len(durations) + 1)
    ]


def test_a_stray_number_is_no_duration() -> None:
    assert len(read(f"{TUNE}\n:1646\n").notes) == len(read(TUNE).notes)
