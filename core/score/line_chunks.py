"""Where a score is cut so that it can be engraved as one long line, chunk by chunk.

A chunk is 20 to 40 measures. It begins where the fewest signs reach across the cut: no tie, slur,
hairpin, line or ending goes on there, nothing is repeated from there, and no key, time or clef
changes. Where there is no such measure, the one with the fewest is taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lxml import etree

from core.score.safe_xml import parse_xml

CHUNK_LEAST, CHUNK_MOST = 20, 40
"""Measures."""
_CHUNK_WISHED = 26
"""Measures of a chunk where several ends are as good: its picture stays small."""

_CROSSING = 10
"""What a sign that reaches across costs, in measures away from the length wished."""
_CHANGE = 25
"""The same for a change of key, time or clef, or a repeat sign, at the cut."""
_ENDING = 25
"""The same for an ending cut in two."""

_STARTS = frozenset(["start", "crescendo", "diminuendo", "up", "down", "continue"])
_SPANNERS = frozenset(
    ["slur", "tied", "wedge", "octave-shift", "dashes", "bracket", "glissando", "slide"]
)


def as_chunks(canonical: bytes, *, name: str) -> bytes:
    """The same score with a page break at the start of every chunk but the first, and no other.

    Parameters
    ----------
    canonical : bytes
        Canonical MusicXML.
    name : str
        What an error calls the score.

    Returns
    -------
    bytes
        For the engraver only: it is no canonical form of anything.

    Raises
    ------
    UnreadableFileError
        It is not well-formed XML.
    """
    root = parse_xml(canonical, name=name)
    parts = root.findall("part")
    if not parts:
        return canonical
    for old in list(root.iter("print")):
        parent = old.getparent()
        if parent is not None:
            parent.remove(old)
    measures = parts[0].findall("measure")
    for index in chunk_starts(crossing_costs(parts))[1:]:
        measures[index].insert(0, etree.Element("print", {"new-page": "yes"}))
    encoded: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=True)
    return encoded


def chunk_starts(costs: Sequence[int]) -> list[int]:
    """Index of the first measure of every chunk.

    Parameters
    ----------
    costs : sequence of int
        What a cut before each measure costs; one entry a measure.

    Examples
    --------
    >>> chunk_starts([0] * 60)
    [0, 26]
    >>> chunk_starts([0 if index == 31 else 99 for index in range(60)])
    [0, 31]
    """
    starts = [0]
    while len(costs) - starts[-1] > CHUNK_MOST:
        first = starts[-1] + CHUNK_LEAST
        last = min(starts[-1] + CHUNK_MOST, len(costs) - 1)
        wished = starts[-1] + _CHUNK_WISHED
        starts.append(
            min(range(first, last + 1), key=lambda at: (costs[at] + abs(at - wished), at))
        )
    return starts


def crossing_costs(parts: Sequence[etree._Element]) -> list[int]:
    """What a cut before each measure costs, summed over all parts."""
    costs = [0] * max((len(part.findall("measure")) for part in parts), default=0)
    for part in parts:
        opened: set[tuple[str, str]] = set()
        is_in_ending, is_repeat_over = False, False
        for index, measure in enumerate(part.findall("measure")):
            costs[index] += _CROSSING * len(opened) + _ENDING * is_in_ending
            costs[index] += _CHANGE * (_is_changed(measure) or is_repeat_over)
            for key, is_start in _spanners(measure):
                if is_start:
                    opened.add(key)
                else:
                    opened.discard(key)
            is_in_ending = _is_in_ending(measure, is_in_ending)
            is_repeat_over = measure.find("barline/repeat[@direction='backward']") is not None
    return costs


def _is_changed(measure: etree._Element) -> bool:
    """Whether signs stand at its left edge that are drawn on both sides of a cut."""
    if measure.find("barline/repeat[@direction='forward']") is not None:
        return True
    return any(
        attributes.find(name) is not None
        for attributes in measure.findall("attributes")
        for name in ("key", "time", "clef")
    )


def _spanners(measure: etree._Element) -> Iterator[tuple[tuple[str, str], bool]]:
    """Signs that begin or end in a measure: what they are known by, and whether they begin."""
    for element in measure.iter(*_SPANNERS):
        kind = element.get("type", "")
        name = element.get("number", "1")
        if element.tag == "tied":
            name = _pitch_of(element)
        yield (str(element.tag), name), kind in _STARTS


def _pitch_of(tied: etree._Element) -> str:
    """Ties carry no number: the note's pitch tells them apart."""
    note = next(tied.iterancestors("note"), None)
    pitch = None if note is None else note.find("pitch")
    if note is None or pitch is None:
        return ""
    return " ".join([note.findtext("voice", ""), *(child.text or "" for child in pitch)])


def _is_in_ending(measure: etree._Element, was_in_ending: bool) -> bool:
    """Whether an ending goes on after this measure."""
    for ending in measure.iter("ending"):
        was_in_ending = ending.get("type") == "start"
    return was_in_ending
