"""Why a finding of tonality is one, what would be next to it, and how often each degree sounds.

Conventions: plain sentences for the window, built from the notes; measures by their printed
numbers; an empty string where there is nothing to say. Pure functions: the finding and the score
it was found in.

* ``reason_for(finding, score)``: one or two sentences for "why?";
* ``runner_up_for(finding, score)``: one or two sentences about the likeliest alternative;
* ``degree_counts(finding, score)``: for a scale region, its degrees and how often each sounds.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from core.analysis.bent_degrees import bends
from core.analysis.cadences import Cadence
from core.analysis.harmony import Harmony
from core.analysis.keys import Key, tonic_name
from core.analysis.rivals import TonicRivals
from core.analysis.scales import (
    DEGREE_WORDS,
    ScaleInUse,
    degree_fifths,
    scale_degrees,
    semitones,
)
from core.analysis.slices import Ints, fifths_of, sounding_rows
from core.score.findings import Finding
from core.score.note_table import TIE_STOP
from core.score.score import Score

_LINE = {"major": "1 2 3 4 5 6 7", "minor": "1 2 b3 4 5 b6 7"}
_NUMBER_WORDS = ("never", "once", "twice")


def reason_for(finding: Finding[Any], score: Score) -> str:
    """Why, in a sentence or two.

    Parameters
    ----------
    finding : Finding of Key, ScaleInUse, TonicRivals, Harmony or Cadence
    score : Score
        The one it was found in.
    """
    value = finding.value
    if isinstance(value, ScaleInUse):
        return _reason_for_scale(finding, score, value)
    if isinstance(value, Key):
        return _reason_for_key(finding, score, value)
    if isinstance(value, TonicRivals):
        lower, upper = (tonic_name(tonic) for tonic in value.tonics)
        return (
            f"{lower} and {upper} change places with like chords ({value.chords}), "
            f"{value.balance:.0%} to {1 - value.balance:.0%} of the measures. "
            f"No leading note and no cadence decides."
        )
    if isinstance(value, Cadence):
        return _CADENCE_REASONS[value.kind].format(tonic=tonic_name(value.key.tonic))
    if isinstance(value, Harmony):
        figure = f", {value.figure} in {value.key.name}" if value.figure else ""
        return f"{value.name}{figure}: {finding.confidence:.0%} of the sound is of this chord."
    return ""


def runner_up_for(finding: Finding[Any], score: Score) -> str:
    """What else it may be, and what that would need; empty without an alternative."""
    if not finding.alternatives:
        return ""
    other, share = finding.alternatives[0]
    first = f"Runner-up: {other.name}, {share:.2f}."
    needed = _needed(finding, score, finding.value, other)
    return f"{first} {needed}".strip()


def degree_counts(finding: Finding[ScaleInUse], score: Score) -> tuple[tuple[str, int], ...]:
    """How often each degree sounds in a scale region.

    Returns
    -------
    tuple of (str, int)
        Degrees of the scale and those bent in it, against the major scale, from the tonic up;
        notes tied over count once.
    """
    rows = _rows(finding, score)
    above = fifths_of(score.notes)[rows] - finding.value.tonic
    degrees = sorted({*finding.value.degrees, *finding.value.bent}, key=semitones)
    classes = 7 * above % 12
    counts = [(degree, _count_degree(degree, above, classes, finding.value)) for degree in degrees]
    return tuple(counts)


def _count_degree(degree: str, above: Ints, classes: Ints, scale: ScaleInUse) -> int:
    if scale.bent:
        return int(np.count_nonzero(above == degree_fifths(degree)))
    return int(np.count_nonzero(classes == semitones(degree)))


def _rows(finding: Finding[Any], score: Score) -> Ints:
    """Notes that begin in a finding's passage; those tied over are left out."""
    notes = score.notes
    rows = sounding_rows(notes)
    chosen = (notes.tie[rows] & TIE_STOP) == 0
    if finding.passage is not None:
        start, end = score.onset_of(finding.passage.start), score.onset_of(finding.passage.end)
        chosen &= (notes.onset[rows] >= start) & (notes.onset[rows] < end)
    return np.asarray(rows[chosen], dtype=np.int64)


