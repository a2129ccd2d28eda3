"""The note table against partitura's own reading of the same files.

Source: partitura's MusicXML importer (Cancino-Chacón et al. 2022, "Partitura: A Python Package
for Symbolic Music Processing", Music Encoding Conference 2022); the files are those of
music21's corpus. Compared, part by part: how many notes, their sounding pitch, onset, duration.
"""

from __future__ import annotations

import pytest

from tests.reference.explained import REASONS
from tests.reference.readings import (
    by_partitura,
    by_postil,
    chosen_scores,
    corpus_folder,
    differences,
)

# file: (what differs, the reason, by its name in ``explained``)
EXPLAINED: dict[str, tuple[tuple[str, ...], str]] = {}

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
    kinds, reason = EXPLAINED.get(name, ((), ""))
    assert differences(ours, theirs) == kinds
    if reason:
        why, holds = REASONS[reason]
        assert holds(by_postil(path, sounding=False), ours, theirs), why
