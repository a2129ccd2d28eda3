"""Humdrum through music21's parser, kept linear in the length of the file.

Conventions: music21 takes the file apart and makes its notes; its steps are called here one by
one. Left to itself (10.5) it asks after every barline how long the spine is so far, which looks
at all that came before (6.7 s for 1,000 measures), and at every event it goes through all places
where spines part. Both are known here without looking.

Source: music21 10.5, ``humdrum.spineParser``, whose ``parseNonOpus`` this follows.
"""

from __future__ import annotations

from collections import deque
from functools import cache
from typing import Any

_MOST_VOICES = 9
"""music21 numbers voices by one digit."""


def parse_humdrum(text: str) -> Any:
    """A ``music21.stream.Score``; of a file with several pieces, an ``Opus``.

    Raises
    ------
    Exception
        Of any kind, where music21 gives up.
    """
    from music21 import stream
    from music21.humdrum import spineParser

    collection = spineParser.HumdrumDataCollection(text)
    has_several, _ = collection.determineIfDataStreamIsOpus()
    if has_several:
        return collection.parse()
    score = collection.stream = stream.Score()
    collection.maxSpines = 0
    collection.parseEventListFromDataStream()
    collection.parseProtoSpinesAndEventCollections()
    spines = collection.spineCollection = collection.createHumdrumSpines()
    _make_streams(spines)
    for spine in spines:
        if spine.parentSpine is None and spine.spineType == "kern":
            score.coreInsert(0, spine.stream)
    score.coreElementsChanged()
    _put_metadata(score, collection.eventList)
    return score


def _make_streams(spines: Any) -> None:
    """As ``SpineCollection.createMusic21Streams``."""
    part, voice = _growing("Part"), _growing("Voice")
    for spine in spines:
        spine.stream = voice() if spine.parentSpine is not None else part()
    spines.reclassSpines()
    spines.parseMusic21()
    # The last first: a spine that parts may itself have parted from another.
    for spine in reversed(spines.spines):
        if spine.childSpines:
            kind = voice if spine.parentSpine is not None else part
            spine.stream = _with_children(spine, spines.humdrumLineNumbers, kind())
    spines.moveObjectsToMeasures()
    spines.attachNonKernEvents()
    spines.makeVoices()


def _with_children(spine: Any, lines: Any, whole: Any) -> Any:
    """A spine with those that part from it, each where it parts."""
    points = deque(sorted(spine.childSpineInsertPoints))
    for element in spine.stream:
        line = lines.get(element)
        if line is not None:
            while points and points[0] <= line:
                _insert(spine.childSpineInsertPoints[points.popleft()], whole)
            del lines[element]
        whole.coreAppend(element)
    for point in points:
        _insert(spine.childSpineInsertPoints[point], whole)
    whole.coreElementsChanged()
    return whole


def _insert(children: tuple[Any, ...], whole: Any) -> None:
    """Put spines that part at one place in; their elements' groups say the voices."""
    from music21 import stream

    start = whole.reached
    count = len(children)
    voices = {(number, own): number for number in range(1, count + 1) for own in ("", "voice1")}
    for number, child in enumerate(children, 1):
        for element in child.stream:
            # Barlines stand in every spine; one of them is enough.
            if not child.isFirstVoice and isinstance(element, stream.Measure):
                continue
            inner = element.groups[0] if element.groups else ""
            voice = voices.setdefault((number, inner), len(voices) - count + 1)
            element.groups.clear()
            element.groups.append(f"voice{min(voice, _MOST_VOICES)}")
            whole.coreInsert(start + element.offset, element)


def _put_metadata(score: Any, lines: list[Any]) -> None:
    from music21 import metadata
    from music21.humdrum import spineParser

    score.metadata = metadata.Metadata()
    for line in lines:
        if isinstance(line, spineParser.GlobalReferenceLine):
            spineParser.GlobalReference(line.code, line.value).updateMetadata(score.metadata)


@cache
def _growing(kind: str) -> Any:
    """A class of music21's streams that keeps count of its end (``reached``) as it grows."""
    from music21 import stream
    from music21.common.numberTools import opFrac

    parent = getattr(stream, kind)

    class Growing(parent):  # type: ignore[misc,valid-type]  # music21 has none
        reached = 0.0

        def coreAppend(self, element: Any, *, setActiveSite: bool = True) -> None:  # noqa: N802, N803
            self._setHighestTime(self.reached)
            super().coreAppend(element, setActiveSite=setActiveSite)
            self.reached = self.highestTime

        def coreInsert(self, offset: Any, element: Any, **options: Any) -> Any:  # noqa: N802
            options["ignoreSort"] = True
            inserted = super().coreInsert(offset, element, **options)
            self.reached = max(self.reached, opFrac(offset + element.duration.quarterLength))
            return inserted

    return Growing
