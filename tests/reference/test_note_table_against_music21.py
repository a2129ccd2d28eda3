"""The note table against music21's own reading of the same files.

Source: music21's corpus and its MusicXML importer (Cuthbert & Ariza 2010, "music21: A Toolkit
for Computer-Aided Musicology and Symbolic Music Data", ISMIR 2010). Compared, part by part:
how many notes, their written pitch, onset and duration. music21 is asked to read the file
itself (``forceSource``), never its own cache.
"""

from __future__ import annotations

import pytest

from tests.reference.explained import REASONS, Explained
from tests.reference.readings import (
    by_music21,
    by_postil,
    chosen_scores,
    corpus_folder,
    differences,
)

EXPLAINED = {
    "beethoven/opus18no1/movement3.mxl": Explained(
        ("onset",), "measures", "measure 21 in 3/4: the parts hold 2, 3, 3, 3 quarters"
    ),
    "haydn/opus1no1/movement2.mxl": Explained(
        ("onset",), "measures", "measure 52 in 3/4: the parts hold 3, 3, 4, 3 quarters"
    ),
    "haydn/opus1no1/movement3.mxl": Explained(
        ("onset",), "music21 lengthens", "measure 3: all parts hold 4 quarters"
    ),
    "haydn/opus1no1/movement4.mxl": Explained(
        ("onset",), "measures", "measure 33 in 3/4: the parts hold 3, 3, 3, 2 quarters"
    ),
    "haydn/opus1no1/movement5.mxl": Explained(
        ("onset",), "music21 lengthens", "measure 16: all parts hold 2 quarters"
    ),
    "haydn/opus74no1/movement2.mxl": Explained(
        ("onset",), "measures", "measure 14 in 3/8: the parts hold 3/2, 1, 3/2, 3/2 quarters"
    ),
    "haydn/opus74no1/movement3.mxl": Explained(
        ("onset",), "measures", "measure 58 in 3/4: the parts hold 13/4, 3, 3, 3 quarters"
    ),
    "monteverdi/madrigal.3.12.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 4, 4, 8, 8 quarters"
    ),
    "monteverdi/madrigal.3.2.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 8, 4, 8, 8 quarters"
    ),
    "monteverdi/madrigal.3.4.mxl": Explained(
        ("onset",), "measures", "measure 2 in 4/4: the parts hold 4, 4, 4, 8, 8 quarters"
    ),
    "monteverdi/madrigal.4.1.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 4, 8, 8, 4 quarters"
    ),
    "monteverdi/madrigal.4.18.mxl": Explained(
        ("onset",), "measures", "measure 3 in 4/4: the parts hold 4, 8, 4, 4, 4 quarters"
    ),
    "monteverdi/madrigal.4.5.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 8, 8, 4, 4 quarters"
    ),
    "monteverdi/madrigal.4.8.mxl": Explained(
        ("onset",), "measures", "measure 13 in 4/4: the parts hold 4, 4, 4, 4, 8 quarters"
    ),
    "monteverdi/madrigal.5.2.mxl": Explained(
        ("onset",), "measures", "measure 7 in 4/4: the parts hold 4, 4, 8, 4, 4, 4 quarters"
    ),
    "mozart/k155/movement3.mxl": Explained(
        ("onset",), "music21 lengthens", "measure 0: all parts hold 1/2 quarters"
    ),
    "mozart/k156/movement3.mxl": Explained(
        ("onset",), "measures", "measure 40 in 3/4: the parts hold 3, 3, 1, 3 quarters"
    ),
    "mozart/k80/movement4.mxl": Explained(
        ("onset",), "measures", "measure 0 in 2/2: the parts hold 2, 4, 2, 2 quarters"
    ),
    "schubert/Lindenbaum.xml": Explained(
        ("duration", "onset"),
        "chords",
        "measure 1, left hand: half note B2 under dotted half notes",
    ),
}


def test_a_hundred_scores_and_more_are_compared() -> None:
    names = chosen_scores()
    assert len(names) >= 100
    assert len({name.partition("/")[0] for name in names}) >= 18
    assert set(EXPLAINED) <= set(names)


@pytest.mark.parametrize("name", chosen_scores())
def test_note_table_against_music21(name: str) -> None:
    path = corpus_folder() / name
    ours, theirs = by_postil(path, sounding=False), by_music21(path)
    explained = EXPLAINED.get(name, Explained((), "", ""))
    assert differences(ours, theirs) == explained.kinds
    if explained.reason:
        why, holds = REASONS[explained.reason]
        assert holds(ours, ours, theirs), why
