"""The pitch of the built-in piano against ISO 16.

ISO 16:1975 sets A4 to 440 Hz. The other keys are held to equal temperament by the published
frequencies of a few (Young 1939, "Terminology for logarithmic frequency units", table of equally
tempered pitches at A4 = 440) and by the twelfth root of two for all. What sounds is measured from
samples alone, by its spectrum; the program's own table of frequencies is not asked.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.takes.synthesis import SAMPLE_RATE, key_sound

PUBLISHED_HZ = {21: 27.500, 40: 82.407, 60: 261.626, 69: 440.000, 84: 1046.502, 108: 4186.009}
WITHIN_CENTS = 2.0
SECONDS = 2.0


def measured_hz(midi_pitch: int, velocity: int, near_hz: float) -> float:
    """Frequency of the strongest line within a semitone: parabola through the windowed spectrum."""
    frames = int(SECONDS * SAMPLE_RATE)
    # From 0.1 s on: the knock of the hammer is over.
    sound = key_sound(midi_pitch, velocity, SAMPLE_RATE // 10, frames, off_frame=10 * SAMPLE_RATE)
    size = 8 * frames
    spectrum = np.abs(np.fft.rfft(sound.astype(float) * np.hanning(frames), size))
    bins = np.arange(len(spectrum)) * SAMPLE_RATE / size
    semitone = 2 ** (1 / 12)
    near = np.flatnonzero((bins > near_hz / semitone) & (bins < near_hz * semitone))
    peak = int(near[np.argmax(spectrum[near])])
    assert near[0] < peak < near[-1], "the strongest line lies at the edge: no partial there"
    left, middle, right = np.log(spectrum[peak - 1 : peak + 2])
    shift = 0.5 * (left - right) / (left - 2 * middle + right)
    return (peak + shift) * SAMPLE_RATE / size


def cents(measured: float, wanted: float) -> float:
    return 1200 * math.log2(measured / wanted)


@pytest.mark.parametrize(("midi_pitch", "hz"), PUBLISHED_HZ.items())
def test_published_frequencies(midi_pitch: int, hz: float) -> None:
    assert abs(cents(measured_hz(midi_pitch, 80, hz), hz)) < WITHIN_CENTS


@pytest.mark.parametrize("velocity", [24, 110])
def test_the_whole_keyboard_is_within_two_cents(velocity: int) -> None:
    away = {}
    for midi_pitch in range(21, 109):
        wanted = 440.0 * 2 ** ((midi_pitch - 69) / 12)
        away[midi_pitch] = cents(measured_hz(midi_pitch, velocity, wanted), wanted)
    worst = max(away, key=lambda key: abs(away[key]))
    print(f"worst: key {worst}, {away[worst]:+.3f} cents")
    assert abs(away[worst]) < WITHIN_CENTS


def test_the_measure_sees_a_key_that_is_out_of_tune() -> None:
    """The check itself can fail: ten cents away is measured as ten cents."""
    wrong = 440.0 * 2 ** (10 / 1200)
    assert cents(measured_hz(69, 80, wrong), wrong) == pytest.approx(-10, abs=0.5)
