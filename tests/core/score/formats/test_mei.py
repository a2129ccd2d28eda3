"""MEI files into scores: an invented piece by hand, and files that are broken."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.formats import mei as reader
from core.score.reading import read_bytes
from core.score.score import Score
from tests.core.score.formats.spelled_notes import spelled
from tests.core.score.formats.written_mei import PIECE


def read(text: str) -> Score:
    return read_bytes(text.encode(), name="invented.mei").score


@pytest.fixture(scope="module")
def piece() -> Score:
    return read(PIECE)


def test_names_and_parts(piece: Score) -> None:
    assert (piece.title, piece.composer) == ("Invented", "Anna Nemo")
    assert [(part.name, part.staves) for part in piece.parts] == [("Piano", 2)]
    assert (piece.guesses, piece.oddities) == ((), ())


def test_notes_with_their_spelling_and_time(piece: Score) -> None:
    half, third = Fraction(1, 2), Fraction(4, 3)
    assert spelled(piece) == [
        (1, "C4", 0, half),
        (1, "E4", half, half),
        (1, "D#5", 1, Fraction(3, 4)),
        (2, "C3", 1, 1),
        (2, "E3", 1, 1),
        (1, "E5", Fraction(7, 4), Fraction(1, 4)),
        (1, "F5", 2, 1),
        (2, "F3", 2, 1),
        (1, "D4", 3, 1),
        (1, "F5", 3, 1),
        (1, "G4", 4, 0),
        (1, "Bb3", 4, 1),
        (1, "A4", 4, 1),
        (1, "C5", 5, 4),
        (2, "C3", 5, third),
        (2, "D3", 5 + third, third),
        (2, "E3", 5 + 2 * third, third),
    ]


def test_measures(piece: Score) -> None:
    assert [(m.number, m.is_implicit) for m in piece.measures] == [
        ("0", True), ("1", False), ("2", False), ("3", False),
    ]  # fmt: skip
    assert [m.signature for m in piece.measures] == ["2/4", "2/4", "2/4", "4/4"]
    assert {m.fifths for m in piece.measures} == {-1}
    assert [(m.repeat_end, m.endings) for m in piece.measures[:2]] == [(False, ()), (True, (1,))]
    assert piece.measures[3].barline == "light-heavy"


def test_directions_stand_where_the_file_says(piece: Score) -> None:
    told = [(d.kind, d.text, piece.quarters(d.onset), d.staff) for d in piece.directions]
    assert told == [
        ("words", "Andante", 0, 1),
        ("metronome", "quarter = 72", 0, 1),
        ("dynamics", "p", Fraction(1, 2), 1),
        ("wedge", "diminuendo", 1, 2),
        ("wedge", "", 4, 2),
        ("words", "dolce", 6, 1),
    ]


def test_what_names_its_notes_by_id(piece: Score) -> None:
    root = etree.fromstring(piece.canonical)
    assert [e.get("type") for e in root.iter("slur")] == ["start", "stop"]
    assert [e.get("type") for e in root.iter("tie")] == ["start", "stop"]
    assert len(list(root.iter("fermata"))) == 1
    assert [e.tag for e in root.iter("staccato", "tenuto")] == ["staccato", "tenuto"]
    assert [e.text for e in root.iter("accidental")] == ["sharp"]


def test_accidentals_that_the_file_leaves_to_its_reader_are_a_guess() -> None:
    bare = PIECE.replace(' accid.ges="f"', "").replace('pname="g" oct="4"', 'pname="b" oct="4"')
    score = read(bare)
    assert ("Bb3" in {name for _, name, _, _ in spelled(score)}) is True
    assert score.guesses == (reader.ACCIDENTALS_GUESSED,)


def test_a_measure_that_repeats_the_one_before() -> None:
    again = PIECE.replace("<mRest/>", "<mRpt/>")
    below = [row for row in spelled(read(again)) if row[0] == 2 and row[2] in (3, 4)]
    assert below == [(2, "C3", 3, 1), (2, "E3", 3, 1), (2, "F3", 4, 1)]


@pytest.mark.parametrize(
    ("text", "match"),
    [
        (PIECE[: PIECE.index("<ending")], r"line \d+: The file breaks off before its end"),
        (PIECE.replace("</layer>", "", 1), r"line \d+: It is not well-formed XML"),
        (PIECE.replace("scoreDef", "otherDef"), r"holds no score that begins with a scoreDef"),
        (
            PIECE.replace("?>\n", '?>\n<!DOCTYPE mei [<!ENTITY a "b">]>\n', 1),
            r"line 2: It defines entities of its own",
        ),
    ],
)
def test_broken_files_come_back_with_one_sentence(text: str, match: str) -> None:
    with pytest.raises(UnreadableFileError, match=match):
        read(text)


def test_without_notes_it_is_no_score() -> None:
    start, end = PIECE.index("<measure"), PIECE.index("</section>")
    with pytest.raises(UnsupportedScoreError, match=r"There is not one note in it"):
        read(PIECE[:start] + PIECE[end:])
