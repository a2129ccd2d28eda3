"""Tempo words against music21's own table of them.

Source: music21, ``music21.tempo.defaultTempoValues``: words with a metronome mark each.
"""

from __future__ import annotations

from core.directions.reading import read_direction

NOT_TEMPO = {"maestoso"}
"""Words of that table that say no more than a character here."""


def tempo_words() -> dict[str, float]:
    from music21.tempo import defaultTempoValues

    return {str(word): float(value) for word, value in defaultTempoValues.items()}


def test_its_tempo_words_are_tempo_words_here() -> None:
    words = tempo_words()
    assert len(words) >= 30
    found = {word: read_direction(word).categories for word in words if word not in NOT_TEMPO}
    others = {word: kinds for word, kinds in found.items() if not {"tempo"} & set(kinds)}
    assert others == {}


def test_words_below_sixty_are_slow_and_above_a_hundred_and_forty_fast() -> None:
    for word, speed in tempo_words().items():
        translation = read_direction(word).translation or ""
        if speed <= 56:
            assert "slow" in translation or "broad" in translation, word
        if speed >= 140:
            said = ("fast", "quick", "lively")
            assert any(part in translation for part in said), word
