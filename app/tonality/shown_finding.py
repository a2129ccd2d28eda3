"""A finding as it is shown: in words, with how sure it is and what a person said of it.

No widgets here, and no music decided: words and numbers only.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.score.page_marks import Certainty
from core.notebook.values import Judgement, Ruling
from core.score.places import Passage

_NAME_LENGTH = 40
_FULL = 0.995
"""From here on two decimals would read 1.00, which no analysis may claim."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaletteDegree:
    """One degree of a scale as it occurs.

    Parameters
    ----------
    label : str
        Against the major scale, with signs: "♭3".
    position : int
        Diatonic steps above the C below the treble staff (middle C): G above it is 4.
    alter : int
        Semitones: the accidental before the head.
    count : int
        How often it sounds.
    is_bent : bool
        Whether it departs from the scale.
    """

    label: str
    position: int
    alter: int
    count: int
    is_bent: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownFinding:
    """What the margin shows of one finding.

    Parameters
    ----------
    kind : str
        ``Finding.kind``.
    title : str
        With accidentals as signs.
    value_text : str
        What was found, as the command line writes it; what a judgement speaks of.
    confidence : float
        0 to 1.
    passage : Passage or None
        Where it holds; None for the whole piece.
    place : str
        The passage in words, where it must be said; else empty.
    why, runner_up : str
        Sentences, with signs; empty where there is nothing to say.
    evidence : tuple of str
        Ids of notes.
    degrees : tuple of PaletteDegree
        Of a scale, from the tonic up; else empty.
    judgement : Judgement or None
    is_leading : bool
        Whether its title is set large: the first word on a place.
    not_arguable : str
        Why a person can't confirm or overrule it, as a sentence; empty where they may.
    is_found : bool
        False for a person's word that no finding answers to any more.
    is_open : bool
        Whether its "why?" is open.
    """

    kind: str
    title: str
    value_text: str
    confidence: float
    passage: Passage | None = None
    place: str = ""
    why: str = ""
    runner_up: str = ""
    evidence: tuple[str, ...] = ()
    degrees: tuple[PaletteDegree, ...] = ()
    judgement: Judgement | None = None
    is_leading: bool = False
    not_arguable: str = ""
    is_found: bool = True
    is_open: bool = False

    @property
    def is_arguable(self) -> bool:
        """Whether a person may confirm or overrule it."""
        return not self.not_arguable

    @property
    def certainty(self) -> Certainty:
        """The style of its rule; a person's word is certain."""
        return Certainty.SOLID if self.judgement else Certainty.of(self.confidence)

    @property
    def sureness(self) -> str:
        """How sure it is: words and number for what leads, the number alone for the rest."""
        if self.judgement is not None:
            return self.judgement.ruling.value
        return sureness(self.confidence) if self.is_leading else number(self.confidence)

    @property
    def has_why(self) -> bool:
        """Whether there is anything behind "why?"."""
        return bool(self.why or self.runner_up or self.evidence)

    @property
    def own_value(self) -> str:
        """What the person says instead; empty where nothing is said."""
        judged = self.judgement
        return judged.own_value.text if judged is not None and judged.own_value else ""

    @property
    def is_confirmed(self) -> bool:
        """Whether a person confirmed it."""
        return self.judgement is not None and self.judgement.ruling is Ruling.CONFIRMED

    @property
    def is_overruled(self) -> bool:
        """Whether a person overruled it."""
        return self.judgement is not None and self.judgement.ruling is Ruling.OVERRULED

    @property
    def name(self) -> str:
        """The title cut to what a remark's head has room for."""
        return short_name(self.title)

    @property
    def identity(self) -> tuple[str, Passage | None, str]:
        """What it is known by from one reading to the next."""
        return self.kind, self.passage, self.value_text


def short_name(title: str) -> str:
    """The first part of a title, as long as a remark's head has room for.

    Examples
    --------
    >>> short_name("Returns at m. 9, varied, one measure shorter; at m. 20, exactly.")
    'Returns at m. 9, varied, one measure…'
    """
    short = title.split(";")[0].rstrip(".")
    if len(short) <= _NAME_LENGTH:
        return short
    return f"{short[:_NAME_LENGTH].rpartition(' ')[0]}…"


def number(confidence: float) -> str:
    """A confidence with two decimals.

    Examples
    --------
    >>> number(0.9999), number(0.814)
    ('0.99', '0.81')
    """
    return "0.99" if confidence >= _FULL else f"{confidence:.2f}"


def sureness(confidence: float) -> str:
    """A confidence in words and with its number; the bands are those of the line styles.

    Examples
    --------
    >>> sureness(0.93), sureness(0.81), sureness(0.4)
    ('sure, 0.93', 'fairly sure, 0.81', 'a guess, 0.40')
    """
    words = {Certainty.SOLID: "sure", Certainty.DASHED: "fairly sure", Certainty.DOTTED: "a guess"}
    return f"{words[Certainty.of(confidence)]}, {number(confidence)}"
