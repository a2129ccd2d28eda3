"""What stands in a printed PDF, looked at from outside by another reader of PDF."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from app.printing.print_wish import Paper
from app.printing.print_work import print_score
from app.theme import Choice, Theme
from core.errors import StorageError, UnreadableFileError
from core.notebook.values import Anchor, AnchorKind
from tests.app import barcarolle
from tests.app.printing.printed_files import (
    colors_in,
    opened,
    overlays,
    picture_of,
    remark,
    text_of,
    wish,
)


def silent(share: float, word: str) -> None:
    pass


@pytest.fixture(autouse=True)
def _with_qt(qapp: object) -> None:
    """Fonts need a program."""


def test_the_music_is_there_with_title_words_and_nothing_else(tmp_path: Path) -> None:
    printed = print_score(wish(tmp_path), silent)
    assert printed.sheets == 1
    document = opened(printed.path)
    assert document.pageCount() == printed.sheets
    assert document.metaData(document.MetaDataField.Title) == "Barcarolle"
    text = text_of(document, 0)
    for words in ("Barcarolle", "An Invented Composer", "Andantino", "Treibend, doch nicht eilen"):
        assert words in text
    assert "G Dorian" not in text


def test_every_printed_word_of_the_score_can_be_found(tmp_path: Path) -> None:
    document = opened(print_score(wish(tmp_path), silent).path)
    text = "".join(text_of(document, page) for page in range(document.pageCount()))
    letters = text.replace(" ", "").replace("’", "'")
    words = [
        d.text for d in barcarolle.score().directions if "=" not in d.text and d.kind == "words"
    ]
    assert len(words) > 5
    for printed in words:
        assert printed.replace(" ", "").replace("’", "'") in letters


@pytest.mark.parametrize(("paper", "points"), [(Paper.A4, (595, 842)), (Paper.LETTER, (612, 792))])
def test_sheets_are_of_the_paper_asked_for(
    tmp_path: Path, paper: Paper, points: tuple[int, int]
) -> None:
    # ISO 216 and ANSI/ASME Y14.1, in points of 1/72 inch.
    document = opened(print_score(wish(tmp_path, paper=paper), silent).path)
    size = document.pagePointSize(0)
    assert (round(size.width()), round(size.height())) == points


def test_overlays_are_drawn_when_they_are_wished_for(tmp_path: Path) -> None:
    document = opened(print_score(wish(tmp_path, overlays=overlays()), silent).path)
    text = text_of(document, 0)
    assert "G Dorian" in text
    assert "A''" in text
    bare = colors_in(picture_of(opened(print_score(wish(tmp_path), silent).path), 0))
    assert {name for name in bare if len({name[1:3], name[3:5], name[5:7]}) > 2} == set()


def test_brackets_are_in_ink_and_the_words_stand_after_the_music(tmp_path: Path) -> None:
    first = remark(1, "flat the wave, and wait", 0, 1)
    second = remark(2, "one long\nbreath", 6, 8)
    numbered = ((1, first), (2, second))
    printed = print_score(wish(tmp_path, numbered=numbered, listed=numbered), silent)
    document = opened(printed.path)
    assert printed.sheets == document.pageCount() == 2
    ink = Theme().page_color("ink").name()
    assert ink in colors_in(picture_of(document, 0, width=1800))
    words = text_of(document, 1)
    assert "Remarks on Barcarolle" in words
    assert "m. 1 to 2 · reading" in words
    assert "flat the wave, and wait" in words
    assert words.index("flat") < words.index("m. 7 to 9") < words.index("breath")


def test_remarks_fill_as_many_sheets_as_they_need_and_none_is_lost(tmp_path: Path) -> None:
    listed = tuple((n, remark(n, f"Remark number {n}. " + "Sing. " * 60, 0, 0)) for n in range(60))
    document = opened(print_score(wish(tmp_path, listed=listed), silent).path)
    assert document.pageCount() > 3
    text = " ".join(text_of(document, page) for page in range(document.pageCount()))
    assert all(f"Remark number {n}." in text for n in range(60))


def test_a_word_wider_than_the_sheet_is_cut_and_not_lost(tmp_path: Path) -> None:
    word = "swing" * 60
    document = opened(
        print_score(wish(tmp_path, listed=((1, remark(1, word, 0, 0)),)), silent).path
    )
    assert word in text_of(document, 1).replace(" ", "")


def test_a_remark_on_the_whole_piece_is_said_to_be_that(tmp_path: Path) -> None:
    whole = replace(remark(1, "never hurry", 0, 0), anchor=Anchor(kind=AnchorKind.PIECE), kind=None)
    document = opened(print_score(wish(tmp_path, listed=((None, whole),)), silent).path)
    assert "the whole piece never hurry" in text_of(document, 1)


def test_fonts_are_embedded_and_nothing_is_a_picture(tmp_path: Path) -> None:
    data = print_score(wish(tmp_path, overlays=overlays()), silent).path.read_bytes()
    # PDF 32000-1:2008, 9.9: an embedded TrueType or OpenType font has a FontFile2 or FontFile3.
    assert data.count(b"/FontFile2") + data.count(b"/FontFile3") == data.count(b"/FontDescriptor\n")
    assert data.count(b"/FontFile") >= 3
    assert b"/Subtype /Image" not in data


def test_the_window_being_dark_changes_nothing(tmp_path: Path) -> None:
    theme = Theme()
    theme.choose(Choice.DARK)
    picture = picture_of(opened(print_score(wish(tmp_path), silent).path), 0)
    assert picture.pixelColor(3, 3).name() == "#ffffff"
    assert "#000000" in colors_in(picture)


def test_progress_is_told_page_by_page(tmp_path: Path) -> None:
    told: list[tuple[float, str]] = []
    print_score(wish(tmp_path), lambda share, word: told.append((share, word)))
    assert [share for share, _ in told] == sorted(share for share, _ in told)
    assert told[-1][1] == "page 1 of 1"


def test_a_folder_that_is_not_there_is_said_in_a_sentence(tmp_path: Path) -> None:
    nowhere = tmp_path / "nowhere"
    sent = wish(tmp_path, path=nowhere / "piece.pdf", beside=nowhere / ".piece.pdf")
    with pytest.raises(StorageError, match=r"piece\.pdf.*could not be written \(No such file"):
        print_score(sent, silent)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a full disk is Linux's /dev/full")
def test_a_full_disk_is_said_and_what_stood_there_stays(tmp_path: Path) -> None:
    asked = wish(tmp_path)
    asked.path.write_bytes(b"an older one")
    asked.beside.symlink_to("/dev/full")
    with pytest.raises(StorageError, match="No space left on device"):
        print_score(asked, silent)
    assert asked.path.read_bytes() == b"an older one"
    assert list(tmp_path.iterdir()) == [asked.path]


def test_what_stood_there_stays_when_a_score_cannot_be_engraved(tmp_path: Path) -> None:
    asked = wish(tmp_path, canonical=b"<score-partwise>")
    asked.path.write_bytes(b"an older one")
    with pytest.raises(UnreadableFileError, match="breaks off before its end"):
        print_score(asked, silent)
    assert asked.path.read_bytes() == b"an older one"
    assert list(tmp_path.iterdir()) == [asked.path]
