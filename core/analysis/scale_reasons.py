"""What the notes say for a scale: sentences, each with the notes that it speaks of.

Conventions: sentences for the window, letters as ``tonic_name`` writes them, measures by their
printed numbers. Rows are those of the note table; notes tied over count once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from core.analysis.bent_degrees import bends
from core.analysis.keys import tonic_name
from core.analysis.scales import (
    DEGREE_WORDS,
    ScaleInUse,
    degree_fifths,
    scale_degrees,
    semitones,
)
from core.analysis.slices import Ints, fifths_of, rows_between, sounding_rows
from core.score.note_table import TIE_STOP
from core.score.places import Passage
from core.score.score import Score

_NUMBER_WORDS = ("never", "once", "twice")
_MOST_SAID = 3


class Said(NamedTuple):
    """A sentence, and the rows of the notes it speaks of."""

    sentence: str
    rows: Ints


def said_for_scale(score: Score, passage: Passage | None, scale: ScaleInUse) -> list[Said]:
    """What speaks for a scale in a passage, three things at most.

    Parameters
    ----------
    score : Score
    passage : Passage or None
        Whole measures; None for the whole score.
    scale : ScaleInUse
    """
    rows = rows_in(score, passage)
    spelled = fifths_of(score.notes, rows)
    said = [
        *_against_signature(score, passage, rows, spelled, scale),
        *_plain_seventh(rows, spelled, scale),
        *(_altered(rows, spelled, scale, degree) for degree in scale.altered),
        *_bent(score, passage, scale),
    ]
    return said[:_MOST_SAID] or [_belongs(score, rows, scale)]


def rows_in(score: Score, passage: Passage | None) -> Ints:
    """Notes that begin in a passage; those tied over are left out."""
    notes = score.notes
    rows = sounding_rows(notes)
    if passage is not None:
        rows = rows_between(notes, score.onset_of(passage.start), score.onset_of(passage.end))
    return np.asarray(rows[(notes.tie[rows] & TIE_STOP) == 0], dtype=np.int64)


def times(count: int) -> str:
    """How often, in words: "never", "once", "3 times"."""
    return _NUMBER_WORDS[count] if count < len(_NUMBER_WORDS) else f"{count} times"


def _against_signature(
    score: Score, passage: Passage | None, rows: Ints, spelled: Ints, scale: ScaleInUse
) -> list[Said]:
    """The first note of the scale that stands against the printed signature, and how steadily."""
    first = 0 if passage is None else passage.start.measure_index
    fifths = score.measures[first].fifths
    if fifths is None:
        return []
    for degree in scale.degrees:
        note = scale.tonic + degree_fifths(degree)
        printed = _in_signature(note, fifths)
        against = rows[spelled == note]
        if note != printed and len(against):
            as_printed = int(np.count_nonzero(spelled == printed))
            return [Said(sentence=_steadily(note, len(against), as_printed), rows=against)]
    return []


def _in_signature(note: int, fifths: int) -> int:
    """The note of the same letter that the signature gives."""
    letter = (note + 1) % 7 - 1
    # A signature of n sharps holds the seven notes from n - 1 to n + 5 on the line of fifths.
    return letter + 7 * -((letter - (fifths - 1)) // 7)


def _steadily(note: int, against: int, as_printed: int) -> str:
    kind = {"": "natural", "#": "sharp", "b": "flat"}.get(tonic_name(note)[1:], "altered")
    letter = tonic_name(note)[0]
    if as_printed == 0:
        places = "in its only place" if against == 1 else f"in all {against} places"
        return f"{letter} is {kind} {places}, against the signature."
    return f"{letter} is {kind} in {against} of {against + as_printed} places."


def _plain_seventh(rows: Ints, spelled: Ints, scale: ScaleInUse) -> list[Said]:
    if "b7" not in scale.degrees or "b3" not in scale.degrees:
        return []
    plain = scale.tonic + degree_fifths("b7")
    usual = rows[spelled == plain]
    if not len(usual) or np.any(spelled == scale.tonic + degree_fifths("7")):
        return []
    return [Said(sentence=f"{tonic_name(plain)} is never raised.", rows=usual)]


def _altered(rows: Ints, spelled: Ints, scale: ScaleInUse, degree: str) -> Said:
    natural = next((d for d in scale_degrees(scale.scale) if d[-1] == degree[-1]), None)
    note = scale.tonic + degree_fifths(degree)
    sounding = rows[spelled == note]
    sentence = f"{tonic_name(note)}, the {DEGREE_WORDS.get(degree, degree)}, sounds "
    sentence += times(len(sounding))
    if natural is not None:
        plain = scale.tonic + degree_fifths(natural)
        usual = int(np.count_nonzero(spelled == plain))
        sentence += f"; {tonic_name(plain)} {'never does' if not usual else times(usual)}"
    return Said(sentence=f"{sentence}.", rows=sounding)


def _bent(score: Score, passage: Passage | None, scale: ScaleInUse) -> list[Said]:
    if not scale.bent or passage is None:
        return []
    first, end = passage.start.measure_index, passage.end.measure_index
    plain = {degree[-1]: degree for degree in scale.degrees}
    said = []
    for degree, rows in bends(score, first, end, scale):
        note = scale.tonic + degree_fifths(degree)
        usual = scale.tonic + degree_fifths(plain[degree[-1]])
        where = _measures(score, score.notes.measure[rows].tolist())
        back = _next_in(score, usual, rows, score.onset_of(passage.end))
        sentence = f"{tonic_name(note)} stands for {tonic_name(usual)} in {where}"
        if len(back):
            number = score.measures[int(score.notes.measure[back[0]])].number
            sentence += f", and gives way in m. {number}"
        said.append(Said(sentence=f"{sentence}.", rows=np.concatenate([rows, back])))
    return said


def _next_in(score: Score, note: int, after: Ints, end: int) -> Ints:
    """Rows of a note in the first measure that has it after some others, and before ``end``."""
    notes = score.notes
    rows = rows_between(notes, int(notes.onset[after].max()), end)
    same = rows[fifths_of(notes, rows) == note]
    later = same[notes.measure[same] > int(notes.measure[after].max())]
    if len(later):
        later = later[notes.measure[later] == notes.measure[later].min()]
    return np.asarray(later, dtype=np.int64)


def _measures(score: Score, indices: list[int]) -> str:
    """Printed numbers: "m. 3", "m. 3 and 5", "m. 3, 5 and 7"; of many, the first ones."""
    numbers = list(dict.fromkeys(score.measures[index].number for index in sorted(indices)))
    if len(numbers) > _MOST_SAID:
        return f"m. {numbers[0]}, {numbers[1]} and {len(numbers) - 2} more"
    *others, last = numbers
    return f"m. {', '.join(others)} and {last}" if others else f"m. {last}"


def _belongs(score: Score, rows: Ints, scale: ScaleInUse) -> Said:
    classes = (score.notes.midi_pitch[rows] - 7 * scale.tonic) % 12
    inside = np.isin(classes, [semitones(degree) for degree in scale.degrees])
    count = int(np.count_nonzero(inside))
    every = f"All {len(rows)}" if count == len(rows) else f"{count} of {len(rows)}"
    none: Ints = rows[:0]
    return Said(sentence=f"{every} notes belong to it.", rows=none)
