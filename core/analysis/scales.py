"""Scales: names, degrees and the semitones above the tonic.

Conventions: degrees are written against the major scale of the tonic, with their signs before
them: "b3" is the minor third, "7" the leading note, "#4" the tritone, whatever the base scale.
The table is ``resources/scales.tsv``, with a source for each scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from core.analysis.keys import Mode, tonic_name
from core.resources import resources

_MAJOR = (0, 2, 4, 5, 7, 9, 11)
_FIFTHS = (0, 2, 4, -1, 1, 3, 5)
_ORDINALS = ("tonic", "second", "third", "fourth", "fifth", "sixth", "seventh")
SYMMETRIC = frozenset({"whole-tone", "octatonic half-whole", "octatonic whole-half", "chromatic"})
"""Scales in which another tonic has the same notes."""
DEGREE_WORDS = {
    "b2": "flat second", "2": "second", "b3": "minor third", "3": "major third", "4": "fourth",
    "#4": "raised fourth", "b5": "flat fifth", "5": "fifth", "#5": "raised fifth",
    "b6": "minor sixth", "6": "major sixth", "b7": "minor seventh", "7": "leading note",
    "1": "tonic",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleInUse:
    """A scale on its tonic, with degrees that bend it.

    Parameters
    ----------
    tonic : int
        On the line of fifths (C is 0).
    scale : str
        A name of the table.
    altered : tuple of str
        Degrees against the major scale that stand for those of the scale ("#4").
    bent : tuple of str
        Degrees that stand for those of the scale in some places only ("b2").

    Examples
    --------
    >>> ScaleInUse(tonic=1, scale="dorian", bent=("b2",)).name
    'G Dorian, second bent'
    """

    tonic: int
    scale: str
    altered: tuple[str, ...] = ()
    bent: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """For a reader: "G Dorian, second bent", "C harmonic minor with raised fourth"."""
        numbers = " and ".join(_ORDINALS[int(degree[-1]) - 1] for degree in self.bent)
        return f"{self.short_name}{f', {numbers} bent' if numbers else ''}"

    @property
    def short_name(self) -> str:
        """The name without what is bent in some places: "G Dorian"."""
        words = " and ".join(DEGREE_WORDS.get(degree, degree) for degree in self.altered)
        altered = f" with {words}" if words else ""
        return f"{tonic_name(self.tonic)} {scale_words(self.scale)}{altered}"

    @property
    def mode(self) -> Mode:
        """Minor for a scale that has a minor third and no major one, else major."""
        thirds = {degree for degree in self.degrees if degree[-1] == "3"}
        return "minor" if thirds == {"b3"} else "major"

    @property
    def degrees(self) -> tuple[str, ...]:
        """All degrees in use, from the tonic up; an altered one stands for its own number."""
        return _degrees(self.scale, self.altered)


@cache
def scale_table() -> dict[str, tuple[str, ...]]:
    """Degrees of every scale by its name, in the order of the table."""
    lines = (resources() / "scales.tsv").read_text(encoding="utf-8").splitlines()[1:]
    rows = (line.split("\t") for line in lines)
    return {name: tuple(degrees.split()) for name, degrees, _ in rows}


def scale_degrees(name: str) -> tuple[str, ...]:
    """Degrees of a scale against the major one.

    Raises
    ------
    ValueError
        The table has no such scale.
    """
    try:
        return scale_table()[name]
    except KeyError:
        known = ", ".join(scale_table())
        raise ValueError(f"scale {name!r} is not in the table; its names are {known}") from None


@cache
def semitones(degree: str) -> int:
    """Of a degree above the tonic, 0 to 11.

    Examples
    --------
    >>> semitones("#4"), semitones("b7")
    (6, 10)
    """
    return (_MAJOR[int(degree[-1]) - 1] + degree.count("#") - degree.count("b")) % 12


@cache
def degree_fifths(degree: str) -> int:
    """Of a degree above the tonic on the line of fifths; "b3" is -3."""
    return _FIFTHS[int(degree[-1]) - 1] + 7 * (degree.count("#") - degree.count("b"))


def pattern(name: str, altered: tuple[str, ...] = ()) -> tuple[int, ...]:
    """Semitones of a scale above its tonic, ascending.

    Examples
    --------
    >>> pattern("harmonic minor", ("#4",))
    (0, 2, 3, 6, 7, 8, 11)
    """
    return tuple(sorted({semitones(degree) for degree in _degrees(name, altered)}))


@cache
def _degrees(name: str, altered: tuple[str, ...]) -> tuple[str, ...]:
    numbers = {degree[-1] for degree in altered}
    kept = [degree for degree in scale_degrees(name) if degree[-1] not in numbers]
    return tuple(sorted({*kept, *altered}, key=semitones))


def scale_words(name: str) -> str:
    """The name within a sentence: modes carry a capital."""
    first = name.split()[0]
    return name[0].upper() + name[1:] if first in _MODES else name


_MODES = {
    "dorian", "phrygian", "lydian", "mixolydian", "locrian", "neapolitan",
}  # fmt: skip
