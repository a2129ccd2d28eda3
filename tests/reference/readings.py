"""One score read three ways: by Postil, by music21, by partitura, in comparable rows.

Conventions: a reading is one list of rows a part. Times are in quarter notes, rounded to 5
decimals since partitura counts in floats. Grace notes last 0; unpitched notes have pitch -1;
rests are left out.
"""

from __future__ import annotations

import os
import warnings
from bisect import bisect_right
from collections import Counter
from pathlib import Path
from typing import Any, NamedTuple

from core.score.reading import read_score

_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
"""Of C D E F G A B above C, in the order of ``note_table.STEPS``."""


class Row(NamedTuple):
    """A note: its measure from 0, onset in it, onset in the score, duration, MIDI pitch."""

    measure: int
    offset: float
    onset: float
    duration: float
    pitch: int


Reading = list[list[Row]]


def corpus_folder() -> Path:
    """The folder of the scores that the music21 package carries."""
    import music21

    return Path(music21.__file__).parent / "corpus"


def corpus_scores() -> list[str]:
    """All its MusicXML and MXL scores, relative to the folder, sorted."""
    folder = corpus_folder()
    found = (p for kind in ("mxl", "xml", "musicxml") for p in folder.rglob(f"*.{kind}"))
    return sorted(p.relative_to(folder).as_posix() for p in found)


SMALL_BYTES = {".mxl": 24_000, ".xml": 350_000, ".musicxml": 350_000}
"""Packed or plain; larger scores are left to ``whole_corpus``."""
THINNED = {"bach": 8, "trecento": 4, "monteverdi": 3}
"""One in so many of the composers who would crowd out all others."""
ALSO = ("schubert/Lindenbaum.xml",)
"""Larger, and with chords of unequal durations."""


def chosen_scores() -> list[str]:
    """Small scores of all composers of the corpus, from the trecento to Webern."""
    folder, counts, chosen = corpus_folder(), Counter[str](), []
    for name in corpus_scores():
        path = folder / name
        if path.stat().st_size <= SMALL_BYTES[path.suffix]:
            composer = name.partition("/")[0]
            if counts[composer] % THINNED.get(composer, 1) == 0:
                chosen.append(name)
            counts[composer] += 1
    return [*chosen, *ALSO]


def by_postil(path: Path, *, sounding: bool) -> Reading:
    """Postil's note table; with the sounding pitch, or with the written one."""
    score = read_score(path).score
    notes, reading = score.notes, [[] for _ in score.parts]  # type: ignore[var-annotated]
    for row in range(len(notes)):
        pitch = int(notes.midi_pitch[row])
        if pitch >= 0 and not sounding:
            pitch = 12 * (int(notes.octave[row]) + 1) + _SEMITONES[int(notes.step[row])]
            pitch += int(notes.alter[row] // 1)
        measure, onset = int(notes.measure[row]), notes.quarters(notes.onset[row])
        offset = onset - score.quarters(score.measures[measure].onset)
        duration = notes.quarters(notes.duration[row])
        reading[int(notes.part[row])].append(_row(measure, offset, onset, duration, pitch))
    return reading


def by_music21(path: Path) -> Reading:
    """music21's reading, with the pitch as written."""
    import music21

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream = music21.converter.parse(path, forceSource=True, format="musicxml")
    reading: Reading = []
    for part in stream.parts:
        # music21 cuts a part of several staves into one stream a staff.
        is_first = "PartStaff" not in part.classes or str(part.id).endswith("-Staff1")
        rows: list[Row] = [] if is_first else reading.pop()
        for index, measure in enumerate(part.getElementsByClass("Measure")):
            for element in measure.flatten().notes:
                if isinstance(element, music21.harmony.Harmony):
                    continue
                duration = 0 if element.duration.isGrace else element.quarterLength
                onset = measure.offset + element.offset
                rows += [
                    _row(index, element.offset, onset, duration, pitch)
                    for pitch in _pitches(element)
                ]
        reading.append(rows)
    return reading


def _pitches(element: Any) -> list[int]:
    notes = getattr(element, "notes", (element,))
    return [int(n.pitch.ps // 1) if hasattr(n, "pitch") else -1 for n in notes]


def by_partitura(path: Path) -> Reading:
    """partitura's reading, with ties left apart as in the file."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        parts = partitura.load_musicxml(os.fspath(path)).parts
        return [_partitura_rows(part) for part in parts]


def _partitura_rows(part: Any) -> list[Row]:
    from partitura.score import GraceNote, Measure

    to_quarters, rows = part.quarter_map, []
    starts = sorted(measure.start.t for measure in part.iter_all(Measure))
    begin = float(to_quarters(part.first_point.t))
    for note in part.notes:
        measure = max(bisect_right(starts, note.start.t) - 1, 0)
        onset, end = float(to_quarters(note.start.t)), float(to_quarters(note.end.t))
        offset = onset - float(to_quarters(starts[measure]))
        duration = 0 if isinstance(note, GraceNote) else end - onset
        rows.append(_row(measure, offset, onset - begin, duration, note.midi_pitch))
    return rows


def _row(measure: int, offset: Any, onset: Any, duration: Any, pitch: int) -> Row:
    return Row(
        measure, round(float(offset), 5), round(float(onset), 5), round(float(duration), 5), pitch
    )


def differences(ours: Reading, theirs: Reading) -> tuple[str, ...]:
    """What differs of "parts", "count", "pitch", "duration", "onset"; empty when nothing does.

    When every column agrees by itself and the rows as wholes don't, that is a "combination".
    """
    if len(ours) != len(theirs):
        return ("parts",)
    kinds = [
        kind
        for kind, columns in (
            ("count", ()),
            ("pitch", ("pitch",)),
            ("duration", ("duration",)),
            ("onset", ("onset",)),
        )
        if tally(ours, *columns) != tally(theirs, *columns)
    ]
    columns = ("onset", "duration", "pitch")
    if not kinds and tally(ours, *columns) != tally(theirs, *columns):
        kinds.append("combination")
    return tuple(kinds)


def tally(reading: Reading, *columns: str) -> list[Counter[tuple[float, ...]]]:
    """How often each combination of the columns comes, part by part."""
    return [Counter(tuple(getattr(r, c) for c in columns) for r in rows) for rows in reading]


def falls_apart(reading: Reading) -> bool:
    """Whether one measure begins at different times in different parts."""
    begun: dict[int, float] = {}
    return any(
        abs(begun.setdefault(row.measure, row.onset - row.offset) - (row.onset - row.offset)) > 1e-3
        for rows in reading
        for row in rows
    )


def agree_inside_measures(ours: Reading, theirs: Reading, *columns: str) -> bool:
    """Whether all notes stand at one place of their measure, with these columns besides.

    Grace notes are left out: partitura doesn't tell on which side of a barline one stands.
    """
    inside = ("measure", "offset", *columns)
    lasting = [[[row for row in rows if row.duration] for rows in r] for r in (ours, theirs)]
    one, other = (tally(reading, *inside) for reading in lasting)
    # Rounding twice may move the last decimal.
    return [_coarse(counts) for counts in one] == [_coarse(counts) for counts in other]


def _coarse(counts: Counter[tuple[float, ...]]) -> Counter[tuple[float, ...]]:
    coarse: Counter[tuple[float, ...]] = Counter()
    for row, times in counts.items():
        coarse[tuple(round(value, 3) for value in row)] += times
    return coarse
