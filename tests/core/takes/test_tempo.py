"""Which tempo a passage is played in, and why."""

from __future__ import annotations

from core.takes.tempo import GUESSED_QPM, TempoSource, tempo_at, tempos
from tests.core.score.written_scores import attributes, note, words
from tests.core.takes.small_passages import metronome, read

MEASURE = note("C4", 4)
SOUND = '<sound tempo="{}"/>'


def test_a_printed_mark_comes_before_the_files_own_tempo() -> None:
    marked = metronome("quarter", 46, dotted=True).replace(
        "</direction>", f"{SOUND.format(120)}</direction>"
    )
    (tempo,) = tempos(read([attributes() + marked + MEASURE]))
    assert (tempo.qpm, tempo.source) == (69.0, TempoSource.MARK)


def test_a_tempo_of_the_file_counts_where_none_is_printed() -> None:
    in_measure = SOUND.format(84)
    in_direction = words("sostenuto", SOUND.format(72.5))
    score = read(
        [attributes() + in_measure + MEASURE, note("C4", 2) + in_direction + note("C4", 2)]
    )
    found = tempos(score)
    assert [(float(score.quarters(t.onset)), t.qpm) for t in found] == [(0.0, 84.0), (6.0, 72.5)]
    assert {tempo.source for tempo in found} == {TempoSource.FILE}


def test_a_tempo_word_is_taken_by_convention_and_says_so() -> None:
    (tempo,) = tempos(read([attributes() + words("Andantino grazioso") + MEASURE]))
    assert tempo.qpm == 90
    assert tempo.reason == ("Andantino grazioso: 90 quarters a minute, a convention for the word")


def test_words_of_character_set_no_tempo() -> None:
    (tempo,) = tempos(read([attributes() + words("molto lento e dolce") + MEASURE]))
    assert tempo.source is TempoSource.GUESS


def test_without_anything_it_is_a_guess_and_says_so() -> None:
    (tempo,) = tempos(read([attributes() + MEASURE]))
    assert tempo.qpm == GUESSED_QPM
    assert "a guess" in tempo.reason


def test_tempo_i_goes_back_to_the_first() -> None:
    score = read(
        [
            attributes() + metronome("half", 40) + MEASURE,
            words("Presto") + MEASURE,
            words("Tempo I") + MEASURE,
        ]
    )
    assert [tempo_at(tempos(score), m.onset).qpm for m in score.measures] == [80, 184, 80]


def test_a_mark_after_a_pickup_holds_for_the_pickup() -> None:
    score = read([attributes() + note("C4", 1), metronome("quarter", 63) + MEASURE])
    assert tempos(score)[0].qpm == 63
