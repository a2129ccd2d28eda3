"""The built-in piano voice: what one key sounds like, as damped partials.

Conventions: pitch is equal temperament after ISO 16 (A4 = 440 Hz), without the stretch of a
tuned piano; the first partial is exactly there. Frequencies in Hz, decay rates in 1/second (an
amplitude falls as ``exp(-rate * t)``), amplitudes in full scale for one key.

Sources: ISO 16:1975. Stiff strings, ``f_n = n f_0 sqrt(1 + B n^2)``: Fletcher, Blackham &
Stratton 1962, "Quality of piano tones". B by key: the regression of Rigaud, David & Daudet 2011,
"A parametric model of piano tuning" (coefficients from memory). Every partial in two parts, a
prompt and a lingering one: Weinreich 1977, "Coupled piano strings". The hammer at an eighth of
the string leaves out every eighth partial (common practice of builders). Loudness, brightness
and decay times are ours, set by ear of the literature: from 12 seconds in the bass to one at
the top for a fall of 60 dB.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, log, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

LOWEST, HIGHEST = 21, 108
"""The keyboard of 88 keys, A0 to C8. Keys outside sound too."""
A4_HZ, A4_PITCH = 440.0, 69
HIGHEST_HZ = 9500.0
"""Partials above are left out; far below half of the sample rate."""
MOST_PARTIALS = 36
STRIKE_POINT = 1 / 8
VELOCITY_BANDS = 16
"""Velocities are told apart in so many steps of brightness; loudness follows each velocity."""
LINGERING_SHARE, PROMPT_RATE, LINGERING_RATE = 0.25, 1.9, 0.55
LINGERING_CENTS = 0.4
"""The lingering part is a hair sharp, as two strings are never quite alike."""
SIXTY_DB = log(1000.0)
LAST_DAMPER = 88
"""Above this key (E6) strings have no dampers (common practice of builders)."""
RELEASE_SECONDS = 0.07
"""Time constant of the damper at middle C; thicker strings take longer."""
LOUDEST = 0.24
"""Peak amplitude of one key at velocity 127."""
_KNOCK = ((92.0, 0.30, 55.0), (187.0, 0.22, 75.0), (410.0, 0.10, 110.0))
"""The knock of key and hammer: frequency, share of the sound, rate."""
_KNOCK_LEVEL = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Voice:
    """The sound of one key, a sum of ``amplitude * exp(-rate t) * sin(2 pi frequency t)``.

    Parameters
    ----------
    amplitudes, rates, frequencies : float64, shape (partials,)
    release_rate : float
        What the damper adds to every rate; 0 for a string without one.
    """

    amplitudes: NDArray[np.float64]
    rates: NDArray[np.float64]
    frequencies: NDArray[np.float64]
    release_rate: float


def pitch_hz(midi_pitch: float) -> float:
    """Frequency of a MIDI pitch in equal temperament.

    Examples
    --------
    >>> pitch_hz(69), round(pitch_hz(60), 3)
    (440.0, 261.626)
    """
    return float(A4_HZ * 2 ** ((midi_pitch - A4_PITCH) / 12))


def inharmonicity(midi_pitch: float) -> float:
    """B of a key: about 0.0003 at middle C."""
    return exp(0.0926 * midi_pitch - 13.64) + exp(-0.0847 * midi_pitch - 5.82)


def loudness(velocity: int) -> float:
    """Amplitude of a key velocity, 0 to 1; 1 at 127. About 5 dB a dynamic step."""
    return float((velocity / 127) ** 2)


@lru_cache(maxsize=1024)
def voice(midi_pitch: int, velocity_band: int) -> Voice:
    """The sound of a key at unit loudness.

    Parameters
    ----------
    midi_pitch : int, 0 to 127
    velocity_band : int, 0 to ``VELOCITY_BANDS`` - 1; the harder, the brighter
    """
    first = pitch_hz(midi_pitch)
    stiffness = inharmonicity(midi_pitch)
    ordinals = np.arange(1, MOST_PARTIALS + 1, dtype=np.float64)
    partials = first * ordinals * np.sqrt((1 + stiffness * ordinals**2) / (1 + stiffness))
    audible = (partials < HIGHEST_HZ) | (ordinals == 1)
    ordinals, partials = ordinals[audible], partials[audible]
    strengths = _strengths(ordinals, midi_pitch, velocity_band)
    rates = SIXTY_DB / _sixty_db_seconds(midi_pitch) * (1 + 0.22 * (ordinals - 1))
    sharp = 2 ** (LINGERING_CENTS / 1200)
    knock = np.array(_KNOCK)
    return Voice(
        amplitudes=LOUDEST
        * np.concatenate(
            [
                (1 - LINGERING_SHARE) * strengths,
                LINGERING_SHARE * strengths,
                _KNOCK_LEVEL * knock[:, 1],
            ]
        ),
        rates=np.concatenate([PROMPT_RATE * rates, LINGERING_RATE * rates, knock[:, 2]]),
        frequencies=np.concatenate([partials, sharp * partials, knock[:, 0]]),
        release_rate=_release_rate(midi_pitch),
    )


def band_of(velocity: int) -> int:
    """The band of brightness that a velocity falls into."""
    return min(max(velocity * VELOCITY_BANDS // 128, 0), VELOCITY_BANDS - 1)


def _strengths(
    ordinals: NDArray[np.float64], midi_pitch: int, velocity_band: int
) -> NDArray[np.float64]:
    """Amplitudes of the partials; their sum of squares is one, so that all keys sound alike."""
    hardness = velocity_band / (VELOCITY_BANDS - 1)
    register = (midi_pitch - LOWEST) / (HIGHEST - LOWEST)
    # Falls of the spectrum in nepers a partial: slow in the bass, steep at the top.
    fall = (0.10 + 1.3 * max(register, 0.0) ** 1.5) * (1.7 - 1.1 * hardness)
    strengths = np.abs(np.sin(pi * STRIKE_POINT * ordinals)) / sin(pi * STRIKE_POINT)
    strengths = strengths * np.exp(-fall * (ordinals - 1)) / np.sqrt(ordinals)
    return np.asarray(strengths / sqrt(float(np.sum(strengths**2))))


def _sixty_db_seconds(midi_pitch: int) -> float:
    return float(min(12.0 * 2 ** (-(midi_pitch - LOWEST) / 24), 14.0))


def _release_rate(midi_pitch: int) -> float:
    if midi_pitch > LAST_DAMPER:
        return 0.0
    return float(1 / (RELEASE_SECONDS * 2 ** ((60 - midi_pitch) / 36)))
