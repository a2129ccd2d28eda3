"""Chords in words: one by its figure and name, those of a passage in a line of figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from core.analysis.harmony import Harmony
from core.score.findings import Finding
from core.score.places import Passage

CHORDS_KIND = "chords"
"""The chords of a passage, told together."""
MOST_FIGURES = 8
"""Of a line; a longer one is cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChordLine:
    """Chords one after the other."""

    chords: tuple[Harmony, ...]

    @property
    def name(self) -> str:
        """For a reader."""
        return chord_line_words(self)


def chord_line(found: Sequence[Finding[Harmony]]) -> Finding[ChordLine]:
    """Several chords as one finding, as sure as the least sure of them.

    Parameters
    ----------
    found : sequence of Finding of Harmony
        By onset, at least one.
    """
    first, last = found[0].passage, found[-1].passage
    passage = None if first is None or last is None else Passage(start=first.start, end=last.end)
    return Finding(
        kind=CHORDS_KIND,
        passage=passage,
        value=ChordLine(chords=tuple(finding.value for finding in found)),
        confidence=min(finding.confidence for finding in found),
    )


def chord_line_words(line: ChordLine) -> str:
    """Figures with their keys.

    Examples
    --------
    >>> from core.analysis.keys import Key
    >>> minor = Key(tonic=1, mode="minor")
    >>> chord_line_words(ChordLine(chords=tuple(
    ...     Harmony(root=root, bass=root, quality=quality, figure=figure, key=minor)
    ...     for root, quality, figure in ((2, "dominant seventh", "V7"), (1, "minor", "i")))))
    'V7, i in G minor'
    """
    shown = line.chords[:MOST_FIGURES]
    said = [
        f"{', '.join(_figure(chord) or chord.name for chord in chords)} in {key.name}"
        for key, chords in groupby(shown, key=lambda chord: chord.key)
    ]
    return "; ".join(said) + (" …" if len(line.chords) > len(shown) else "")


def chord_title(chord: Harmony) -> str:
    """A chord by its figure and name.

    Examples
    --------
    >>> from core.analysis.keys import Key
    >>> chord_title(Harmony(root=2, bass=6, quality="dominant seventh", figure="V65",
    ...                     key=Key(tonic=1, mode="minor")))
    'V65 in G minor: D dominant seventh over F#'
    """
    return f"{_figure(chord)} in {chord.key.name}: {chord.name}" if chord.figure else chord.name


def _figure(chord: Harmony) -> str:
    return chord.figure.replace("o", "°")
