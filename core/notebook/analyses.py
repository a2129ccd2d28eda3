"""Analysing a score: one use case for the command line and for background jobs.

Conventions: everything here survives pickling between processes. Times are exact quarter notes
from the start of the written score.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from core.analysis.accompaniment import Accompaniment, accompaniments
from core.analysis.bent_degrees import BentDegree, bent_notes
from core.analysis.cadences import Cadence, cadences
from core.analysis.form import Form, form_of
from core.analysis.harmony import Harmony, harmony
from core.analysis.key_regions import key_regions
from core.analysis.keys import Key
from core.analysis.metre import InferredMetre, downbeats, infer_metre
from core.analysis.rivals import TonicRivals, tonic_rivals
from core.analysis.scale_regions import scale_regions
from core.analysis.scales import ScaleInUse
from core.analysis.slices import slices_of
from core.analysis.tonal_line import keys_told, tonal_line
from core.analysis.tonality import global_key
from core.analysis.units import inferred_units, written_units
from core.directions.meaning import Meaning
from core.directions.score_directions import meanings_of
from core.score.findings import Finding
from core.score.formats.converting import SUFFIXES
from core.score.places import Place
from core.score.playing_order import PlayingOrder, playing_order_of
from core.score.reading import read_score
from core.score.score import Measure, Score
from core.score.statements import Statement, statements_of

ANALYSER_VERSION = 5
"""Part of what a kept analysis is known by: raised when the same score gets another answer."""
READABLE_SUFFIXES = SUFFIXES
"""Of the files that are taken from a folder; a file named by itself may have any."""
_SIGNS_WITHOUT_WORDS = {"wedge", "octave-shift", "pedal", "dashes", "bracket"}

Progress = Callable[[float, str], None]
"""Takes how much is done, 0 to 1, and a word for what is being done."""


def _unheard(_share: float, _word: str) -> None:
    """Nobody asks how far it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenMetre:
    """A time signature from its onset on."""

    onset_quarters: Fraction
    signature: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedDirection:
    """A direction as it is printed, where it stands; ``staff`` counts through the score.

    What is printed in pieces, or the same in several staves, is one: ``ids`` are those of all
    its ``<direction>`` elements in the canonical form, ``end_quarters`` where the last piece is.
    """

    measure_index: int
    measure_number: str
    onset_quarters: Fraction
    staff: int
    text: str
    meaning: Meaning | None = None
    ids: tuple[str, ...] = ()
    end_quarters: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """What a score is made of, as far as it is computed.

    Parameters
    ----------
    sha256, title, composer : str
        As ``Score``.
    measure_numbers : tuple of str
        The printed number of each measure, by index.
    note_count : int
        Rows of the note table.
    duration_quarters : fractions.Fraction
    key : Finding of Key, or None
        None when no note has a pitch.
    playing_order : PlayingOrder
    written_metre : tuple of WrittenMetre
        One entry a change, by onset.
    is_unbarred : bool
        No measure has a time signature.
    directions : tuple of PrintedDirection
        Those that print words, in the order of the score.
    oddities : tuple of str
        What was mended while reading.
    guesses : tuple of str
        What the file's format can't say and was inferred.
    measure_onsets_quarters : tuple of fractions.Fraction
        Where each measure begins, by index, and behind them the end of the score.
    form : Form
        Sections and returns.
    statements : tuple of Statement
        Every sounding of every section in the playing order.
    inferred_metre : Finding of InferredMetre, or None
        Of unbarred music.
    accompaniment : tuple of Finding of Accompaniment
        By staff, then by onset.
    key_regions : tuple of Finding of Key
        By onset; together they cover the score.
    scale_regions : tuple of Finding of ScaleInUse
        By onset; together they cover the score.
    bent_degrees : tuple of Finding of BentDegree
        By scale region and measure: where another note stands for a degree of the scale.
    tonic_rivals : tuple of Finding of TonicRivals
        By onset; where two tonics compete.
    harmony : tuple of Finding of Harmony
        By onset; where a chord is clear.
    cadences : tuple of Finding of Cadence
        By onset; each passage is the point where it arrives.
    """

    sha256: str
    title: str
    composer: str
    measure_numbers: tuple[str, ...]
    note_count: int
    duration_quarters: Fraction
    key: Finding[Key] | None
    playing_order: PlayingOrder
    written_metre: tuple[WrittenMetre, ...]
    is_unbarred: bool
    directions: tuple[PrintedDirection, ...]
    oddities: tuple[str, ...] = ()
    measure_onsets_quarters: tuple[Fraction, ...] = ()
    form: Form = field(default_factory=Form)
    statements: tuple[Statement, ...] = ()
    inferred_metre: Finding[InferredMetre] | None = None
    accompaniment: tuple[Finding[Accompaniment], ...] = ()
    key_regions: tuple[Finding[Key], ...] = ()
    scale_regions: tuple[Finding[ScaleInUse], ...] = ()
    bent_degrees: tuple[Finding[BentDegree], ...] = ()
    tonic_rivals: tuple[Finding[TonicRivals], ...] = ()
    harmony: tuple[Finding[Harmony], ...] = ()
    cadences: tuple[Finding[Cadence], ...] = ()
    guesses: tuple[str, ...] = ()

    def onset_quarters(self, place: Place) -> Fraction:
        """Where a place lies in the written score."""
        onsets = self.measure_onsets_quarters
        onset = onsets[min(place.measure_index, len(onsets) - 1)]
        # Most places begin a measure, and adding fractions takes time.
        return onset + place.offset_quarters if place.offset_quarters else onset


