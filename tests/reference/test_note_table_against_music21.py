"""The note table against music21's own reading of the same files.

Source: music21's corpus and its MusicXML importer (Cuthbert & Ariza 2010, "music21: A Toolkit
for Computer-Aided Musicology and Symbolic Music Data", ISMIR 2010). Compared, part by part:
how many notes, their written pitch, onset and duration. music21 is asked to read the file
itself (``forceSource``), never its own cache.
"""

from __future__ import annotations

import pytest

from tests.reference.explained import BOTH_DIFFER, Explained, unexplained
from tests.reference.readings import by_music21, by_postil, chosen_scores, corpus_folder

EXPLAINED = BOTH_DIFFER | {
    "haydn/opus1no1/movement3.mxl": Explained(
        ("onset",), "music21 lengthens", "measure 3: all parts hold 4 quarters"
    ),
    "haydn/opus1no1/movement5.mxl": Explained(
        ("onset",), "music21 lengthens", "measure 16: all parts hold 2 quarters"
    ),
    "mozart/k155/movement3.mxl": Explained(
        ("onset",), "music21 lengthens", "measure 0: all parts hold 1/2 quarters"
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
    assert not unexplained(EXPLAINED.get(name), written=ours, ours=ours, theirs=theirs)
