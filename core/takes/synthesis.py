"""A performance as samples: any stretch of it, computed when it is wanted.

Conventions: 44 100 frames a second, two channels, float32 in -1 to 1; frame 0 is the beginning of
the performance. Nothing is kept from one stretch to the next: every partial is a damped sine of
known phase, so that a stretch is the same whether it is rendered alone or in one piece with its
neighbours, and playing can begin anywhere at once.

A partial from frame ``c + m`` on is ``z^c z^m`` with one complex ``z``; the powers of few coarse
steps times those of few fine ones give all frames as one small matrix product, which costs a
hundredth of as many sines.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, cos, log, pi, sin

import numpy as np
from numpy.typing import NDArray

from core.takes.piano_voice import HIGHEST, LOWEST, Voice, band_of, loudness, voice
from core.takes.playing import Performance

SAMPLE_RATE = 44_100
CHANNELS = 2
ATTACK_FRAMES = 66
"""Of a raised cosine, 1.5 ms: a step would click."""
SILENCE = 1e-5
"""Amplitude that is not heard below music (-100 dB)."""
TAIL_SECONDS = 1.5
"""At most, after the last measure, for what still sounds; a string without damper fades in it."""
SOFT_FROM = 0.7
"""Up to this amplitude nothing is touched; louder peaks are bent, so that none reaches 1."""
WIDTH = 0.35
"""How far the keyboard is spread between the channels, 0 to 1."""
_FINE = 256
_PRODUCTS = 260_000
"""Multiplications a matrix product may hold, lest the linear algebra library start threads for
it: threads that wait for each other while the window runs cost more than they save."""

Samples = NDArray[np.float32]


class Synthesis:
    """The sound of a performance.

    Parameters
    ----------
    performance : Performance

    Attributes
    ----------
    loop_frames : int
        To where a loop begins again: the end of the last measure.
    frames : int
        All of it, with what fades after the last measure.
    """

    def __init__(self, performance: Performance) -> None:
        self._pitches: list[int] = performance.midi_pitch.tolist()
        self._velocities: list[int] = performance.velocity.tolist()
        self._onsets = np.rint(performance.onset_seconds * SAMPLE_RATE).astype(np.int64)
        lengths = np.rint(performance.duration_seconds * SAMPLE_RATE).astype(np.int64)
        self._offs = self._onsets + np.maximum(lengths, 1)
        self.loop_frames = max(ceil(performance.length_seconds * SAMPLE_RATE), 1)
        ends = self._onsets + self._sounding_frames()
        longest = self.loop_frames + ceil(TAIL_SECONDS * SAMPLE_RATE)
        self.frames = int(np.clip(ends.max(initial=0), self.loop_frames, longest))
        self._ends = np.minimum(ends, self.frames)

    def block(self, first_frame: int, frames: int) -> Samples:
        """A stretch of it.

        Parameters
        ----------
        first_frame : int, 0 or more
        frames : int

        Returns
        -------
        float32, shape (frames, 2), silent where there is nothing
        """
        return _limited(self._mixed(first_frame, frames))

    def looped_block(self, first_frame: int, frames: int) -> Samples:
        """A stretch of it as an endless loop; what fades at the end sounds into the next round.

        Returns
        -------
        float32, shape (frames, 2)
        """
        mixed = np.zeros((frames, CHANNELS), dtype=np.float32)
        done = 0
        while done < frames:
            turn, inside = divmod(first_frame + done, self.loop_frames)
            some = min(frames - done, self.loop_frames - inside)
            # Of a loop shorter than what fades, several earlier rounds still sound.
            back = ceil((self.frames - inside) / self.loop_frames)
            for earlier in range(min(turn + 1, back)):
                at = inside + earlier * self.loop_frames
                mixed[done : done + some] += self._mixed(at, some)
            done += some
        return _limited(mixed)

    def _sounding_frames(self) -> NDArray[np.int64]:
        """Until nothing is heard of each key any more, from its onset."""
        keys = zip(self._pitches, self._velocities, strict=True)
        fades = np.array([_fading(*key) for key in keys], dtype=np.float64).reshape(-1, 3)
        level, slowest, release = fades.T
        undamped = level / slowest
        held = (self._offs - self._onsets) / SAMPLE_RATE
        damped = held + (level - slowest * held) / (slowest + release)
        is_damped = (release > 0) & (held < undamped)
        seconds = np.where(is_damped, damped, undamped)
        return np.asarray(np.ceil(seconds * SAMPLE_RATE), dtype=np.int64)

    def _mixed(self, first_frame: int, frames: int) -> Samples:
        mixed = np.zeros((frames, CHANNELS), dtype=np.float32)
        last = first_frame + frames
        for index in np.flatnonzero((self._onsets < last) & (self._ends > first_frame)).tolist():
            onset = int(self._onsets[index])
            begin = max(onset, first_frame)
            end = min(int(self._ends[index]), last)
            pitch = self._pitches[index]
            sound = key_sound(
                pitch,
                self._velocities[index],
                begin - onset,
                end - begin,
                off_frame=int(self._offs[index]) - onset,
            )
            fade = self.frames - end
            if fade < SAMPLE_RATE // 4:
                sound *= _last_fade(self.frames - begin, end - begin)
            mixed[begin - first_frame : end - first_frame] += sound[:, None] * _sides(pitch)
        return mixed


def key_sound(
    midi_pitch: int, velocity: int, first_frame: int, frames: int, *, off_frame: int
) -> Samples:
    """A stretch of one key's sound, from ``first_frame`` after it was struck.

    Parameters
    ----------
    midi_pitch : int, 0 to 127
    velocity : int, 1 to 127
    off_frame : int
        When the key comes up.

    Returns
    -------
    float32, shape (frames,)
    """
    sounding = voice(midi_pitch, band_of(velocity))
    decayed = np.exp(-sounding.rates * first_frame / SAMPLE_RATE)
    level = loudness(velocity) * sounding.amplitudes * decayed
    heard = np.flatnonzero(level > SILENCE / 3)
    if not len(heard):
        return np.zeros(frames, dtype=np.float32)
    exponents = _exponents(sounding)[heard]
    rows = ceil(frames / _FINE)
    starts = first_frame + _FINE * np.arange(rows, dtype=np.float64)
    coarse = np.exp(exponents[None, :] * starts[:, None]) * (
        loudness(velocity) * sounding.amplitudes[heard]
    )
    left = np.concatenate([coarse.real, coarse.imag], axis=1).astype(np.float32)
    right = _fine_steps(midi_pitch)[:, heard].reshape(-1, _FINE)
    sound = _product(left, right).reshape(-1)[:frames]
    _shape_ends(sound, first_frame, off_frame, sounding.release_rate)
    return sound


def pcm16(samples: Samples) -> bytes:
    """Samples as 16 bit integers, little-endian, interleaved."""
    return np.rint(samples * 32767).astype("<i2").tobytes()


def _exponents(sounding: Voice) -> NDArray[np.complex128]:
    """Logarithm of ``z`` of every partial, a frame."""
    return np.asarray((2j * pi * sounding.frequencies - sounding.rates) / SAMPLE_RATE)


@lru_cache(maxsize=128)
def _fine_steps(midi_pitch: int) -> Samples:
    """Shape (2, partials, _FINE): imaginary and real part of ``z^m``; alike at every velocity."""
    exponents = _exponents(voice(midi_pitch, 0))
    powers = np.exp(exponents[:, None] * np.arange(_FINE))
    return np.stack([powers.imag, powers.real]).astype(np.float32)


def _product(left: Samples, right: Samples) -> Samples:
    tall = max(1, _PRODUCTS // right.size)
    if len(left) <= tall:
        return left @ right
    return np.concatenate([left[at : at + tall] @ right for at in range(0, len(left), tall)])


def _shape_ends(sound: Samples, first_frame: int, off_frame: int, release_rate: float) -> None:
    """The attack and the damper, in place."""
    if first_frame < ATTACK_FRAMES:
        some = min(ATTACK_FRAMES - first_frame, len(sound))
        phase = np.arange(first_frame, first_frame + some) * (pi / ATTACK_FRAMES)
        sound[:some] *= (0.5 - 0.5 * np.cos(phase)).astype(np.float32)
    begin = max(off_frame - first_frame, 0)
    if release_rate and begin < len(sound):
        since = np.arange(first_frame + begin - off_frame, first_frame + len(sound) - off_frame)
        sound[begin:] *= np.exp(-release_rate / SAMPLE_RATE * since).astype(np.float32)


@lru_cache(maxsize=4096)
def _fading(midi_pitch: int, velocity: int) -> tuple[float, float, float]:
    """Nepers from the stroke down to silence, the slowest rate, and what the damper adds."""
    sounding = voice(midi_pitch, band_of(velocity))
    loudest = loudness(velocity) * float(sounding.amplitudes.sum())
    level = log(max(loudest / SILENCE, 2.0))
    return level, float(sounding.rates.min()), sounding.release_rate


def _last_fade(frames_to_end: int, frames: int) -> Samples:
    """A straight line to nothing over the last quarter of a second of all."""
    to_end = frames_to_end - np.arange(frames)
    return np.clip(to_end / (SAMPLE_RATE / 4), 0, 1).astype(np.float32)


@lru_cache(maxsize=128)
def _sides(midi_pitch: int) -> Samples:
    """Shares of left and right, of equal power; low keys left, as the player hears them."""
    across = (midi_pitch - (LOWEST + HIGHEST) / 2) / (HIGHEST - LOWEST)
    angle = pi / 4 * (1 + 2 * WIDTH * min(max(across, -0.5), 0.5))
    return np.array([cos(angle), sin(angle)], dtype=np.float32)


def _limited(samples: Samples) -> Samples:
    """Peaks above ``SOFT_FROM`` bent so that they stay below 1; frame by frame, so seamless."""
    size = np.abs(samples)
    if size.max(initial=0.0) <= SOFT_FROM:
        return samples
    room = np.float32(1 - SOFT_FROM)
    bent = SOFT_FROM + room * np.tanh((size - SOFT_FROM) / room) * np.float32(0.999)
    return np.where(size > SOFT_FROM, np.copysign(bent, samples), samples).astype(np.float32)
