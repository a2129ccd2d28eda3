"""Which accidentals are printed: those that neither the key nor the measure says already.

Conventions: an accidental holds to the end of its measure, for its octave and staff; a note
that is tied over prints none. Source: common practice.
"""

from __future__ import annotations

from collections.abc import Iterable

from core.score.formats.drafts import Event

_SHARPS = "FCGDAEB"
NAMES = {
    0: "natural",
    1: "sharp",
    -1: "flat",
    2: "double-sharp",
    -2: "flat-flat",
    3: "triple-sharp",
    -3: "triple-flat",
    0.5: "quarter-sharp",
    -0.5: "quarter-flat",
    1.5: "three-quarters-sharp",
    -1.5: "three-quarters-flat",
}
"""MusicXML's name of each alteration, in semitones."""


def alterations_of(fifths: int) -> dict[str, float]:
    """What a key signature makes of each step.

    Examples
    --------
    >>> alterations_of(-1)["B"], alterations_of(2)["C"], alterations_of(0)["F"]
    (-1, 1, 0)
    """
    alterations: dict[str, float] = {}
    for index, step in enumerate(_SHARPS):
        sharps = (fifths + 6 - index) // 7
        alterations[step] = sharps
    return alterations


def printed_accidentals(
    voices: Iterable[list[Event]], key: dict[str, float]
) -> dict[tuple[int, int], str]:
    """Accidentals of one staff in one measure.

    Parameters
    ----------
    voices : of events, each in order of onset.
    key : what the key signature makes of each step.

    Returns
    -------
    dict
        MusicXML's name by (id of the event, index of the pitch in it).
    """
    together = [event for events in voices for event in events if event.pitches]
    if not any(
        pitch.alter != key[pitch.step] or pitch.is_marked
        for event in together
        for pitch in event.pitches
    ):
        return {}
    printed: dict[tuple[int, int], str] = {}
    in_force: dict[tuple[str, int], float] = {}
    for event in sorted(together, key=lambda event: event.onset):
        for index, pitch in enumerate(event.pitches):
            if pitch.tie in ("stop", "continue") and not pitch.is_marked:
                continue
            line = pitch.step, pitch.octave
            if pitch.is_marked or in_force.get(line, key[pitch.step]) != pitch.alter:
                printed[id(event), index] = NAMES.get(pitch.alter, "")
                in_force[line] = pitch.alter
    return printed
