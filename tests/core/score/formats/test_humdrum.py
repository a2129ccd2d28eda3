"""Humdrum files into scores: an invented piece by hand, and files that are broken."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from core.errors import UnreadableFileError
from core.score.note_table import TIE_START, TIE_STOP
from core.score.reading import read_bytes, score_from_canonical
from core.score.score import Score
from tests.core.score.formats.spelled_notes import spelled
from tests.core.score.formats.written_humdrum import PIECE


def read(text: str | bytes) -> Score:
    data = text.encode() if isinstance(text, str) else text
    return read_bytes(data, name="invented.krn").score


@pytest.fixture(scope="module")
def piece() -> Score:
    return read(PIECE)


def test_names(piece: Score) -> None:
    assert (piece.title, piece.composer) == ("Invented", "Anna Nemo")


def test_two_spines_of_a_keyboard_are_one_part_of_two_staves(piece: Score) -> None:
    assert [part.staves for part in piece.parts] == [2]
    assert piece.guesses == ()


def test_notes_with_their_spelling_and_time(piece: Score) -> None:
    half, third = Fraction(1, 2), Fraction(2, 3)
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
        (2, "D3", 3, 1),
        (1, "G4", 4, 0),
        (1, "Bb3", 4, 1),
        (1, "Ab4", 4, 1),
        (1, "C5", 5, 2),
        (2, "C3", 5, third),
        (2, "D3", 5 + third, third),
        (2, "E3", 6 + third / 2, third),
    ]


def test_measures_with_pickup_repeats_and_signature(piece: Score) -> None:
    first, *rest = piece.measures
    assert (first.number, first.is_implicit, first.signature, first.fifths) == (
        "0",
        True,
        "2/4",
        -1,
    )
    assert [m.number for m in rest] == ["1", "2", "3"]
    assert [(m.repeat_start, m.repeat_end) for m in rest] == [
        (False, True),
        (False, False),
        (True, False),
    ]


def test_ties_and_graces(piece: Score) -> None:
    ties = [int(tie) for tie in piece.notes.tie if tie]
    assert ties == [TIE_START, TIE_STOP]
    assert piece.notes.is_grace.sum() == 1


def test_voices_of_a_split_spine(piece: Score) -> None:
    upper = {
        voice
        for voice, staff, measure in zip(
            piece.notes.voice, piece.notes.staff, piece.notes.measure, strict=True
        )
        if staff == 1 and measure == 2
    }
    assert upper == {"1", "2"}


def test_marks_accidentals_and_tuplets_are_engraved(piece: Score) -> None:
    root = etree.fromstring(piece.canonical)
    marks = [e.tag for e in root.iter("staccato", "tenuto", "fermata")]
    assert marks == ["staccato", "tenuto", "fermata"]
    assert [e.text for e in root.iter("accidental")] == ["sharp", "flat"]
    assert [e.get("type") for e in root.iter("tuplet")] == ["start", "stop"]
    beams = [[b.text for b in note.iter("beam")] for note in root.iter("note")]
    assert [b for b in beams if b] == [["begin"], ["end"], ["begin"], ["end", "backward hook"]]


def test_the_tempo_is_told_once(piece: Score) -> None:
    assert [d.text for d in piece.directions if d.kind == "metronome"] == ["quarter = 72"]


def test_what_is_left_out_is_told(piece: Score) -> None:
    assert piece.oddities == ()
    slurred = read(PIECE.replace("4C 4E", "(4C 4E").replace("4F\t", "4F)\t"))
    assert slurred.oddities == ("Slurs are left out: they are not read from Humdrum yet.",)
    expanded = read(PIECE.replace("*MM72\t*MM72\n", "*>[A,A]\t*>[A,A]\n*>A\t*>A\n"))
    assert expanded.oddities[0].startswith("The order in which its sections are played")


def test_without_an_instrument_two_spines_are_guessed_to_be_a_keyboard() -> None:
    score = read(PIECE.replace("*Ipiano\t*Ipiano\n", ""))
    assert [part.staves for part in score.parts] == [2]
    assert score.guesses == (
        "Its two spines, with treble and bass clef, are taken as the two staves of one keyboard "
        "part.",
    )
    again = score_from_canonical(score.canonical, sha256=score.sha256)
    assert again.guesses == score.guesses


def test_spines_of_two_players_stay_apart() -> None:
    score = read(PIECE.replace("*Ipiano\t*Ipiano", "*Icello\t*Iflt"))
    assert [part.staves for part in score.parts] == [1, 1]


def test_the_same_file_gives_the_same_bytes() -> None:
    assert read(PIECE).canonical == read(PIECE).canonical


def test_windows_line_ends_and_old_encodings_are_read() -> None:
    old = PIECE.replace("Invented", "Erf\xe4nde").replace("\n", "\r\n").encode("cp1252")
    score = read(old)
    assert score.title == "Erf\xe4nde"
    assert score.guesses[0] == (
        "Its text is no UTF-8; it is read as Western European (Windows-1252)."
    )


@pytest.mark.parametrize(
    ("text", "match"),
    [
        (PIECE.replace("*-\t*-\n", ""), r"breaks off before its end"),
        (PIECE[: PIECE.index("4F\t[4") + 2], r"line 16: The file breaks off before its end"),
        (PIECE.replace("4F\t[4ff;", "4F"), r"line 16: It has 1 columns where 2 spines run"),
        (PIECE.replace("**kern", "**text"), r"line 3: It holds no \*\*kern spine, so no notes"),
        ("!!!COM: Nemo\n", r"It holds no \*\*kern spine, so no notes"),
        (PIECE.replace("4D", "4\x00D"), r"line 19: It holds bytes that are no text"),
    ],
)
def test_broken_files_come_back_with_one_sentence(text: str, match: str) -> None:
    with pytest.raises(UnreadableFileError, match=match):
        read(text)


def test_what_its_reader_stumbles_over_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    score = read(PIECE.replace("6D\t.", "6\t."))
    assert score.oddities == ("Line 25: '6' can't be read and is left out.",)
    assert capsys.readouterr().err == ""


def test_spines_that_part_again_or_within_one_another_keep_their_notes_and_times() -> None:
    head, tail = "**kern\n*M4/4\n=1\n", "=2\n1c\n==\n*-\n"
    again = read(f"{head}*^\n2c\t2e\n*v\t*v\n*^\n2d\t2f\n*v\t*v\n{tail}")
    assert [(name, onset) for _, name, onset, _ in spelled(again)] == [
        ("C4", 0), ("E4", 0), ("D4", 2), ("F4", 2), ("C4", 4),
    ]  # fmt: skip
    within = read(f"{head}*^\n2c\t2e\n*^\t*\n4c\t4g\t4b\n4d\t4a\t4cc\n*v\t*v\t*\n*v\t*v\n{tail}")
    assert [(name, onset) for _, name, onset, _ in spelled(within)] == [
        ("C4", 0), ("E4", 0), ("C4", 2), ("G4", 2), ("B4", 2), ("D4", 3), ("A4", 3), ("C5", 3),
        ("C4", 4),
    ]  # fmt: skip
