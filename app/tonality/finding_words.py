"""Findings in words: one row of ``TOLD`` for each kind of finding, in the order of the margin.

Words and numbers only: what is found, and how sure it is, is decided in ``core.analysis``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from app.tonality.chord_lines import ChordLine, chord_line_words, chord_title
from app.tonality.direction_words import directions_found, meaning_title, meaning_why, other_meaning
from app.tonality.palettes import palette_of
from app.tonality.shown_finding import PaletteDegree, number
from app.tonality.signs import with_signs
from core.analysis.form_reasons import SectionFacts, reason_for_section
from core.analysis.keys import tonic_name
from core.analysis.reasons import degree_counts, reason_for, runner_up_for
from core.directions.meaning import Meaning
from core.notebook.analyses import Analysis
from core.notebook.judgements import value_text
from core.score.findings import Finding
from core.score.score import Score
from core.score.statements import Statement, ordinal

FORM_KIND = "form"
"""The letters of a whole piece, told together; made here of its sections."""
PROPER = frozenset("ionian dorian phrygian lydian mixolydian aeolian locrian neapolitan".split())
_PRIMES: Mapping[str, str] = {"''": "″", "'": "′"}
_TIMES = {2: "twice", 3: "three times", 4: "four times"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What is said of a finding; sentences with accidentals as signs."""

    title: str
    why: str = ""
    runner_up: str = ""
    degrees: tuple[PaletteDegree, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a finding is told with."""

    analysis: Analysis
    score: Score
    statement: Statement | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How findings of one field of the analysis are told.

    Parameters
    ----------
    of : callable
        The findings of an analysis.
    words : callable
        What is said of one of them.
    most : int
        How many are told of one place.
    is_tonal : bool
        Whether it may lead the margin.
    not_arguable : str
        Why a person can't confirm or overrule it, as a sentence; empty where they may.
    """

    of: Callable[[Analysis], Iterable[Finding[Any]]]
    words: Callable[[Finding[Any], Around], Words]
    most: int = 6
    is_tonal: bool = False
    not_arguable: str = ""


def sections_in_letters(analysis: Analysis) -> tuple[Finding[str], ...]:
    """The form of the whole piece, as sure as the least sure of its sections."""
    tops = [found for found in analysis.form.sections if found.value.parent is None]
    if not tops:
        return ()
    # A statement that an ending cuts short is the same letter: each sounding counts once.
    names = [s.label for s in analysis.statements if _is_top(analysis, s)] or [
        found.value.label for found in tops
    ]
    return (
        Finding(
            kind=FORM_KIND,
            value=" ".join(names),
            confidence=min(found.confidence for found in tops),
        ),
    )


def key_words(finding: Finding[Any], around: Around) -> Words:
    """A key of the whole piece or of a stretch of it, there with its degrees."""
    words = plain_words(finding, around)
    # Through a whole piece that modulates, degrees of one tonic say nothing.
    return words if finding.passage is None else replace(words, degrees=_degrees(finding, around))


def scale_words(finding: Finding[Any], around: Around) -> Words:
    """The scale of a stretch, and which degrees depart from it: "G Dorian, second bent"."""
    return replace(plain_words(finding, around), degrees=_degrees(finding, around))


def cadence_words(finding: Finding[Any], around: Around) -> Words:
    """A cadence by its kind and key."""
    words = plain_words(finding, around)
    return replace(words, title=_capital(words.title))


def rivals_words(finding: Finding[Any], around: Around) -> Words:
    """Two tonics that compete, and the share of the first."""
    first, second = (tonic_name(tonic) for tonic in finding.value.tonics)
    balance = finding.value.balance
    title = f"{first} and {second} balance, {balance:.2f} to {1 - balance:.2f}"
    return replace(plain_words(finding, around), title=with_signs(title))


def chord_words(finding: Finding[Any], around: Around) -> Words:
    """A chord: its figure and key, then root, quality and bass."""
    words = plain_words(finding, around)
    if finding.alternatives:
        other, share = finding.alternatives[0]
        said = f"Runner-up: {with_signs(chord_title(other))}, {number(share)}."
        words = replace(words, runner_up=said)
    return replace(words, title=with_signs(chord_title(finding.value)))


def chords_words(finding: Finding[ChordLine], around: Around) -> Words:
    """The chords of a passage, one after the other."""
    return Words(
        title=with_signs(chord_line_words(finding.value)),
        why="As sure as the least sure of them. Select a single chord to see more of it.",
    )


def direction_words(finding: Finding[Meaning], around: Around) -> Words:
    """Printed words and what they mean, or that they have no standard meaning."""
    meaning = finding.value
    return Words(
        title=meaning_title(meaning), why=meaning_why(meaning), runner_up=other_meaning(meaning)
    )


def section_words(finding: Finding[Any], around: Around) -> Words:
    """A section: what it returns, what returns it, why it begins where it does."""
    index = _index_of(finding, around.analysis)
    known = around.analysis.form.facts
    facts = known[index] if index is not None and index < len(known) else SectionFacts()
    label = with_primes(finding.value.label)
    if finding.value.parent is not None:
        parent = around.analysis.form.sections[finding.value.parent].value.label
        title = f"Phrase {label} of {with_primes(parent)}."
    else:
        later = reason_for_section(replace(facts, causes=()))
        said = [text for text in (_return_of(finding, around.analysis), later) if text]
        title = " ".join(said) or f"{label} is new here, and does not come again."
    reason = reason_for_section(replace(facts, returns=()))
    return Words(title=title, why=f"{reason} {_soundings(index, around)}".strip())


def form_words(finding: Finding[Any], around: Around) -> Words:
    """The letters of the piece in playing order."""
    return Words(
        title=with_primes(finding.value),
        why="One letter a statement, in playing order. As sure as the least sure of its sections.",
    )


def accompaniment_words(finding: Finding[Any], around: Around) -> Words:
    """The pattern of a lower staff."""
    pattern = finding.value
    staves = [part.staves for part in around.score.parts]
    is_keyboard = staves == [2]
    where = "in the lower staff" if is_keyboard else f"in staff {pattern.staff}"
    share = round(100 * pattern.regularity)
    period = _quarters(float(pattern.period_quarters))
    return Words(
        title=f"{_capital(pattern.pattern)} {where}",
        why=f"Its rhythm comes again every {period}, in {share} % of the measures.",
        runner_up=_runner_up(finding, around),
    )


def metre_words(finding: Finding[Any], around: Around) -> Words:
    """The metre of unbarred music."""
    metre = finding.value
    upbeat = float(metre.first_downbeat_quarters - metre.onset_quarters)
    return Words(
        title=f"{metre.signature}, inferred: no metre is printed",
        why=f"The first downbeat comes {f'after {_quarters(upbeat)}' if upbeat else 'at once'}.",
        runner_up=_runner_up(finding, around),
    )


def plain_words(finding: Finding[Any], around: Around) -> Words:
    """Any finding in the words of the command line."""
    return Words(
        title=with_signs(as_title(value_text(finding.value))),
        why=with_signs(reason_for(finding, around.score) or _count_of_evidence(finding)),
        runner_up=_runner_up(finding, around),
    )


def with_primes(label: str) -> str:
    """Letters with primes as print has them.

    Examples
    --------
    >>> with_primes("A A' A''")
    'A A′ A″'
    """
    for typed, printed in _PRIMES.items():
        label = label.replace(typed, printed)
    return label


def _field(name: str) -> Callable[[Analysis], Iterable[Finding[Any]]]:
    """Findings of a field, whether it holds one, several or, in an older analysis, none."""

    def found(analysis: Analysis) -> Iterable[Finding[Any]]:
        value = getattr(analysis, name, ())
        if value is None:
            return ()
        # An entry that is no finding (a direction as it is printed) has nothing to argue about.
        entries = (value,) if isinstance(value, Finding) else value
        return tuple(entry for entry in entries if isinstance(entry, Finding))

    return found


SCALES = Told(of=_field("scale_regions"), words=scale_words, is_tonal=True, most=4)
KEYS = Told(of=_field("key_regions"), words=key_words, is_tonal=True, most=4)
CHORDS = Told(of=_field("harmony"), words=chord_words)
CHORD_LINE = Told(
    of=lambda analysis: (),
    words=chords_words,
    not_arguable="Chords are judged one by one: select a single one.",
)
"""The chords of a longer passage, told together; made where they are chosen."""
DIRECTIONS = Told(of=directions_found, words=direction_words, most=4)
TOLD: tuple[Told, ...] = (
    SCALES,
    KEYS,
    Told(of=_field("key"), words=key_words, is_tonal=True),
    Told(
        of=sections_in_letters,
        words=form_words,
        not_arguable="The letters are judged at their sections: select one.",
    ),
    Told(of=lambda analysis: analysis.form.sections, words=section_words),
    DIRECTIONS,
    Told(of=_field("cadences"), words=cadence_words, most=3),
    Told(of=_field("tonic_rivals"), words=rivals_words, most=2),
    CHORDS,
    Told(of=_field("accompaniment"), words=accompaniment_words, most=2),
    Told(of=_field("inferred_metre"), words=metre_words),
)


def as_title(text: str) -> str:
    """Names of scales as titles have them: a mode is a proper name ("G Dorian")."""
    return " ".join(word.capitalize() if word in PROPER else word for word in text.split(" "))


def _degrees(finding: Finding[Any], around: Around) -> tuple[PaletteDegree, ...]:
    """The palette of a key or scale, with the degrees marked that depart from it."""
    value = finding.value
    marked = (*getattr(value, "altered", ()), *getattr(value, "bent", ()))
    return palette_of(value.tonic, degree_counts(finding, around.score), marked)


def _count_of_evidence(finding: Finding[Any]) -> str:
    count = len(finding.evidence)
    if not count:
        return ""
    return f"{count} notes speak for it." if count > 1 else "One note speaks for it."


def _runner_up(finding: Finding[Any], around: Around) -> str:
    if not finding.alternatives:
        return ""
    value, confidence = finding.alternatives[0]
    if hasattr(value, "name"):
        return with_signs(runner_up_for(finding, around.score))
    return f"Runner-up: {with_signs(as_title(value_text(value)))}, {number(confidence)}."


def _index_of(finding: Finding[Any], analysis: Analysis) -> int | None:
    sections = analysis.form.sections
    return next((index for index, found in enumerate(sections) if found is finding), None)


def _is_top(analysis: Analysis, statement: Statement) -> bool:
    return analysis.form.sections[statement.section].value.parent is None


def _return_of(finding: Finding[Any], analysis: Analysis) -> str:
    """What this section returns, in a sentence; empty for what is new."""
    section = finding.value
    if section.of is None or section.relation is None:
        return ""
    numbers, origin = analysis.measure_numbers, analysis.form.sections[section.of]
    here = numbers[section.passage.start.measure_index]
    entries = analysis.form.facts[section.of].returns if analysis.form.facts else ()
    more = next((entry[2] for entry in entries if entry[0] == here), 0)
    there = numbers[origin.value.passage.start.measure_index]
    facts = SectionFacts(returns=((there, tuple(section.relation.split("+")), more),))
    return reason_for_section(facts).replace(
        "Returns at", f"Returns {with_primes(origin.value.label)} of", 1
    )


def _soundings(index: int | None, around: Around) -> str:
    soundings = [s for s in around.analysis.statements if s.section == index]
    if len(soundings) < 2:
        return ""
    times = _TIMES.get(len(soundings), f"{len(soundings)} times")
    statement = around.statement
    if statement is not None and statement.section == index:
        return f"Sounds {times}; this is the {ordinal(statement.number)} statement."
    return f"Sounds {times}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _quarters(count: float) -> str:
    return "quarter" if count == 1 else f"{count:g} quarters"
