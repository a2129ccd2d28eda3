"""Why Postil reads some scores of the corpus otherwise than music21 or partitura does.

Each reason comes with a check of its own, so that an entry can't cover another difference.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from tests.reference.readings import Reading, agree_inside_measures, falls_apart

Check = Callable[[Reading, Reading, Reading], bool]
"""Of our reading with written pitch, our reading as compared, and theirs."""


class Explained(NamedTuple):
    """What differs in a file, the reason by its name in ``REASONS``, and where it begins."""

    kinds: tuple[str, ...]
    reason: str
    where: str


def _parts_fall_apart(_: Reading, ours: Reading, theirs: Reading) -> bool:
    return (
        agree_inside_measures(ours, theirs, "duration", "pitch")
        and falls_apart(theirs)
        and not falls_apart(ours)
    )


def _chords_of_one_length(_: Reading, ours: Reading, theirs: Reading) -> bool:
    return agree_inside_measures(ours, theirs, "pitch") and not falls_apart(ours)


def _written_pitch(written: Reading, _: Reading, theirs: Reading) -> bool:
    return agree_inside_measures(written, theirs, "duration", "pitch")


REASONS: dict[str, tuple[str, Check]] = {
    "measures": (
        "A measure of this file holds more in one part than in another (a pickup rested in full, "
        "a rest too many, a note too few). They count each part by itself, so that from "
        "there on one measure begins at different times in different parts. A performer reads "
        "barlines as common to all parts, and so does Postil: a measure begins when the longest "
        "part is done with the one before. Inside the measures all notes agree.",
        _parts_fall_apart,
    ),
    "music21 lengthens": (
        "All parts hold as much in this measure; music21 lengthens it in one of them, by a quarter "
        "rest that it makes of a forward of 0, or by a direction whose offset leads past the "
        "barline. From there on one measure begins at different times in different parts. Inside "
        "the measures all notes agree.",
        _parts_fall_apart,
    ),
    "chords": (
        "The file gives the notes of one chord different durations (MusicXML: each note has its "
        "own). They give all the duration of the first; Postil keeps what the file says. Onsets "
        "then differ as well, by the little that unequal tuplet notes overrun their measures.",
        _chords_of_one_length,
    ),
    "octave": (
        "The part is to sound an octave lower (MusicXML: transpose, octave-change). Postil's "
        "MIDI pitch is what sounds; partitura's leaves the octave out.",
        _written_pitch,
    ),
}
