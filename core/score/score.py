"""A score: an imported file made canonical, and what is read from it.

Conventions: as in ``note_table``; a measure is known by its index in the file and shown by
its printed number.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from core.score.note_table import NoteTable, RestTable
from core.score.places import Place

CANONICAL_VERSION = 1
"""Version of the canonical form; part of what a score is known by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One ``<measure>`` position of the score, over all parts.

    Parameters
    ----------
    index : int
        Position in the file, from 0.
    id : str
        Id of the first part's ``<measure>`` in the canonical form (Verovio keeps it).
    number : str
        As printed ("12a"); halves of a measure cut by a repeat sign share one number.
    onset, duration : int
        Ticks; the duration is the real one, whatever the signature says.
    signature : str or None
        The time signature in force ("6/8", "3+2/8"); None for senza misura or none at all.
    nominal_duration : int or None
        Ticks a full measure of the signature lasts; None without a signature.
    fifths : int or None
        The key signature in force of the first part that has one; None when there is none.
    is_implicit : bool
        Not counted (pickup, second half of a cut measure).
    repeat_start, repeat_end : bool
        A repeat sign at the left edge, at the right edge.
    repeat_times : int
        How often a repeat that ends here is played in all; 2 unless the file says otherwise.
    endings : tuple of int
        Numbers of the ending that covers this measure; empty without one.
    ending_starts, ending_stops : bool
        Whether the ending begins, ends in this measure.
    jump : str or None
        "dacapo" or "dalsegno" at the end of this measure.
    jump_target : str
        Name of the segno jumped to ("" for the only one).
    has_segno, has_coda, has_fine, has_to_coda : bool
        Signs in this measure.
    barline : str
        Style of the right barline in MusicXML's words ("regular", "light-heavy" ...).
    """

    index: int
    id: str
    number: str
    onset: int
    duration: int
    signature: str | None = None
    nominal_duration: int | None = None
    fifths: int | None = None
    is_implicit: bool = False
    repeat_start: bool = False
    repeat_end: bool = False
    repeat_times: int = 2
    endings: tuple[int, ...] = ()
    ending_starts: bool = False
    ending_stops: bool = False
    jump: str | None = None
    jump_target: str = ""
    has_segno: bool = False
    has_coda: bool = False
    has_fine: bool = False
    has_to_coda: bool = False
    barline: str = "regular"


@dataclass(frozen=True, slots=True, kw_only=True)
class RawDirection:
    """Words or a sign printed at a place, as the file gives them.

    Parameters
    ----------
    id : str
        Id of the ``<direction>`` in the canonical form, made if the file has none.
    measure_index, onset : int
        Where; the onset in ticks from the start of the score, with its ``<offset>``.
    part : int
        Position of the part, from 0.
    staff : int
        Counted through the whole score, from 1.
    kind : str
        "words", "dynamics", "metronome", "rehearsal", "segno", "coda", "pedal", "wedge",
        "octave-shift", "dashes" or MusicXML's own name for any other direction type.
    text : str
        What is printed: the words, "pp", "q. = 46" written out as "dotted quarter = 46";
        for a wedge "crescendo", "diminuendo"; empty for other signs. Several types in one
        direction are joined by a space.
    placement : str or None
        "above", "below" or None.
    """

    id: str
    measure_index: int
    onset: int
    part: int
    staff: int
    kind: str
    text: str
    placement: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part: canonical id (P1 ...), printed name, how many staves, the first one's number."""

    id: str
    name: str
    staves: int
    first_staff: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Score:
    """A score, immutable.

    Parameters
    ----------
    sha256 : str
        Of the original bytes (for MXL, of the score inside), hexadecimal.
    canonical : bytes
        Canonical MusicXML (partwise, UTF-8) in which every note, rest, measure and direction
        has an id. Made once and kept; never remade for a known ``sha256`` and version.
    title, composer : str
        Empty where the file says nothing.
    parts : tuple of Part
    measures : tuple of Measure
    notes : NoteTable
    rests : RestTable
    directions : tuple of RawDirection
        In order of onset, part, staff, then file order.
    oddities : tuple of str
        What was mended while reading, one sentence each ("measure 7: id m7 was there twice").
    guesses : tuple of str
        What the file's format can't say and was inferred, one sentence each.
    """

    sha256: str
    canonical: bytes = field(repr=False)
    title: str
    composer: str
    parts: tuple[Part, ...]
    measures: tuple[Measure, ...]
    notes: NoteTable
    rests: RestTable
    directions: tuple[RawDirection, ...]
    oddities: tuple[str, ...] = ()
    guesses: tuple[str, ...] = ()
    canonical_version: int = CANONICAL_VERSION

    @property
    def ticks_per_quarter(self) -> int:
        """The common division of all onsets and durations."""
        return self.notes.ticks_per_quarter

    @property
    def duration(self) -> int:
        """Ticks from the start of the first measure to the end of the last."""
        last = self.measures[-1]
        return last.onset + last.duration

    def quarters(self, ticks: int) -> Fraction:
        """Ticks as exact quarter notes."""
        return Fraction(int(ticks), self.ticks_per_quarter)

    def onset_of(self, place: Place) -> int:
        """A place's onset in ticks; a place after the last measure is the end of the score."""
        if place.measure_index >= len(self.measures):
            return self.duration
        onset, offset = self.measures[place.measure_index].onset, place.offset_quarters
        # Fractions multiply slowly, and this is asked for every place that is shown.
        ticks, rest = divmod(offset.numerator * self.ticks_per_quarter, offset.denominator)
        return onset + (round(offset * self.ticks_per_quarter) if rest else ticks)
