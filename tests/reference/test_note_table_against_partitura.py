"""The note table against partitura's own reading of the same files.

Source: partitura's MusicXML importer (Cancino-Chacón et al. 2022, "Partitura: A Python Package
for Symbolic Music Processing", Music Encoding Conference 2022); the files are those of
music21's corpus. Compared, part by part: how many notes, their sounding pitch, onset, duration.
"""

from __future__ import annotations

import pytest

from tests.reference.explained import REASONS, Explained
from tests.reference.readings import (
    by_partitura,
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
        ("onset",), "measures", "measure 37 in 4/4: the parts hold 3, 4, 4, 4 quarters"
    ),
    "haydn/opus1no1/movement4.mxl": Explained(
        ("onset",), "measures", "measure 33 in 3/4: the parts hold 3, 3, 3, 2 quarters"
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
    explained = EXPLAINED.get(name, Explained((), "", ""))
    assert differences(ours, theirs) == explained.kinds
    if explained.reason:
        why, holds = REASONS[explained.reason]
        assert holds(by_postil(path, sounding=False), ours, theirs), why