def analyse_file(path: Path) -> Analysis:
    """Read a file and analyse it.

    Raises
    ------
    UnreadableFileError, UnsupportedScoreError
        As ``read_score``.
    """
    return analyse_score(read_score(path).score)


def analyse_score(score: Score, progress: Progress = _unheard) -> Analysis:
    """Analyse a score that is already read.

    Parameters
    ----------
    score : Score
    progress : callable
        Told the share that is done, 0 to 1, and what is being looked at.
    """
    progress(0.0, "sections and returns")
    order = playing_order_of(score)
    metre = infer_metre(score)
    units = inferred_units(score, downbeats(score, metre.value)) if metre else written_units(score)
    form = form_of(score, units)
    sections = [found.value for found in form.sections]
    progress(0.3, "keys")
    key = global_key(score, order)
    slices = slices_of(score)
    regions = key_regions(score, key, slices)
    progress(0.45, "scales")
    scales = scale_regions(score, key, regions, slices)
    progress(0.6, "chords and cadences")
    # Figures are counted from the tonic that is told, whether a key or a scale tells it.
    chords = harmony(score, keys_told(tonal_line(regions, scales)), slices)
    progress(0.8, "printed words")
    return Analysis(
        sha256=score.sha256,
        title=score.title,
        composer=score.composer,
        measure_numbers=tuple(measure.number for measure in score.measures),
        note_count=len(score.notes),
        duration_quarters=score.quarters(score.duration),
        key=key,
        key_regions=regions,
        scale_regions=scales,
        bent_degrees=bent_notes(score, scales),
        tonic_rivals=tonic_rivals(score, slices),
        harmony=chords,
        cadences=cadences(score, chords),
        playing_order=order,
        written_metre=_written_metre(score),
        is_unbarred=all(measure.signature is None for measure in score.measures),
        directions=_printed_directions(score),
        oddities=score.oddities,
        guesses=score.guesses,
        measure_onsets_quarters=(
            *(score.quarters(measure.onset) for measure in score.measures),
            score.quarters(score.duration),
        ),
        form=form,
        statements=statements_of(sections, order.measure_indices),
        inferred_metre=metre,
        accompaniment=accompaniments(score, units),
    )


def _written_metre(score: Score) -> tuple[WrittenMetre, ...]:
    changes: list[tuple[Measure, str]] = []
    for measure in score.measures:
        if measure.signature and (not changes or changes[-1][1] != measure.signature):
            changes.append((measure, measure.signature))
    return tuple(
        WrittenMetre(onset_quarters=score.quarters(measure.onset), signature=signature)
        for measure, signature in changes
    )


def _printed_directions(score: Score) -> tuple[PrintedDirection, ...]:
    return tuple(
        PrintedDirection(
            measure_index=direction.measure_index,
            measure_number=score.measures[direction.measure_index].number,
            onset_quarters=score.quarters(direction.onset),
            staff=direction.staff,
            text=direction.meaning.text,
            meaning=direction.meaning,
            ids=direction.direction_ids,
            end_quarters=score.quarters(direction.end_onset),
        )
        for direction in meanings_of(score)
        if direction.meaning.text and direction.kind not in _SIGNS_WITHOUT_WORDS
    )
