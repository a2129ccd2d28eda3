"""Why a finding of tonality is one, what would be next to it, and how often each degree sounds.

Conventions: plain sentences for the window, built from the notes; measures by their printed
numbers; an empty string where there is nothing to say. Pure functions: the finding and the score
it was found in.

* ``reason_for(finding, score)``: one or two sentences for "why?";
* ``runner_up_for(finding, score)``: one or two sentences about the likeliest alternative;
* ``degree_counts(finding, score)``: the degrees of a scale or key and how often each sounds.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from core.analysis.cadences import Cadence
from core.analysis.chords import QUALITIES
from core.analysis.harmony import Harmony
from core.analysis.keys import Key, tonic_name
from core.analysis.rivals import TonicRivals
from core.analysis.scale_reasons import rows_in, said_for_scale, times
from core.analysis.scales import ScaleInUse, degree_fifths, semitones
from core.analysis.slices import Ints, fifths_of, sounding_rows
from core.score.findings import Finding
from core.score.score import Score

_LINE = {"major": "1 2 3 4 5 6 7", "minor": "1 2 b3 4 5 b6 7"}
_RAISED_IN_MINOR = ("6", "b7")
"""Degrees that the minor has beside those of its harmonic form."""
_SURE = 0.995
"""From here on two decimals would read 1.00, which no analysis may claim."""


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
        return " ".join(said.sentence for said in said_for_scale(score, finding.passage, value))
    if isinstance(value, Key):
        return _reason_for_key(finding, score, value)
    if isinstance(value, TonicRivals):
        lower, upper = (tonic_name(tonic) for tonic in value.tonics)
        return (
            f"{lower} and {upper} change places with like chords ({value.chords}): "
            f"{_percent(value.balance)} of the measures to {_percent(1 - value.balance)}. "
            f"No leading note and no cadence decides."
        )
    if isinstance(value, Cadence):
        return _CADENCE_REASONS[value.kind].format(tonic=tonic_name(value.key.tonic))
    if isinstance(value, Harmony):
        return _reason_for_chord(finding, score, value)
    return ""


def runner_up_for(finding: Finding[Any], score: Score) -> str:
    """What else it may be, and what that would need; empty without an alternative."""
    if not finding.alternatives:
        return ""
    other, share = finding.alternatives[0]
    first = f"Runner-up: {other.name}, {min(share, _SURE - 0.005):.2f}."
    needed = _needed(finding, score, finding.value, other)
    return f"{first} {needed}".strip()


def degree_counts(
    finding: Finding[ScaleInUse] | Finding[Key], score: Score
) -> tuple[tuple[str, int], ...]:
    """How often each degree sounds where a scale or key holds.

    Returns
    -------
    tuple of (str, int)
        Degrees of the scale and those bent in it, against the major scale, from the tonic up;
        of a minor key, both sixths and sevenths where they sound. Notes tied over count once.
    """
    rows = rows_in(score, finding.passage)
    above = fifths_of(score.notes, rows) - finding.value.tonic
    value = finding.value
    if isinstance(value, Key):
        return _degrees_of_key(value, above)
    degrees = sorted({*value.degrees, *value.bent}, key=semitones)
    return tuple((degree, _count_degree(degree, above, value)) for degree in degrees)


def _degrees_of_key(key: Key, above: Ints) -> tuple[tuple[str, int], ...]:
    counts = {degree: _spelled(degree, above) for degree in _LINE[key.mode].split()}
    if key.mode == "minor":
        more = {degree: _spelled(degree, above) for degree in _RAISED_IN_MINOR}
        counts |= {degree: count for degree, count in more.items() if count}
    return tuple((degree, counts[degree]) for degree in sorted(counts, key=semitones))


def _count_degree(degree: str, above: Ints, scale: ScaleInUse) -> int:
    if scale.bent:
        return _spelled(degree, above)
    return int(np.count_nonzero(7 * above % 12 == semitones(degree)))


def _spelled(degree: str, above: Ints) -> int:
    return int(np.count_nonzero(above == degree_fifths(degree)))


def _reason_for_key(finding: Finding[Key], score: Score, key: Key) -> str:
    rows = rows_in(score, finding.passage)
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
    close = f", and its last bass is {tonic}" if lowest == key.pitch_class else ""
    note = tonic_name(key.tonic + degree_fifths("7"))
    every = f"All {len(rows)}" if inside == len(rows) else f"{inside} of {len(rows)}"
    first = f"{every} notes belong to {key.name}{close}."
    if leading == 0:
        return f"{first} Its leading note {note} is not there."
    return f"{first} Its leading note {note} sounds {times(leading)}."


def _reason_for_chord(finding: Finding[Harmony], score: Score, chord: Harmony) -> str:
    """What share of the sound, by duration, belongs to the chord, and what does not."""
    notes, passage = score.notes, finding.passage
    rows = sounding_rows(notes)
    start, end = (0, score.duration)
    if passage is not None:
        start, end = score.onset_of(passage.start), score.onset_of(passage.end)
    ends = notes.onset[rows] + notes.duration[rows]
    lasts = np.minimum(ends, end) - np.maximum(notes.onset[rows], start)
    rows, lasts = rows[lasts > 0], lasts[lasts > 0]
    tones = [(7 * chord.root + step) % 12 for step in dict(QUALITIES)[chord.quality]]
    is_tone = np.isin(notes.midi_pitch[rows] % 12, tones)
    if is_tone.all():
        return "All that sounds belongs to it."
    spelled = fifths_of(notes, rows[~is_tone]).tolist()
    foreign = ", ".join(tonic_name(fifth) for fifth in dict.fromkeys(spelled))
    share = float(lasts[is_tone].sum() / lasts.sum())
    return f"{_percent(share)} of what sounds belongs to it; the rest is {foreign}."


def _needed(finding: Finding[Any], score: Score, own: Any, other: Any) -> str:
    """What the runner-up has that the finding has not, and how often that sounds."""
    mine, theirs = _notes_of(own), _notes_of(other)
    lacking = [fifth for fifth in theirs if 7 * fifth % 12 not in _classes(mine)]
    if not lacking:
        if mine and _classes(mine) == _classes(theirs):
            return f"It has the same notes; {tonic_name(own.tonic)} is the firmer tonic."
        return ""
    name = tonic_name(lacking[0])
    classes = score.notes.midi_pitch[rows_in(score, finding.passage)] % 12
    count = int(np.count_nonzero(classes == 7 * lacking[0] % 12))
    article = "an" if name[0] in "AEF" else "a"
    # Beside a B flat, a B has to be said to be natural.
    is_plain = len(name) == 1 and any(tonic_name(fifth)[0] == name for fifth in mine)
    there = "there is none" if count == 0 else f"it sounds {times(count)}"
    return f"It would need {article} {name}{' natural' if is_plain else ''}; {there}."


def _notes_of(value: Any) -> tuple[int, ...]:
    """Notes of a key or scale on the line of fifths."""
    if isinstance(value, ScaleInUse):
        return tuple(value.tonic + degree_fifths(degree) for degree in value.degrees)
    if isinstance(value, Key):
        return tuple(value.tonic + degree_fifths(d) for d in _LINE[value.mode].split())
    return ()


def _classes(notes: Iterable[int]) -> set[int]:
    return {7 * note % 12 for note in notes}


def _percent(share: float) -> str:
    return f"{round(100 * share)} %"


_CADENCE_REASONS = {
    "authentic": "The dominant goes to {tonic} on its root, and the phrase rests there.",
    "half": "The phrase rests on the dominant of {tonic}.",
    "plagal": "The subdominant goes to {tonic} on its root, and the phrase rests there.",
    "deceptive": "The dominant of {tonic} goes to the sixth degree instead.",
}
