"""The note table against partitura's own reading of the same files.

Source: partitura's MusicXML importer (Cancino-Chacón et al. 2022, "Partitura: A Python Package
for Symbolic Music Processing", Music Encoding Conference 2022); the files are those of
music21's corpus. Compared, part by part: how many notes, their sounding pitch, onset, duration.
"""

from __future__ import annotations

import pytest

from tests.reference.explained import BOTH_DIFFER, Explained, unexplained
from tests.reference.readings import by_partitura, by_postil, chosen_scores, corpus_folder

EXPLAINED = BOTH_DIFFER | {
    "haydn/opus1no1/movement3.mxl": Explained(
        ("onset",), "measures", "measure 37 in 4/4: the parts hold 3, 4, 4, 4 quarters"
    ),
    "trecento/PMFC_04-Quanto piu caro.xml": Explained(
        ("pitch",), "octave", "the lower parts sound an octave below"
    ),
    "trecento/PMFC_23_17-Kyrie Principum Effectivum.xml": Explained(
        ("pitch",), "octave", "the lower parts sound an octave below"
    ),
    "trecento/PMFC_23_21-Kyrie Guymont.xml": Explained(
        ("pitch",), "octave", "the lower parts sound an octave below"
    ),
    "trecento/PMFC_23_26-Kyrie O Virgo Sacrata Maria.xml": Explained(
        ("pitch",), "octave", "the lower parts sound an octave below"
    ),
}

# file: (the error of partitura's reader, why it can't read what is good MusicXML)
NOT_READ_BY_PARTITURA: dict[str, tuple[type[Exception], str]] = {
    "demos/drum_sample.xml": (AttributeError, "unpitched notes in chords"),
}


@pytest.mark.parametrize("name", chosen_scores())
def test_note_table_against_partitura(name: str) -> None:
    path = corpus_folder() / name
    ours = by_postil(path, sounding=True)
    if name in NOT_READ_BY_PARTITURA:
        error, _ = NOT_READ_BY_PARTITURA[name]
        with pytest.raises(error):
            by_partitura(path)
        return
    theirs = by_partitura(path)
    written = by_postil(path, sounding=False) if name in EXPLAINED else ours
    assert not unexplained(EXPLAINED.get(name), written=written, ours=ours, theirs=theirs)
