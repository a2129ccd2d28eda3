"""The accidentals that a file leaves to its reader: those of the key and of the measure.

Conventions: an accidental holds to the end of its measure, for its octave and staff; a note that
is tied over keeps its own. Source: common practice.
"""

from __future__ import annotations

from core.score.formats.accidentals import alterations_of
from core.score.formats.drafts import DraftPart, Event


def take_key_accidentals(part: DraftPart) -> None:
    """Alter the notes of a part in which only printed accidentals are said (``is_marked``)."""
    keys = {staff: alterations_of(0) for staff in range(1, part.staves + 1)}
    tied: dict[tuple[int, str, int], float] = {}
    for measure in part.measures:
        for change in measure.changes:
            if change.key is not None:
                for staff in [change.staff] if change.staff else list(keys):
                    keys[staff] = alterations_of(change.key[0])
        in_force: dict[tuple[int, str, int], float] = {}
        places = [(e.onset, place, i) for place, es in measure.voices.items()
                  for i, e in enumerate(es)]  # fmt: skip
        for _, place, index in sorted(places):
            event = measure.voices[place][index]
            staff = place[0]
            measure.voices[place][index] = _altered(event, staff, keys[staff], in_force, tied)


def _altered(
    event: Event,
    staff: int,
    key: dict[str, float],
    in_force: dict[tuple[int, str, int], float],
    tied: dict[tuple[int, str, int], float],
) -> Event:
    pitches = []
    for pitch in event.pitches:
        line = staff, pitch.step, pitch.octave
        if pitch.is_marked:
            in_force[line] = alter = pitch.alter
        elif pitch.tie in ("stop", "continue") and line in tied:
            alter = tied[line]
        else:
            alter = in_force.get(line, key[pitch.step])
        if pitch.tie in ("start", "continue"):
            tied[line] = alter
        pitches.append(pitch._replace(alter=alter))
    return event._replace(pitches=tuple(pitches))
