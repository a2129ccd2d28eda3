"""The scale in use, measure by measure, and the degrees that are bent in it.

Conventions: regions begin at barlines, follow one another without a gap and cover the score.
The path of the highest sum through tonics and scales is taken (Viterbi 1967): another scale on
the same tonic costs something, another tonic more, so that a region is not split for a passing
note. What a measure says is weighed in ``scale_evidence``.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from core.analysis.bent_degrees import bent_degrees
from core.analysis.chords import chords_of
from core.analysis.key_regions import key_regions
from core.analysis.keys import Key
from core.analysis.scale_evidence import (
    FORMS,
    MIXED_MINOR,
    WEIGHTS,
    ScaleEvidence,
    commonness,
    scale_evidence,
)
from core.analysis.scale_reasons import said_for_scale
from core.analysis.scales import ScaleInUse, pattern
from core.analysis.slices import (
    FIFTHS,
    PITCH_CLASS_OF_COLUMN,
    Floats,
    Ints,
    Slices,
    passage_between,
    rows_between,
    slices_of,
)
from core.score.findings import Finding
from core.score.places import Passage
from core.score.score import Score

SHARPNESS, BORNE_OUT = 2.0, 3.0
"""The sums of a region are divided by it before they are read as logarithms of shares: to say
how sure it is, and to ask whether its own evidence bears it out."""
LEADING_NOTE_SHARE, MAJOR_SIXTH_SHARE = 0.5, 1.0
"""In real minor music: how much of a seventh or sixth must be raised for it to give the name."""
DORIAN_SIXTHS = 4.0
"""How many times more major sixths than minor ones Dorian has; and no leading note."""
DOUBTFUL, LEAST_READ_AGAIN, READ_AGAIN_COST = 0.25, 4, 6.0
"""A region less sure than that, of so many measures, is read again with changes at that cost."""
_SUREST = 0.85
_LIKELY, _MOST_ALTERNATIVES, _MOST_EVIDENCE = 0.02, 3, 12


class _Heard(NamedTuple):
    """What the regions are told from."""

    score: Score
    slices: Slices
    evidence: ScaleEvidence


def scale_regions(
    score: Score,
    whole: Finding[Key] | None = None,
    regions: tuple[Finding[Key], ...] | None = None,
    slices: Slices | None = None,
) -> tuple[Finding[ScaleInUse], ...]:
    """The scales of a score, one after the other.

    Parameters
    ----------
    score : Score
    whole : Finding of Key, or None
        The key of the piece, where it is known.
    regions : tuple of Finding of Key, or None
        Its key regions; found out when not given.
    slices : Slices or None
        Those of the score, where they are made already.

    Returns
    -------
    tuple of Finding of ScaleInUse
        By onset; empty when no note has a pitch. Alternatives are other scales and tonics with a
        confidence of 0.02 or more, three at most. Evidence: the notes that the reasons speak of;
        else those that the runner-up lacks, or the basses on the tonic when it has the same
        notes; twelve at most, in order.
    """
    slices = slices or slices_of(score)
    if not len(slices) or not slices.fifths.any():
        return ()
    regions = key_regions(score, whole, slices) if regions is None else regions
    home = whole.value if whole is not None else None
    evidence = scale_evidence(score, slices, chords_of(slices), home, regions)
    heard = _Heard(score=score, slices=slices, evidence=evidence)
    path = _read_again(heard, _best_path(evidence))
    starts = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), len(path)]
    named = [
        (first, end, *_named(heard, int(path[first]), first, end))
        for first, end in pairwise(starts)
    ]
    return tuple(_region(heard, *entry) for entry in _joined(named))


def _best_path(evidence: ScaleEvidence) -> Ints:
    """A state for each measure: ``tonic * len(FORMS) + form``."""
    count, tonics, forms = evidence.measures.shape
    said = evidence.measures.reshape(count, -1)
    entering = WEIGHTS.prior * WEIGHTS.prior_of_change * np.tile(commonness(), tonics)
    best = said[0] + evidence.at_first.ravel()
    came = np.zeros((count, tonics * forms), dtype=np.int64)
    every = np.arange(tonics * forms)
    for measure in range(1, count):
        leaders = best.reshape(tonics, forms).argmax(axis=1) + np.arange(tonics) * forms
        same_tonic = np.repeat(leaders, forms)
        anywhere = int(best.argmax())
        near = best[same_tonic] - WEIGHTS.another_scale
        far = best[anywhere] - evidence.another_tonic[measure]
        changed = np.maximum(near, far) + entering
        stays = best >= changed
        came[measure] = np.where(stays, every, np.where(near >= far, same_tonic, anywhere))
        best = np.where(stays, best, changed) + said[measure]
    path = np.zeros(count, dtype=np.int64)
    path[-1] = int(best.argmax())
    for measure in range(count - 1, 0, -1):
        path[measure - 1] = came[measure, path[measure]]
    return path


def _read_again(heard: _Heard, path: Ints) -> Ints:
    """The path, with what its own evidence does not bear out read again by itself.

    A scale that was carried on only because another tonic costs so much is no finding: in such a
    region a change costs no more than it does where a key is established.
    """
    read = path.copy()
    starts = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), len(path)]
    for first, end in pairwise(starts):
        own = _named(heard, int(path[first]), first, end)
        if (
            end - first < LEAST_READ_AGAIN
            or _shares(heard, first, end, BORNE_OUT).get(own, 0.0) >= DOUBTFUL
        ):
            continue
        inside = heard.evidence._replace(
            measures=heard.evidence.measures[first:end],
            another_tonic=np.full(end - first, READ_AGAIN_COST),
            heard=heard.evidence.heard[first:end],
        )
        read[first:end] = _best_path(inside)
    return read


def _named(heard: _Heard, state: int, first: int, end: int) -> tuple[int, str, tuple[str, ...]]:
    """Tonic (pitch class), scale and altered degrees of a state in some measures."""
    tonic, form = divmod(state, len(FORMS))
    name, altered = FORMS[form]
    if name == MIXED_MINOR:
        name = _minor_by_inflections(heard.evidence.heard[first:end].sum(axis=0), tonic)
    return tonic, name, altered


def _minor_by_inflections(heard: Floats, tonic: int) -> str:
    """The form of the minor whose sixth and seventh prevail."""
    above = np.roll(heard, -tonic)
    has_leading_note = above[11] >= LEADING_NOTE_SHARE * above[10]
    has_major_sixth = above[9] > MAJOR_SIXTH_SHARE * above[8]
    if has_leading_note:
        return "melodic minor" if has_major_sixth else "harmonic minor"
    return "dorian" if above[9] > DORIAN_SIXTHS * above[8] else "natural minor"


def _joined(
    named: list[tuple[int, int, int, str, tuple[str, ...]]],
) -> list[tuple[int, int, int, str, tuple[str, ...]]]:
    """Neighbours that came out with the same name are one."""
    joined = named[:1]
    for entry in named[1:]:
        if joined[-1][2:] == entry[2:]:
            joined[-1] = (joined[-1][0], entry[1], *entry[2:])
        else:
            joined.append(entry)
    return joined


def _region(
    heard: _Heard, first: int, end: int, tonic: int, name: str, altered: tuple[str, ...]
) -> Finding[ScaleInUse]:
    score = heard.score
    start = score.measures[first].onset
    stop = score.measures[end].onset if end < len(score.measures) else score.duration
    own = (tonic, name, altered)
    shares = _shares(heard, first, end, SHARPNESS)
    others = sorted(((share, key) for key, share in shares.items() if key != own), reverse=True)
    likely = [(share, key) for share, key in others[:_MOST_ALTERNATIVES] if share >= _LIKELY]
    plain = _in_use(heard, first, end, own)
    found = replace(plain, bent=bent_degrees(score, first, end, plain))
    passage = passage_between(score, start, stop)
    return Finding(
        kind="scale region",
        passage=passage,
        value=found,
        confidence=min(shares.get(own, 0.0), _SUREST),
        alternatives=tuple((_in_use(heard, first, end, key), share) for share, key in likely),
        evidence=_spoken_of(score, passage, found)
        or _telling_notes(score, first, end, own, others[0][1] if others else own),
    )


def _spoken_of(score: Score, passage: Passage, scale: ScaleInUse) -> tuple[str, ...]:
    """The notes that the reasons speak of, some of each sentence, in order."""
    said = [entry.rows for entry in said_for_scale(score, passage, scale) if len(entry.rows)]
    each = _MOST_EVIDENCE // max(len(said), 1)
    rows = sorted({row for entry in said for row in entry[:each].tolist()})
    return tuple(score.notes.ids[row] for row in rows)


def _shares(
    heard: _Heard, first: int, end: int, sharpness: float
) -> dict[tuple[int, str, tuple[str, ...]], float]:
    """Of every named scale on every tonic in some measures; they add up to 1."""
    sums = (heard.evidence.measures[first:end].sum(axis=0) + heard.evidence.at_first).ravel()
    weights = np.exp((sums - sums.max()) / sharpness)
    weights /= weights.sum()
    shares: dict[tuple[int, str, tuple[str, ...]], float] = {}
    for state in np.flatnonzero(weights > 1e-4).tolist():
        name = _named(heard, state, first, end)
        shares[name] = shares.get(name, 0.0) + float(weights[state])
    return shares


def _in_use(
    heard: _Heard, first: int, end: int, key: tuple[int, str, tuple[str, ...]]
) -> ScaleInUse:
    tonic, name, altered = key
    spelled = _spelled(heard.slices, first, end, tonic)
    return ScaleInUse(tonic=spelled, scale=name, altered=altered)


def _spelled(slices: Slices, first: int, end: int, tonic: int) -> int:
    """The commonest spelling of a pitch class in some measures, else the plainest."""
    inside = (slices.measure >= first) & (slices.measure < end)
    sums = slices.fifths[inside].sum(axis=0)
    columns = np.flatnonzero(tonic == PITCH_CLASS_OF_COLUMN)
    # Two flats and two sharps are as plain as one another; D is in the middle.
    plainness = -np.abs(FIFTHS[columns] - 2) * 1e-6
    return int(FIFTHS[columns[(sums[columns] + plainness).argmax()]])


def _telling_notes(
    score: Score,
    first: int,
    end: int,
    own: tuple[int, str, tuple[str, ...]],
    other: tuple[int, str, tuple[str, ...]],
) -> tuple[str, ...]:
    notes = score.notes
    stop = score.measures[end].onset if end < len(score.measures) else score.duration
    rows = rows_between(notes, score.measures[first].onset, stop)
    classes = notes.midi_pitch[rows] % 12
    mine, theirs = ({(key[0] + step) % 12 for step in pattern(*key[1:])} for key in (own, other))
    telling = rows[np.isin(classes, sorted(mine - theirs))]
    if not len(telling):
        telling = rows[classes == own[0]]
        telling = telling[np.argsort(notes.midi_pitch[telling], kind="stable")][:_MOST_EVIDENCE]
    return tuple(notes.ids[row] for row in sorted(telling.tolist())[:_MOST_EVIDENCE])
