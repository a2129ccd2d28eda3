"""One score read three ways: by Postil, by music21, by partitura, in comparable rows.

Conventions: a reading is one ``Counter`` a part, of (onset, duration, MIDI pitch); onset and
duration in quarter notes, rounded to 5 decimals since partitura counts in floats. Grace notes
last 0. Unpitched notes count as pitch -1, rests not at all.
"""

from __future__ import annotations

import os
import warnings
from collections import Counter
from pathlib import Path

from core.score.note_table import STEPS
from core.score.reading import read_score

Row = tuple[float, float, int]
Reading = list[Counter[Row]]

_SEMITONES = (0, 2, 4, 5, 7, 9, 11)


def corpus_folder() -> Path:
    """The folder of the scores that the music21 package carries."""
    import music21

    return Path(music21.__file__).parent / "corpus"


def corpus_scores() -> list[str]:
    """All its MusicXML and MXL scores, relative to the folder, sorted."""
    folder = corpus_folder()
    found = (p for kind in ("mxl", "xml", "musicxml") for p in folder.rglob(f"*.{kind}"))
    return sorted(p.relative_to(folder).as_posix() for p in found)


def by_postil(path: Path, *, sounding: bool) -> Reading:
    """Postil's note table; with the written pitch or the sounding one."""
    score = read_score(path).score
    notes = score.notes
    reading: Reading = [Counter() for _ in score.parts]
    for row in range(len(notes)):
        midi = int(notes.midi_pitch[row])
        if midi >= 0 and not sounding:
            midi = 12 * (int(notes.octave[row]) + 1) + _SEMITONES[int(notes.step[row])]
            midi += int(notes.alter[row] // 1)
        onset, duration = notes.quarters(notes.onset[row]), notes.quarters(notes.duration[row])
        reading[int(notes.part[row])][_row(onset, duration, midi)] += 1
    return reading


def by_music21(path: Path) -> Reading:
    """music21's reading, with the pitch as written."""
    import music21

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream = music21.converter.parse(path, forceSource=True, format="musicxml")
    reading: Reading = []
    for part in _whole_parts(stream.parts):
        rows: Counter[Row] = Counter()
        for staff in part:
            for element in staff.flatten().notes:
                if isinstance(element, music21.harmony.Harmony):
                    continue
                duration = 0 if element.duration.isGrace else element.quarterLength
                for pitch in _pitches(element):
                    rows[_row(element.offset, duration, pitch)] += 1
        reading.append(rows)
    return reading


def _whole_parts(parts: object) -> list[list[object]]:
    """music21 cuts a part of several staves into one stream a staff; put them together."""
    whole: list[list[object]] = []
    for part in parts:  # type: ignore[attr-defined]
        if "PartStaff" in part.classes and part.id.rpartition("-Staff")[2] != "1":
            whole[-1].append(part)
        else:
            whole.append([part])
    return whole


def _pitches(element: object) -> list[int]:
    notes = getattr(element, "notes", (element,))
    return [int(n.pitch.ps // 1) if hasattr(n, "pitch") else -1 for n in notes]


def by_partitura(path: Path) -> Reading:
    """partitura's reading, with ties left apart as in the file."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura
        from partitura.score import GraceNote

        parts = partitura.load_musicxml(os.fspath(path)).parts
        reading: Reading = []
        for part in parts:
            to_quarters, rows = part.quarter_map, Counter()
            start = float(to_quarters(part.first_point.t)) if part.first_point else 0.0
            for note in part.notes:
                onset = float(to_quarters(note.start.t)) - start
                end = float(to_quarters(note.end.t)) - start
                duration = 0 if isinstance(note, GraceNote) else end - onset
                rows[_row(onset, duration, note.midi_pitch)] += 1
            reading.append(rows)
    return reading


def _row(onset: object, duration: object, pitch: int) -> Row:
    return round(float(onset), 5), round(float(duration), 5), pitch  # type: ignore[arg-type]


def kinds_of_difference(ours: Reading, theirs: Reading) -> list[str]:
    """What differs: "parts", "count", "pitch", "duration", "onset", in that order."""
    if len(ours) != len(theirs):
        return ["parts"]
    kinds = []
    if [sum(part.values()) for part in ours] != [sum(part.values()) for part in theirs]:
        kinds.append("count")
    for kind, column in (("pitch", 2), ("duration", 1), ("onset", 0)):
        if _columns(ours, column) != _columns(theirs, column):
            kinds.append(kind)
    return kinds or ([] if ours == theirs else ["combination"])


def _columns(reading: Reading, column: int) -> list[Counter[float]]:
    columns: list[Counter[float]] = []
    for part in reading:
        counts: Counter[float] = Counter()
        for row, times in part.items():
            counts[row[column]] += times
        columns.append(counts)
    return columns


assert STEPS == "CDEFGAB"  # _SEMITONES is in its order
