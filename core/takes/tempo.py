"""The tempo in which a score is played aloud, from what is printed in it.

Conventions: a tempo is in quarter notes a minute (qpm) and holds from its onset to the next one.
What counts, in this order where several stand at one onset: a printed metronome mark; a
``<sound tempo>`` that the file carries for players; a tempo word; otherwise ``GUESSED_QPM``, said
to be a guess. Gradual changes (*rit.*, *calando*) are left to the player's own hands: a number
for them would be invented.

Source: MusicXML 4.0 (``metronome``; ``sound``, attribute ``tempo``: quarter notes a minute).
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

from core.score.score import RawDirection, Score

GUESSED_QPM = 100.0
"""Where nothing is printed: between andante and allegro; a guess."""
LEAST_QPM, MOST_QPM = 4.0, 1000.0
"""A mark outside is a slip of the file."""

WORDS_QPM = {
    "grave": (30, 45), "larghissimo": (25, 40), "largo": (40, 60), "larghetto": (58, 66),
    "lento": (45, 60), "adagio": (54, 72), "adagietto": (66, 80), "andante": (72, 92),
    "andantino": (80, 100), "moderato": (92, 112), "allegretto": (104, 120),
    "allegro": (120, 152), "vivace": (144, 172), "vivacissimo": (164, 184), "presto": (168, 200),
    "prestissimo": (192, 216),
    "lent": (45, 60), "modéré": (88, 108), "animé": (116, 144), "vif": (138, 168),
    "langsam": (48, 66), "mäßig": (84, 104), "mässig": (84, 104), "bewegt": (104, 126),
    "lebhaft": (120, 152), "schnell": (138, 168), "rasch": (132, 160),
    "slow": (48, 66), "slowly": (48, 66), "lively": (120, 152), "fast": (132, 160),
}  # fmt: skip
"""Conventional ranges of tempo words (common practice, after the figures engraved on metronomes;
from memory). Taken as quarter notes a minute under every signature; the middle is played."""

_UNIT_QUARTERS = {
    "breve": 8.0, "whole": 4.0, "half": 2.0, "quarter": 1.0, "eighth": 0.5, "16th": 0.25,
    "32nd": 0.125,
}  # fmt: skip
_DOTS = {"": 1.0, "dotted ": 1.5, "double-dotted ": 1.75}
_MARK = re.compile(
    r"\b(?P<dots>double-dotted |dotted |)(?P<unit>breve|whole|half|quarter|eighth|16th|32nd)"
    r" = \D{0,8}(?P<number>\d+(?:\.\d+)?)"
)
_WHOLE_MARK = re.compile(rf"\(?{_MARK.pattern}[^\s,]*\)?")
"""A mark with whatever it is bracketed by or leans on."""
_WORD = re.compile(r"[^\W\d_]+")
_FIRST_TEMPO = re.compile(r"\btempo (i|1|primo|1o|1º|1°)(?!\w)|\b1[oº°]? tempo\b", re.IGNORECASE)
_BACK = re.compile(r"\ba tempo\b|\bim tempo\b|\bau mouvement\b", re.IGNORECASE)
_SOUND = re.compile(rb"<sound\b[^>]*?\btempo=\"([\d.]+)\"")
_ID = re.compile(rb"\bid=\"([^\"]*)\"")


class TempoSource(Enum):
    """What a tempo was taken from."""

    MARK = "printed"
    FILE = "in the file, not printed"
    WORD = "a convention for the word"
    GUESS = "a guess, since none is printed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tempo:
    """A tempo that holds from an onset on.

    Parameters
    ----------
    onset : int
        Ticks of the written score.
    qpm : float
        Quarter notes a minute.
    source : TempoSource
    text : str
        The printed words it was taken from; empty where none are.
    """

    onset: int
    qpm: float
    source: TempoSource
    text: str = ""

    @property
    def reason(self) -> str:
        """Why it is so, in words: "andantino: 90 quarters a minute, a convention for the word"."""
        named = f"{self.text}: " if self.text else ""
        return f"{named}{self.qpm:.4g} quarters a minute, {self.source.value}"


def tempos(score: Score) -> tuple[Tempo, ...]:
    """Every tempo of a score by onset; the first one at 0, one an onset."""
    found: dict[int, Tempo] = {}
    for onset, qpm in _of_the_file(score):
        found.setdefault(onset, Tempo(onset=onset, qpm=qpm, source=TempoSource.FILE))
    for direction in score.directions:
        if (marked := marked_qpm(direction.text)) is not None:
            found[direction.onset] = Tempo(
                onset=direction.onset, qpm=marked, source=TempoSource.MARK, text=direction.text
            )
    for onset, tempo in _of_words(score.directions, found):
        found.setdefault(onset, tempo)
    ordered = [found[onset] for onset in sorted(found)]
    return _from_the_start(score, ordered)


def tempo_at(in_order: Sequence[Tempo], onset: int) -> Tempo:
    """The tempo in force at an onset."""
    return in_order[max(bisect_right(in_order, onset, key=lambda tempo: tempo.onset) - 1, 0)]


def marked_qpm(text: str) -> float | None:
    """Quarter notes a minute of a printed metronome mark; None where there is none.

    Examples
    --------
    >>> marked_qpm("Andantino dotted quarter = 46"), marked_qpm("poco rit.")
    (69.0, None)
    """
    mark = _MARK.search(text)
    if mark is None:
        return None
    qpm = _UNIT_QUARTERS[mark["unit"]] * _DOTS[mark["dots"]] * float(mark["number"])
    return qpm if LEAST_QPM <= qpm <= MOST_QPM else None


def without_mark(text: str) -> str:
    """The words of a direction without its metronome mark.

    Examples
    --------
    >>> without_mark("Andantino dotted quarter = 46"), without_mark("(half = 60)")
    ('Andantino', '')
    """
    return " ".join(_WHOLE_MARK.sub(" ", text).split())


def word_qpm(text: str) -> float | None:
    """Quarter notes a minute by convention for the first tempo word; None where there is none.

    Examples
    --------
    >>> word_qpm("Andantino grazioso"), word_qpm("dolce")
    (90.0, None)
    """
    for word in _WORD.findall(text.casefold()):
        if limits := WORDS_QPM.get(word):
            return sum(limits) / 2
    return None


def _of_the_file(score: Score) -> Iterator[tuple[int, float]]:
    """Onset and tempo of every ``<sound tempo>``: its direction's onset, else its measure's."""
    directions = {d.id.encode(): d.onset for d in score.directions}
    measures = {measure.id.encode(): measure.onset for measure in score.measures}
    text = score.canonical
    for sound in _SOUND.finditer(text):
        qpm = float(sound[1]) if sound[1].count(b".") < 2 and sound[1] != b"." else 0.0
        if not LEAST_QPM <= qpm <= MOST_QPM:
            continue
        known = directions
        opened = text.rfind(b"<direction ", 0, sound.start())
        if opened < 0 or text.find(b"</direction>", opened, sound.start()) >= 0:
            known, opened = measures, text.rfind(b"<measure ", 0, sound.start())
        named = _ID.search(text, opened, text.find(b">", opened))
        # Measures of later parts have ids of their own; the first part says the same.
        if named and named[1] in known:
            yield known[named[1]], qpm


def _of_words(
    directions: Sequence[RawDirection], known: dict[int, Tempo]
) -> Iterator[tuple[int, Tempo]]:
    """Tempo words, and what goes back to an earlier tempo."""
    in_force: dict[int, Tempo] = dict(known)
    for direction in directions:
        if direction.kind != "words" or direction.onset in in_force:
            continue
        earlier = [in_force[onset] for onset in sorted(in_force) if onset < direction.onset]
        if earlier and _FIRST_TEMPO.search(direction.text):
            qpm: float | None = earlier[0].qpm
        elif earlier and _BACK.search(direction.text):
            # Nothing changed by number since then, so that it is the tempo in force.
            continue
        else:
            qpm = word_qpm(direction.text) if _leads(direction.text) else None
        if qpm is not None:
            tempo = Tempo(
                onset=direction.onset, qpm=qpm, source=TempoSource.WORD, text=direction.text
            )
            in_force[direction.onset] = tempo
            yield direction.onset, tempo


def _leads(text: str) -> bool:
    """Whether words begin with a capital, as a tempo heading does: "lento" may be a character."""
    return text[:1].isupper()


def _from_the_start(score: Score, ordered: list[Tempo]) -> tuple[Tempo, ...]:
    if ordered and ordered[0].onset == 0:
        return tuple(ordered)
    first = Tempo(onset=0, qpm=GUESSED_QPM, source=TempoSource.GUESS)
    if ordered and len(score.measures) > 1 and ordered[0].onset <= score.measures[1].onset:
        # Over a pickup a mark is often printed at the first full measure.
        head = ordered[0]
        first = Tempo(onset=0, qpm=head.qpm, source=head.source, text=head.text)
    return (first, *ordered)
