"""Cadences: dominant to tonic and their kin, where a phrase comes to rest.

Conventions: a cadence is at the onset of its last chord. Only rests are looked at: the top note is
long, or silence or a printed division follows it; and it begins with a measure, or in its middle.

* authentic: a dominant with its root in the bass (or a leading-note chord), then the tonic's
  chord on its root;
* deceptive: a dominant on its root, then the chord on the sixth degree;
* half: the rest is on the dominant's plain chord itself, on its root;
* plagal: the subdominant, then the tonic's chord, both on their roots.

Source: Kostka, Payne & Almen; common practice. What is a rest is a judgement: many phrases end
less clearly, and then nothing is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from core.analysis.harmony import Harmony
from core.analysis.key_regions import is_division
from core.analysis.keys import Key
from core.analysis.slices import passage_between, rows_between, sounding_rows
from core.score.findings import Finding
from core.score.score import Score

REST_QUARTERS = 1.5
"""The top note or the chord of a rest lasts so long, or is followed by silence."""
CONFIDENCE = {"authentic": 0.7, "half": 0.5, "plagal": 0.5, "deceptive": 0.5}
MORE_AT_DIVISION = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Cadence:
    """A cadence of a kind ("authentic", "half", "plagal", "deceptive") in a key."""

    kind: str
    key: Key

    @property
    def name(self) -> str:
        """For a reader: "authentic cadence in G minor"."""
        return f"{self.kind} cadence in {self.key.name}"


def cadences(score: Score, chords: tuple[Finding[Harmony], ...]) -> tuple[Finding[Cadence], ...]:
    """The cadences of a score, by onset; each passage is the point where it arrives.

    Parameters
    ----------
    score : Score
    chords : tuple of Finding of Harmony
        As ``harmony`` gives them.
    """
    rests = _rests(score)
    found = []
    for before, after in pairwise(chords):
        if before.passage is None or after.passage is None:
            continue
        arrival = score.onset_of(after.passage.start)
        joined = score.onset_of(before.passage.end) == arrival
        kind = _kind(before.value, after.value) if joined and arrival in rests else None
        if kind is not None:
            found.append(_finding(score, after, kind, arrival))
    return tuple(found)


def _kind(before: Harmony, after: Harmony) -> str | None:
    key = after.key
    on_root = after.bass == after.root
    above = (7 * after.root - key.tonic * 7) % 12
    came = (7 * before.root - key.tonic * 7) % 12
    from_dominant = came == 7 and before.quality in ("major", "dominant seventh")
    from_dominant_root = from_dominant and before.bass == before.root
    leads = came == 11 and before.quality.startswith(("diminished", "half-diminished"))
    is_tonic = above == 0 and after.quality == key.mode
    if is_tonic and on_root and (from_dominant_root or leads):
        return "authentic"
    if from_dominant_root and on_root and _is_submediant(above, after.quality, key):
        return "deceptive"
    if above == 7 and after.quality == "major" and on_root and came != 7:
        return "half"
    is_subdominant = came == 5 and before.quality in ("major", "minor")
    if is_tonic and on_root and is_subdominant and before.bass == before.root:
        return "plagal"
    return None


def _is_submediant(above: int, quality: str, key: Key) -> bool:
    return (above, quality) == ((9, "minor") if key.mode == "major" else (8, "major"))


def _rests(score: Score) -> set[int]:
    """Onsets in ticks at which the top voice rests: long, before silence or before a division."""
    top = _top_voice(score)
    divisions = {m.onset for m in score.measures if is_division(score, m.index)}
    divisions.add(score.duration)
    least = REST_QUARTERS * score.ticks_per_quarter
    strong = _strong_onsets(score)
    after = dict(pairwise(top))
    return {
        onset
        for onset, lasts in top.items()
        if onset in strong
        and (
            lasts >= least
            or onset + lasts in divisions
            or after.get(onset, score.duration) > onset + lasts
        )
    }


def _top_voice(score: Score) -> dict[int, int]:
    """How long the highest note lasts that begins at each onset, in order."""
    notes = score.notes
    rows = sounding_rows(notes)
    order = rows[np.lexsort((notes.midi_pitch[rows], notes.onset[rows]))]
    return {int(notes.onset[row]): int(notes.duration[row]) for row in order.tolist()}


def _strong_onsets(score: Score) -> set[int]:
    """The beginnings of measures, and their middles where they have one."""
    starts = {measure.onset for measure in score.measures}
    return starts | {m.onset + m.duration // 2 for m in score.measures if m.duration % 2 == 0}


def _finding(score: Score, after: Finding[Harmony], kind: str, arrival: int) -> Finding[Cadence]:
    notes = score.notes
    rows = rows_between(notes, arrival, arrival + 1)
    passage = passage_between(score, arrival, arrival)
    next_measure = passage.start.measure_index + 1
    closes = next_measure >= len(score.measures) or is_division(score, next_measure)
    return Finding(
        kind="cadence",
        passage=passage,
        value=Cadence(kind=kind, key=after.value.key),
        confidence=CONFIDENCE[kind] + MORE_AT_DIVISION * closes,
        evidence=tuple(notes.ids[row] for row in rows.tolist()),
    )
