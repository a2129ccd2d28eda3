"""Places and passages: addresses that outlive re-engraving and re-import.

A place names a measure by its index in the file and an offset inside it; the printed
measure number is only shown. Offsets and onsets are quarter notes as exact fractions.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A point in a score.

    Parameters
    ----------
    measure_index : int
        Position of the ``<measure>`` in its part, from 0.
    offset_quarters : fractions.Fraction
        Quarter notes from the start of the measure, 0 or more.
    staff : int or None
        Staff counted through the whole score from the top, from 1; None for all staves.
    voice : str or None
        The voice's name in the file; None for all voices.
    note_id : str or None
        Id of the one note or rest that is meant; None for the point in time.
    """

    measure_index: int
    offset_quarters: Fraction = Fraction(0)
    staff: int | None = None
    voice: str | None = None
    note_id: str | None = None

    def __post_init__(self) -> None:
        if self.measure_index < 0:
            raise ValueError(f"measure_index is {self.measure_index}; it counts from 0")
        if self.offset_quarters < 0:
            raise ValueError(f"offset_quarters is {self.offset_quarters}; an earlier measure?")

    @property
    def moment(self) -> tuple[int, Fraction]:
        """Measure index and offset: places sort by it."""
        return self.measure_index, self.offset_quarters


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """From one place up to another; the end is exclusive, and after or at the start.

    A point (one note, one place) is a passage whose end equals its start.
    """

    start: Place
    end: Place

    def __post_init__(self) -> None:
        if self.end.moment < self.start.moment:
            raise ValueError(f"end {self.end.moment} lies before start {self.start.moment}")

    @property
    def is_point(self) -> bool:
        """Whether the passage is one place."""
        return self.start.moment == self.end.moment

    @classmethod
    def at(cls, place: Place) -> Passage:
        """The passage that is just ``place``."""
        return cls(start=place, end=place)

    @classmethod
    def of_measures(cls, first_index: int, last_index: int) -> Passage:
        """Whole measures, both included.

        Examples
        --------
        >>> Passage.of_measures(2, 3).end.measure_index
        4
        """
        return cls(start=Place(measure_index=first_index), end=Place(measure_index=last_index + 1))
