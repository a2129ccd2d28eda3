"""ABC through music21's tokens and notes, put together here.

Conventions: music21 makes the tokens, and of each measure's tokens a ``Measure``. What it does
with the whole part afterwards grows with the square of its length (beams that nobody here asks
for, a look at all measures for each: 30 s for 1,000 measures with music21 10.5); so measures
never come into one of its parts, and what concerns them together is done here, as it does it.

Source: music21 10.5, ``abcFormat.translate.abcToStreamPart``, which this follows.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

_LONGEST_REST = 16
"""Quarters; for longer ones music21 looks for a metre too long."""

_MOST_CUTS = 32
"""A measure that is longer has no barlines for a reason."""


@dataclass(slots=True)
class ParsedPart:
    """What ``streams`` asks of a part: measures, and spans beside them."""

    elements: list[Any] = field(default_factory=list)
    partName: str | None = None  # noqa: N815 - called so by music21

    def coreAppend(self, element: Any) -> None:  # noqa: N802 - called by music21
        """Take a span that begins while a measure is read."""
        self.elements.append(element)


@dataclass(slots=True)
class ParsedScore:
    """What ``streams`` asks of a score."""

    metadata: Any
    parts: list[Any]
    elements: tuple[Any, ...] = ()


def parse_abc(text: str) -> ParsedScore:
    """One tune.

    Raises
    ------
    Exception
        Of any kind, where music21 gives up.
    """
    from music21 import abcFormat

    handler = abcFormat.ABCFile().readstr(text)
    voices = handler.splitByVoice()
    if len(voices) > 1:
        # What stands before the first voice is said of all.
        voices = [voices[0] + voice for voice in voices[1:]]
    return ParsedScore(_metadata(handler.tokens), [_part(voice) for voice in voices])


def _metadata(tokens: list[Any]) -> Any:
    from music21 import abcFormat, metadata

    made = metadata.Metadata()
    fields = [token for token in tokens if isinstance(token, abcFormat.ABCMetadata)]
    titles = [token.data for token in fields if token.isTitle()]
    if titles:
        made.add("title", titles[0])
    for token in fields:
        if token.isComposer():
            made.add("composer", token.data)
    return made


def _part(handler: Any) -> Any:
    from music21 import abcFormat
    from music21.abcFormat import translate

    if not handler.definesMeasures():
        return translate.abcToStreamPart(handler)
    merged = abcFormat.mergeLeadingMetaData(handler.splitByMeasure())
    if len(merged) < 2:
        return translate.abcToStreamPart(handler)
    part, transposition = ParsedPart(), 0
    endings = _Endings()
    measures: list[Any] = []
    for tokens in merged:
        measure, transposition = _measure(tokens, part, is_first=not measures)
        if measure is None:
            continue
        measures.append(measure)
        endings.take(tokens, measure)
    # music21 counts from 0 where the first measure says its metre.
    first = 0 if measures[0].timeSignature is not None else 1
    for number, measure in enumerate(measures, first):
        measure.number = number
    measures = _cut_to_metre(measures)
    _put_clef(measures)
    if transposition:
        for measure in measures:
            measure.transpose(transposition, inPlace=True)
    part.elements[:0] = measures
    part.elements += endings.done
    return part


def _measure(tokens: Any, part: ParsedPart, *, is_first: bool) -> tuple[Any, int]:
    """A measure of music21, None for fields alone; and by how much its clef transposes."""
    from music21 import stream
    from music21.abcFormat import translate

    if not tokens.hasNotes():
        transposition, _ = translate.parseTokens(tokens, stream.Part(), part, True)
        return None, transposition
    measure = stream.Measure()
    for token, side in ((tokens.leftBarToken, "left"), (tokens.rightBarToken, "right")):
        barline = token.getBarObject() if token is not None else None
        if barline is not None:
            setattr(measure, f"{side}Barline", barline)
    transposition, _ = translate.parseTokens(tokens, measure, part, True)
    is_metred = measure.timeSignature is not None
    if is_first and is_metred and measure.barDurationProportion() < 1:
        measure.padAsAnacrusis()
    return measure, transposition


class _Endings:
    """Brackets of first and second endings; a second one is a measure long."""

    def __init__(self) -> None:
        self.done: list[Any] = []
        self._open: Any = None

    def take(self, tokens: Any, measure: Any) -> None:
        """Open or close what the barlines of a measure say."""
        from music21 import spanner

        number = tokens.leftBarToken.isRepeatBracket() if tokens.leftBarToken else None
        if number and self._open is None:
            self._open = spanner.RepeatBracket(measure)
            self._open.number = number
            if number == 2:
                self._close()
        elif number:
            self._close(measure)
        is_repeat = tokens.rightBarToken is not None and tokens.rightBarToken.isRepeat()
        if is_repeat and self._open is not None:
            self._close(measure)

    def _close(self, last: Any = None) -> None:
        if last is not None:
            self._open.addSpannedElements(last)
        self._open.completeStatus = True
        self.done.append(self._open)
        self._open = None


def _cut_to_metre(measures: list[Any]) -> list[Any]:
    """Measures that last longer than their metre, cut in two, as where a barline was forgotten.

    What is left then is one measure of another metre, unless it is very long.
    """
    from music21 import exceptions21, meter

    made: list[Any] = []
    metre = None
    for index, measure in enumerate(measures):
        metre = measure.timeSignature or metre
        if metre is None:
            return measures
        measure.number += len(made) - index
        made.append(measure)
        try:
            whole = metre.barDuration.quarterLength
            if measure.highestTime > _MOST_CUTS * whole:
                continue
            while made[-1].highestTime > max(whole, 0 if made[-1] is measure else _LONGEST_REST):
                made.append(_cut_off(made[-1], whole))
            if made[-1] is not measure and made[-1].highestTime != whole:
                made[-1].timeSignature = made[-1].bestTimeSignature()
                following = measures[index + 1 : index + 2]
                if following and following[0].timeSignature is None:
                    following[0].timeSignature = metre
        except (exceptions21.StreamException, meter.MeterException, ZeroDivisionError):
            return made + measures[index + 1 :]
    return made


def _cut_off(measure: Any, whole: Any) -> Any:
    _, right = measure.splitAtQuarterLength(whole)
    right.timeSignature, right.keySignature, right.clef = None, None, None
    right.number = measure.number + 1
    return right


def _put_clef(measures: list[Any]) -> None:
    from music21 import clef, stream

    if any(measure.getElementsByClass(clef.Clef) for measure in measures):
        return
    whole = stream.Part()
    for measure in measures:
        whole.coreAppend(measure)
    measures[0].clef = clef.bestClef(whole, recurse=True)
