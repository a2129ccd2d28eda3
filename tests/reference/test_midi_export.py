"""Exported MIDI files as music21 and partitura read them, against the scores they came from.

Two readers that share no code with the writer, on scores of the music21 corpus. partitura keeps
every onset as it is in the file; music21 may round to a grid, so it is asked for pitches and
tempo. Format: Standard MIDI Files 1.0.
"""

from __future__ import annotations

import warnings
from collections import Counter
from pathlib import Path

import pytest

from core.exchange.midi_file import midi_file
from core.score.note_table import TIE_STOP
from core.score.places import Passage
from core.score.reading import read_score
from core.score.score import Score
from core.takes.playing import perform

music21 = pytest.importorskip("music21")
partitura = pytest.importorskip("partitura")
CORPUS = Path(music21.__file__).parent / "corpus"
PIECES = {
    "bach/bwv66.6.mxl": 0,
    "mozart/k155/movement2.mxl": 0,
    # Three notes end a tie that begins nowhere in the file; they are struck.
    "schumann_robert/opus48no2.mxl": 3,
    "joplin/maple_leaf_rag.mxl": 0,
}


def exported(piece: str, folder: Path) -> tuple[Score, Path]:
    score = read_score(CORPUS / piece).score
    path = folder / "exported.mid"
    path.write_bytes(midi_file(perform(score, Passage.of_measures(0, len(score.measures)))))
    return score, path


@pytest.mark.parametrize(("piece", "loose_ties"), PIECES.items())
def test_partitura_reads_the_same_notes_at_the_same_onsets(
    piece: str, loose_ties: int, tmp_path: Path
) -> None:
    score, path = exported(piece, tmp_path)
    notes = score.notes
    struck = (notes.tie & TIE_STOP == 0) & ~notes.is_grace & ~notes.is_cue & (notes.midi_pitch >= 0)
    wanted = {
        (round(float(score.quarters(notes.onset[row])), 4), int(notes.midi_pitch[row]))
        for row in struck.nonzero()[0]
    }
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        performance = partitura.load_performance_midi(path)
    ppq = performance.performedparts[0].ppq
    read = {
        (round(note["note_on_tick"] / ppq, 4), note["midi_pitch"])
        for part in performance.performedparts
        for note in part.notes
    }
    # Unisons are one key; grace notes lie between the onsets, and nothing else may.
    assert wanted <= read
    assert len(read - wanted) <= int(notes.is_grace.sum()) + loose_ties


@pytest.mark.parametrize("piece", list(PIECES)[:3])
def test_music21_reads_the_same_pitches_and_tempo(piece: str, tmp_path: Path) -> None:
    score, path = exported(piece, tmp_path)
    made = perform(score, Passage.of_measures(0, len(score.measures)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream = music21.converter.parse(path, format="midi", forceSource=True)
    read = Counter(
        pitch.midi
        for element in stream.recurse().notes
        if element.tie is None or element.tie.type == "start"
        for pitch in element.pitches
    )
    assert read == Counter(made.midi_pitch.tolist())
    first = next(iter(stream.recurse().getElementsByClass("MetronomeMark")))
    assert first.getQuarterBPM() == pytest.approx(made.time.tempos[0].qpm, abs=0.5)
