"""The playing order against music21's own expansion of repeats.

music21's ``repeat.Expander`` follows the same common practice, independently written. Scores of
its corpus are read by music21 itself there, and by ``core.score.reading`` here, so that signs as
well as rules are compared. Where the two differ, the reason stands beside the piece.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from core.score.playing_order import playing_order_of
from core.score.reading import read_score

music21 = pytest.importorskip("music21")
CORPUS = Path(music21.__file__).parent / "corpus"

ALIKE = [
    "bach/bwv104.6.mxl",
    "bach/bwv113.8.mxl",
    "bach/bwv253.mxl",
    "haydn/opus1no1/movement1.mxl",
    "haydn/opus1no1/movement2.mxl",
    "haydn/opus1no1/movement5.mxl",
    "leadSheet/berlinAlexandersRagtime.mxl",
    "leadSheet/fosterBrownHair.mxl",
    "mozart/k155/movement2.mxl",
    "mozart/k80/movement2.mxl",
    "schumann_robert/opus41no1/movement3.mxl",
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.mxl",
    "verdi/laDonnaEMobile.mxl",
]
DIFFERENT = {
    # "The beginning" to music21 whenever a start sign is missing, over repeats already closed.
    "mozart/k156/movement2.mxl": [*range(14), *range(37), *range(14, 37)],
    "mozart/k80/movement1.mxl": [*range(28), *range(67), *range(28, 67)],
    # "Da Capo" without Fine: music21 leaves it out.
    "mozart/k156/movement3.mxl": [
        *[*range(14), *range(36), *range(14, 46), *range(36, 62), *range(46, 62)],
        *range(36),
    ],
    # music21 10 loses the first of the rag's repeats with endings.
    "joplin/maple_leaf_rag.mxl": [
        *[*range(17), *range(1, 16), *range(17, 34), *range(18, 33), *range(34, 67)],
        *[*range(51, 66), *range(67, 84), *range(68, 83), 84],
    ],
}


# One word list a measure; made for this test.
MADE = [
    ["", ":|", ""],
    ["", "|:", ":|", ""],
    ["|:", ":|", "|:", ":|"],
    ["|:", ":|x3", ""],
    ["|:", "[1 1] :|", "[2 2]", ""],
    ["|:", "", "[1", "1] :|", "[2 2]"],
    ["", "fine", "", "dc"],
    ["", "segno", "fine", "ds"],
    ["", "tocoda", "", "dc-coda", "coda", ""],
    ["|:", "fine :|", "", "dc"],
]
WORDS = "<direction><direction-type><words>{0}</words></direction-type></direction>"
SIGNS = {
    "|:": "<barline location='left'><repeat direction='forward'/></barline>",
    ":|": "<barline location='right'><repeat direction='backward'/></barline>",
    ":|x3": "<barline location='right'><repeat direction='backward' times='3'/></barline>",
    "[1": "<barline location='left'><ending number='1' type='start'/></barline>",
    "1]": "<barline location='right'><ending number='1' type='stop'/></barline>",
    "[2": "<barline location='left'><ending number='2' type='start'/></barline>",
    "2]": "<barline location='right'><ending number='2' type='stop'/></barline>",
    "segno": "<direction><direction-type><segno/></direction-type></direction>",
    "coda": "<direction><direction-type><coda/></direction-type></direction>",
    "fine": WORDS.format("Fine"),
    "dc": WORDS.format("D.C. al Fine"),
    "dc-coda": WORDS.format("D.C. al Coda"),
    "ds": WORDS.format("D.S. al Fine"),
    "tocoda": WORDS.format("To Coda"),
}
AT_THE_START = ("|:", "[1", "[2", "segno", "coda")


def made(words: list[str], folder: Path) -> Path:
    """The score in a file; an ending and a sign back share their barline, as printed."""
    body = ""
    for number, signs in enumerate(words, start=1):
        marks = signs.split()
        before = "".join(SIGNS[mark] for mark in marks if mark in AT_THE_START)
        after = "".join(SIGNS[mark] for mark in marks if mark not in AT_THE_START)
        after = after.replace("</barline><barline location='right'>", "")
        time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
        first = f"<attributes><divisions>1</divisions>{time}</attributes>" if number == 1 else ""
        note = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note>"
        body += f"<measure number='{number}'>{first}{before}{note}{after}</measure>"
    file = folder / "made.musicxml"
    file.write_text(
        "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name/></score-part>"
        f"</part-list><part id='P1'>{body}</part></score-partwise>"
    )
    return file


def ours(file: Path) -> list[int]:
    return list(playing_order_of(read_score(file).score).measure_indices)


def theirs(file: Path) -> list[int]:
    part = music21.converter.parse(file).parts[0]
    for index, measure in enumerate(part.getElementsByClass("Measure")):
        measure.editorial.comment = str(index)
    expander = music21.repeat.Expander(part)
    expanded = expander.process() if expander.isExpandable() else part
    return [int(m.editorial.comment) for m in expanded.getElementsByClass("Measure")]


@pytest.mark.parametrize("piece", ALIKE)
def test_music21_plays_it_alike(piece: str) -> None:
    assert ours(CORPUS / piece) == theirs(CORPUS / piece)


@pytest.mark.parametrize(("piece", "order"), DIFFERENT.items())
def test_where_music21_differs_the_order_is_that_of_the_print(piece: str, order: list[int]) -> None:
    assert ours(CORPUS / piece) == order
    assert theirs(CORPUS / piece) != order


@pytest.mark.parametrize("words", MADE, ids=" . ".join)
def test_music21_plays_what_was_made_for_it_alike(words: list[str], tmp_path: Path) -> None:
    file = made(words, tmp_path)
    assert ours(file) == theirs(file)
