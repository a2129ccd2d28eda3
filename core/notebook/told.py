"""An analysis as a person has it: computed, and corrected by their word wherever there is one.

For what shows the piece as a whole: the form line, the marks over the score. Where each finding is
told by itself, what was computed stays to be seen beside the word (``judged_findings``).

Conventions: a person's word is certain. A key or scale that was overruled without saying what it
is leaves a gap; a section, no letter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from typing import Any, TypeVar

from core.analysis.keys import Key
from core.analysis.scales import ScaleInUse
from core.notebook.analyses import Analysis
from core.notebook.judged_findings import JudgedFinding, apply_judgements
from core.notebook.typed_json import from_json
from core.notebook.values import JudgedValue, Judgement
from core.score.findings import Finding
from core.score.places import Passage, Place
from core.score.score import Score

REGION_KINDS = ("key region", "scale region")
SECTION_KIND = "section"
_PLAIN_SCALES = {"major": "major", "minor": "natural minor"}
"""A scale that is told by the name of a key alone."""

ValueT = TypeVar("ValueT")
_Word = tuple[Passage, Key | ScaleInUse | None]


def as_told(analysis: Analysis, judgements: Sequence[Judgement], score: Score) -> Analysis:
    """The analysis with a person's words in place of what they overruled.

    Parameters
    ----------
    analysis : Analysis
        As computed; given back as it is where nothing was said of what is changed here.
    judgements : sequence of Judgement
        Of its piece.
    score : Score
        The one that was analysed.

    Returns
    -------
    Analysis
        Key and scale regions, and the letters of sections, are those that hold.
    """
    said = words_in_place(judgements)
    if not said:
        return analysis
    sections = apply_judgements(analysis.form.sections, said, score, kinds=(SECTION_KIND,))
    found: list[Finding[Any]] = [*analysis.key_regions, *analysis.scale_regions]
    regions = apply_judgements(found, said, score, kinds=REGION_KINDS)
    words = _words(regions)
    return replace(
        analysis,
        form=replace(
            analysis.form,
            sections=tuple(_section(each) for each in sections if each.finding is not None),
        ),
        key_regions=_with_words(analysis.key_regions, words, _as_key),
        scale_regions=_with_words(analysis.scale_regions, words, _as_scale),
    )


def words_in_place(judgements: Iterable[Judgement]) -> tuple[Judgement, ...]:
    """Those that ``as_told`` puts in place of what was computed; others change nothing there."""
    kinds = (*REGION_KINDS, SECTION_KIND)
    return tuple(each for each in judgements if each.finding_kind in kinds)


def _section(judged: JudgedFinding[Any]) -> Finding[Any]:
    finding = judged.finding
    if finding is None or judged.judgement is None:
        return finding  # type: ignore[return-value]  # those without one are left out before
    if judged.is_confirmed:
        return replace(finding, confidence=1.0)
    value = replace(finding.value, label=judged.own_text or "", relation=None)
    return replace(finding, value=value, confidence=1.0, alternatives=())


def _words(regions: Iterable[JudgedFinding[Any]]) -> list[_Word]:
    """What was said of which passage, the latest word last, since it wins."""
    found: list[tuple[datetime, _Word]] = []
    for judged in regions:
        judgement, passage = judged.judgement, judged.passage
        if judgement is not None and passage is not None:
            value = judgement.value if judged.is_confirmed else judgement.own_value
            found.append((judgement.edited_at, (passage, _restored(value))))
    return [word for _, word in sorted(found, key=lambda entry: entry[0])]


def _restored(value: JudgedValue | None) -> Key | ScaleInUse | None:
    """The key or scale that a judgement keeps; None where it keeps none that can be read."""
    data = (value.data if value is not None else "").encode()
    with suppress(ValueError):
        return from_json(ScaleInUse, data)
    with suppress(ValueError):
        return from_json(Key, data)
    return None


def _as_key(word: Key | ScaleInUse) -> Key:
    return word if isinstance(word, Key) else Key(tonic=word.tonic, mode=word.mode)


def _as_scale(word: Key | ScaleInUse) -> ScaleInUse:
    if isinstance(word, ScaleInUse):
        return word
    return ScaleInUse(tonic=word.tonic, scale=_PLAIN_SCALES[word.mode])


def _with_words(
    regions: Sequence[Finding[ValueT]],
    words: Iterable[_Word],
    as_value: Callable[[Key | ScaleInUse], ValueT],
) -> tuple[Finding[ValueT], ...]:
    """The regions, cut to make room for a person's words."""
    kind = regions[0].kind if regions else ""
    told = list(regions)
    for passage, word in words:
        told = [piece for region in told for piece in _outside(region, passage)]
        if word is not None and kind:
            value = as_value(word)
            told.append(Finding(kind=kind, passage=passage, value=value, confidence=1.0))
    return tuple(sorted(told, key=_start))


def _outside(region: Finding[ValueT], passage: Passage) -> Iterable[Finding[ValueT]]:
    """What is left of a region beside a passage."""
    own = region.passage
    if own is None or not _meet(own, passage):
        yield region
        return
    if own.start.moment < passage.start.moment:
        yield replace(region, passage=Passage(start=own.start, end=passage.start))
    if passage.end.moment < own.end.moment:
        yield replace(region, passage=Passage(start=passage.end, end=own.end))


def _meet(first: Passage, second: Passage) -> bool:
    return first.start.moment < second.end.moment and second.start.moment < first.end.moment


def _start(region: Finding[Any]) -> tuple[Any, ...]:
    return (region.passage.start if region.passage else Place(measure_index=0)).moment
