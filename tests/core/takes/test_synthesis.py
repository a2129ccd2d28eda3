"""The sound of performances: seamless, in time, never clipped."""

from __future__ import annotations

import time

import numpy as np
import pytest

from core.score.places import Passage
from core.takes.piano_voice import pitch_hz, voice
from core.takes.playing import Manner, perform
from core.takes.synthesis import SAMPLE_RATE, Synthesis, key_sound, pcm16
from tests.core.score.written_scores import attributes, chord, move, note
from tests.core.takes.small_passages import dynamics, metronome, read, two_hands

HELD = 10 * SAMPLE_RATE


def test_any_stretch_is_the_same_as_in_one_piece() -> None:
    synthesis = Synthesis(perform(two_hands(), Passage.of_measures(0, 0)))
    whole = synthesis.block(0, 3 * SAMPLE_RATE)
    pieces = [synthesis.block(at, 4099) for at in range(0, 2 * SAMPLE_RATE, 4099)]
    joined = np.concatenate(pieces)
    assert np.allclose(joined, whole[: len(joined)], atol=2e-5)


def test_silence_before_a_note_and_sound_from_it_on() -> None:
    head = attributes() + metronome("quarter", 60)
    score = read([head + move("forward", 1) + note("A4", 1)])
    samples = Synthesis(perform(score, Passage.of_measures(0, 0))).block(0, 2 * SAMPLE_RATE)
    assert not samples[:SAMPLE_RATE].any()
    assert np.abs(samples[SAMPLE_RATE : SAMPLE_RATE + 441]).max() > 0.01


def test_a_key_that_comes_up_falls_silent() -> None:
    sound = key_sound(60, 80, 0, SAMPLE_RATE, off_frame=SAMPLE_RATE // 2)
    before = np.abs(sound[SAMPLE_RATE // 2 - 2000 : SAMPLE_RATE // 2]).max()
    assert np.abs(sound[-2000:]).max() < before / 300


def test_bass_rings_longer_than_treble() -> None:
    def share_left(pitch: int) -> float:
        early = np.abs(key_sound(pitch, 80, 2000, 4000, off_frame=HELD)).max()
        return float(
            np.abs(key_sound(pitch, 80, 2 * SAMPLE_RATE, 4000, off_frame=HELD)).max() / early
        )

    assert share_left(33) > 3 * share_left(93)


def test_a_harder_stroke_is_louder_and_brighter() -> None:
    def centre_hz(velocity: int) -> float:
        sound = key_sound(60, velocity, 4000, 8192, off_frame=HELD) * np.hanning(8192)
        spectrum = np.abs(np.fft.rfft(sound)) ** 2
        return float((spectrum * np.fft.rfftfreq(8192, 1 / SAMPLE_RATE)).sum() / spectrum.sum())

    soft, hard = (np.abs(key_sound(60, v, 0, 8192, off_frame=HELD)).max() for v in (33, 112))
    assert hard > 5 * soft
    assert centre_hz(112) > 1.2 * centre_hz(33)


def test_partials_are_stretched_by_stiffness_and_the_first_is_not() -> None:
    frequencies = voice(60, 8).frequencies
    assert frequencies[0] == pytest.approx(pitch_hz(60))
    assert frequencies[9] > 10 * frequencies[0] * 1.005


def test_the_loudest_chord_does_not_clip() -> None:
    pitches = [f"{step}{octave}" for octave in (2, 3, 4, 5) for step in "CEG"]
    chords = note("C1", 4) + "".join(chord(pitch, 4) for pitch in pitches)
    score = read([attributes() + dynamics("fff") + chords])
    samples = Synthesis(perform(score, Passage.of_measures(0, 0))).block(0, SAMPLE_RATE)
    assert 0.8 < np.abs(samples).max() < 1.0
    assert np.abs(np.frombuffer(pcm16(samples), dtype="<i2")).max() < 32767


def test_a_loop_comes_round_in_time_and_without_a_gap() -> None:
    synthesis = Synthesis(perform(two_hands(), Passage.of_measures(0, 0), Manner(speed=1.5)))
    assert synthesis.loop_frames == pytest.approx(4 / 1.5 * SAMPLE_RATE, abs=1)
    first = synthesis.looped_block(0, 8000)
    again = synthesis.looped_block(synthesis.loop_frames, 8000)
    tail = synthesis.block(synthesis.loop_frames, 8000)
    assert np.abs(tail).max() > 0.001
    assert np.allclose(again, first + tail, atol=2e-5)
    across = synthesis.looped_block(synthesis.loop_frames - 100, 300)
    assert np.allclose(across[100:], again[:200], atol=2e-5)


def test_rendering_is_many_times_faster_than_playing() -> None:
    synthesis = Synthesis(perform(two_hands(), Passage.of_measures(0, 1)))
    began = time.perf_counter()
    synthesis.block(0, 4 * SAMPLE_RATE)
    assert time.perf_counter() - began < 2.0
