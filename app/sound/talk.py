"""What the window and the player's process tell each other, in the order in which it was told.

Wishes go to the player, news come back. Whatever belongs to one playing carries its ``serial``,
so that late news of one that was stopped can be told apart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from core.score.places import Passage, Place
from core.score.score import Score
from core.takes.playing import Manner

if TYPE_CHECKING:
    from app.midi.ports import MidiOut
    from app.sound.outputs import Output


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What is to be played of the score that was handed over last.

    Parameters
    ----------
    passage : Passage
        A point stands for all that follows it.
    order : tuple of int or None
        Measure indices as they are played; None for the written order.
    """

    passage: Passage
    order: tuple[int, ...] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Means:
    """How it is to sound, and on what: a MIDI port, or the built-in piano with None."""

    manner: Manner = field(default_factory=Manner)
    loops: bool = False
    port: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doors:
    """Where sound goes: functions of a module, so that they can be named to another process."""

    open_output: Callable[[], Output]
    port_names: Callable[[], tuple[str, ...]]
    why_no_port: Callable[[], str | None]
    open_port: Callable[[str], MidiOut]


# Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeScore:
    """The score that what follows is about."""

    score: Score


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """Play from the beginning; what sounded falls silent."""

    serial: int
    chosen: Chosen
    means: Means


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Go on from where it is, in another manner."""

    serial: int
    means: Means


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """Fall silent at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """Write a passage as a file."""

    chosen: Chosen
    manner: Manner
    path: Path
    form: Literal["wav", "midi"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AskPorts:
    """Say which MIDI ports can be played to."""


Wish = TakeScore | Play | Change | Stop | Export | AskPorts

# News


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """All is loaded: the next wish sounds at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Started:
    """The first samples or keys were handed over, and at which ``time.monotonic()``."""

    serial: int
    at_seconds: float
    tempo_reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """The place of the notes that were struck last."""

    serial: int
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Over:
    """Nothing sounds any more, and why if not for the end of the passage."""

    serial: int
    error: Exception | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """A file is whole, or why it isn't."""

    path: Path
    error: Exception | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ports:
    """The MIDI ports that can be played to, and a sentence where this system has no MIDI."""

    names: tuple[str, ...]
    why_none: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gone:
    """The player's process has ended unasked."""

    how: str


News = Ready | Started | Reached | Over | Exported | Ports | Gone
