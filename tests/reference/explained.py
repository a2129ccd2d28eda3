"""Why Postil reads some scores of the corpus otherwise than music21 or partitura does.

Each reason comes with a check of its own, so that an entry can't cover another difference.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from tests.reference.readings import Reading, agree_inside_measures, differences, falls_apart

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

BOTH_DIFFER = {
    "beethoven/opus18no1/movement3.mxl": Explained(
        ("onset",), "measures", "measure 21 in 3/4: the parts hold 2, 3, 3, 3 quarters"
    ),
    "haydn/opus1no1/movement2.mxl": Explained(
        ("onset",), "measures", "measure 52 in 3/4: the parts hold 3, 3, 4, 3 quarters"
    ),
    "haydn/opus1no1/movement4.mxl": Explained(
        ("onset",), "measures", "measure 33 in 3/4: the parts hold 3, 3, 3, 2 quarters"
    ),
    "haydn/opus74no1/movement2.mxl": Explained(
        ("onset",), "measures", "measure 14 in 3/8: the parts hold 3/2, 1, 3/2, 3/2 quarters"
    ),
    "haydn/opus74no1/movement3.mxl": Explained(
        ("onset",), "measures", "measure 58 in 3/4: the parts hold 13/4, 3, 3, 3 quarters"
    ),
    "monteverdi/madrigal.3.12.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 4, 4, 8, 8 quarters"
    ),
    "monteverdi/madrigal.3.2.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 8, 4, 8, 8 quarters"
    ),
    "monteverdi/madrigal.3.4.mxl": Explained(
        ("onset",), "measures", "measure 2 in 4/4: the parts hold 4, 4, 4, 8, 8 quarters"
    ),
    "monteverdi/madrigal.4.1.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 4, 8, 8, 4 quarters"
    ),
    "monteverdi/madrigal.4.18.mxl": Explained(
        ("onset",), "measures", "measure 3 in 4/4: the parts hold 4, 8, 4, 4, 4 quarters"
    ),
    "monteverdi/madrigal.4.5.mxl": Explained(
        ("onset",), "measures", "measure 1 in 4/4: the parts hold 4, 8, 8, 4, 4 quarters"
    ),
    "monteverdi/madrigal.4.8.mxl": Explained(
        ("onset",), "measures", "measure 13 in 4/4: the parts hold 4, 4, 4, 4, 8 quarters"
    ),
    "monteverdi/madrigal.5.2.mxl": Explained(
        ("onset",), "measures", "measure 7 in 4/4: the parts hold 4, 4, 8, 4, 4, 4 quarters"
    ),
    "mozart/k156/movement3.mxl": Explained(
        ("onset",), "measures", "measure 40 in 3/4: the parts hold 3, 3, 1, 3 quarters"
    ),
    "mozart/k80/movement4.mxl": Explained(
        ("onset",), "measures", "measure 0 in 2/2: the parts hold 2, 4, 2, 2 quarters"
    ),
    "schubert/Lindenbaum.xml": Explained(
        ("duration", "onset"),
        "chords",
        "measure 1, left hand: half note B2 under dotted half notes",
    ),
}
"""Where both read otherwise than Postil, and alike."""


def unexplained(
    explained: Explained | None, *, written: Reading, ours: Reading, theirs: Reading
) -> str:
    """What differs otherwise than explained; empty when nothing does.

    Parameters
    ----------
    explained : Explained or None, where nothing is to differ.
    written, ours, theirs : as for a ``Check``.
    """
    kinds = explained.kinds if explained else ()
    found = differences(ours, theirs)
    if found != kinds:
        return f"differs in {found}; explained is {kinds}"
    if explained is None:
        return ""
    why, holds = REASONS[explained.reason]
    return "" if holds(written, ours, theirs) else f"doesn't differ as explained: {why}"