def _reason_for_scale(finding: Finding[ScaleInUse], score: Score, scale: ScaleInUse) -> str:
    rows = _rows(finding, score)
    sentences = [*_against_signature(finding, score, rows), *_plain_seventh(score, rows, scale)]
    sentences += [_altered(score, rows, scale, degree) for degree in scale.altered]
    sentences += _bent(finding, score, scale)
    if not sentences:
        sentences = [_belongs(score, rows, scale)]
    return " ".join(sentences[:3])


def _against_signature(finding: Finding[ScaleInUse], score: Score, rows: Ints) -> list[str]:
    """Notes of the scale that stand against the printed signature, and how steadily."""
    if finding.passage is None:
        return []
    fifths = score.measures[finding.passage.start.measure_index].fifths
    if fifths is None:
        return []
    spelled = fifths_of(score.notes)[rows]
    said = []
    for degree in finding.value.degrees:
        note = finding.value.tonic + degree_fifths(degree)
        printed = _in_signature(note, fifths)
        against = int(np.count_nonzero(spelled == note))
        if note != printed and against:
            as_printed = int(np.count_nonzero(spelled == printed))
            said.append(_steadily(note, against, as_printed))
    return said[:1]


def _in_signature(note: int, fifths: int) -> int:
    """The note of the same letter that the signature gives."""
    letter = (note + 1) % 7 - 1
    # A signature of n sharps holds the seven notes from n - 1 to n + 5 on the line of fifths.
    return letter + 7 * -((letter - (fifths - 1)) // 7)


def _steadily(note: int, against: int, as_printed: int) -> str:
    kind = _sign_words(note)
    letter = tonic_name(note)[0]
    if as_printed == 0:
        places = "in its only place" if against == 1 else f"in all {against} places"
        return f"{letter} is {kind} {places}, against the signature."
    return f"{letter} is {kind} in {against} of {against + as_printed} places."


def _sign_words(note: int) -> str:
    name = tonic_name(note)
    return {"": "natural", "#": "sharp", "b": "flat"}.get(name[1:], "altered")


def _plain_seventh(score: Score, rows: Ints, scale: ScaleInUse) -> list[str]:
    if "b7" not in scale.degrees or "b3" not in scale.degrees:
        return []
    spelled = fifths_of(score.notes)[rows]
    raised = int(np.count_nonzero(spelled == scale.tonic + degree_fifths("7")))
    usual = int(np.count_nonzero(spelled == scale.tonic + degree_fifths("b7")))
    if raised == 0 and usual:
        return [f"{tonic_name(scale.tonic + degree_fifths('b7'))} is never raised."]
    return []


def _altered(score: Score, rows: Ints, scale: ScaleInUse, degree: str) -> str:
    natural = next((d for d in scale_degrees(scale.scale) if d[-1] == degree[-1]), None)
    spelled = fifths_of(score.notes)[rows]
    note = scale.tonic + degree_fifths(degree)
    count = int(np.count_nonzero(spelled == note))
    word = DEGREE_WORDS.get(degree, degree)
    first = f"{tonic_name(note)}, the {word}, sounds {_times(count)}"
    if natural is None:
        return f"{first}."
    plain = scale.tonic + degree_fifths(natural)
    return f"{first}; {tonic_name(plain)} {_times(int(np.count_nonzero(spelled == plain)))}."


def _bent(finding: Finding[ScaleInUse], score: Score, scale: ScaleInUse) -> list[str]:
    if not scale.bent or finding.passage is None:
        return []
    first, end = finding.passage.start.measure_index, finding.passage.end.measure_index
    plain = {degree[-1]: degree for degree in scale.degrees}
    said = []
    for degree, rows in bends(score, first, end, scale):
        bent = tonic_name(scale.tonic + degree_fifths(degree))
        usual = tonic_name(scale.tonic + degree_fifths(plain[degree[-1]]))
        where = _measures(score, score.notes.measure[rows].tolist())
        back = _gives_way(score, scale, plain[degree[-1]], rows, end)
        said.append(f"{bent} stands for {usual} in {where}{back}.")
    return said


def _gives_way(score: Score, scale: ScaleInUse, degree: str, rows: Ints, end: int) -> str:
    """Where the plain degree comes back after the bent one."""
    notes = score.notes
    last = int(notes.measure[rows].max())
    usual = sounding_rows(notes)
    usual = usual[fifths_of(notes)[usual] == scale.tonic + degree_fifths(degree)]
    after = notes.measure[usual][(notes.measure[usual] > last) & (notes.measure[usual] < end)]
    return f", and gives way in m. {score.measures[int(after.min())].number}" if len(after) else ""


def _belongs(score: Score, rows: Ints, scale: ScaleInUse) -> str:
    classes = (score.notes.midi_pitch[rows] - 7 * scale.tonic) % 12
    inside = np.isin(classes, [semitones(degree) for degree in scale.degrees])
    outside = int(np.count_nonzero(~inside))
    if outside == 0:
        return f"All {len(rows)} notes belong to it."
    return f"{len(rows) - outside} of {len(rows)} notes belong to it."


def _reason_for_key(finding: Finding[Key], score: Score, key: Key) -> str:
    rows = _rows(finding, score)
    if not len(rows):
        return ""
    degrees = _LINE[key.mode].split()
    scale = {(key.pitch_class + semitones(degree)) % 12 for degree in degrees}
    pitches = score.notes.midi_pitch[rows]
    inside = int(np.count_nonzero(np.isin(pitches % 12, sorted(scale))))
    leading = int(np.count_nonzero(pitches % 12 == (key.pitch_class + 11) % 12))
    last = rows[score.notes.onset[rows] == score.notes.onset[rows].max()]
    lowest = int(score.notes.midi_pitch[last].min()) % 12
    tonic = tonic_name(key.tonic)
    close = f" and its last bass is {tonic}" if lowest == key.pitch_class else ""
    note = tonic_name(key.tonic + degree_fifths("7"))
    first = f"{inside} of {len(rows)} notes belong to {key.name}{close}."
    if leading == 0:
        return f"{first} Its leading note {note} is not there."
    return f"{first} Its leading note {note} sounds {_times(leading)}."


def _needed(finding: Finding[Any], score: Score, own: Any, other: Any) -> str:
    """What the runner-up has that the finding has not, and how often that sounds."""
    rows = _rows(finding, score)
    classes = score.notes.midi_pitch[rows] % 12
    mine, theirs = _notes_of(own), _notes_of(other)
    lacking = {fifth: tonic_name(fifth) for fifth in theirs if 7 * fifth % 12 not in _classes(mine)}
    if not lacking:
        if mine and _classes(mine) == _classes(theirs):
            return f"It has the same notes; {tonic_name(own.tonic)} is the firmer tonic."
        return ""
    fifth, name = next(iter(lacking.items()))
    count = int(np.count_nonzero(classes == 7 * fifth % 12))
    article = "an" if name[0] in "AEF" else "a"
    there = "there is none" if count == 0 else f"it sounds {_times(count)}"
    return f"It would need {article} {name}; {there}."


def _notes_of(value: Any) -> tuple[int, ...]:
    """Notes of a key or scale on the line of fifths."""
    if isinstance(value, ScaleInUse):
        return tuple(value.tonic + degree_fifths(degree) for degree in value.degrees)
    if isinstance(value, Key):
        return tuple(value.tonic + degree_fifths(d) for d in _LINE[value.mode].split())
    return ()


def _classes(notes: Iterable[int]) -> set[int]:
    return {7 * note % 12 for note in notes}


def _times(count: int) -> str:
    return _NUMBER_WORDS[count] if count < len(_NUMBER_WORDS) else f"{count} times"


def _measures(score: Score, indices: list[int]) -> str:
    """Printed numbers: "m. 3", "m. 3 and 5", "m. 3, 5, 7"."""
    numbers = list(dict.fromkeys(score.measures[index].number for index in sorted(indices)))
    if len(numbers) == 2:
        return f"m. {numbers[0]} and {numbers[1]}"
    return f"m. {', '.join(numbers)}"


_CADENCE_REASONS = {
    "authentic": "The dominant goes to {tonic} on its root, and the phrase rests there.",
    "half": "The phrase rests on the dominant of {tonic}.",
    "plagal": "The subdominant goes to {tonic} on its root, and the phrase rests there.",
    "deceptive": "The dominant of {tonic} goes to the sixth degree instead.",
}
