"""Performances, worked out by hand."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.score.places import Passage, Place
from core.takes.dynamics import ACCENT, STEP, UNMARKED, VELOCITIES
from core.takes.playing import GRACE_SECONDS, Manner, Performance, perform
from tests.core.score.written_scores import attributes, chord, note, words
from tests.core.takes.small_passages import dynamics, metronome, read, two_hands, wedge

TIED, TIED_ON = '<tie type="start"/>', '<tie type="stop"/>'
HEAD = attributes() + metronome("quarter", 60)


def whole(score: object) -> Passage:
    return Passage.of_measures(0, 99)


def keys(played: Performance) -> list[tuple[float, float, int]]:
    return [
        (round(onset, 6), round(held, 6), pitch)
        for onset, held, pitch in zip(
            played.onset_seconds.tolist(),
            played.duration_seconds.tolist(),
            played.midi_pitch.tolist(),
            strict=True,
        )
    ]


def test_quarters_at_sixty_are_seconds() -> None:
    played = perform(two_hands(), Passage.of_measures(1, 1))
    assert keys(played) == [(0, 4, 48), (0, 1, 72), (1, 1, 74), (2, 1, 76), (3, 1, 77)]
    assert played.length_seconds == 4


def test_half_the_speed_takes_twice_as_long() -> None:
    played = perform(two_hands(), Passage.of_measures(1, 1), Manner(speed=0.5))
    assert keys(played)[2:] == [(2, 2, 74), (4, 2, 76), (6, 2, 77)]
    assert played.length_seconds == 8


def test_a_hand_is_its_staff() -> None:
    right = perform(two_hands(), whole(0), Manner(hand="right"))
    left = perform(two_hands(), whole(0), Manner(hand="left"))
    assert set(right.staff.tolist()) == {1}
    assert keys(left) == [(0, pytest.approx(3.97), 48), (4, 4, 48)]


def test_a_part_of_one_staff_belongs_to_both_hands() -> None:
    assert len(perform(read([HEAD + note("C4", 4)]), whole(0), Manner(hand="left"))) == 1


def test_a_passage_inside_a_measure_cuts_what_is_held() -> None:
    passage = Passage(
        start=Place(measure_index=0, offset_quarters=Fraction(0)),
        end=Place(measure_index=0, offset_quarters=Fraction(2)),
    )
    assert keys(perform(two_hands(), passage)) == [(0, 2, 48), (0, 1, 72), (1, 1, 74)]


def test_a_point_plays_all_that_follows() -> None:
    played = perform(two_hands(), Passage.at(Place(measure_index=0, offset_quarters=Fraction(3))))
    assert [key[2] for key in keys(played)] == [77, 48, 72, 74, 76, 77]
    assert played.length_seconds == 5


def test_tied_notes_are_struck_once() -> None:
    score = read([HEAD + note("C4", 4, TIED), note("C4", 2, TIED_ON) + note("D4", 2)])
    assert keys(perform(score, whole(score))) == [(0, 6, 60), (6, 2, 62)]


def test_a_note_tied_into_the_passage_is_struck_where_it_begins() -> None:
    score = read([HEAD + note("C4", 4, TIED), note("C4", 2, TIED_ON) + note("D4", 2)])
    assert keys(perform(score, Passage.of_measures(1, 1))) == [(0, 2, 60), (2, 2, 62)]


def test_repeats_are_played_in_the_order_that_is_given() -> None:
    score = read([HEAD + note("C4", 4), note("D4", 4), note("E4", 4)])
    played = perform(score, Passage.of_measures(0, 1), order=[0, 1, 0, 1, 2])
    assert [(key[0], key[2]) for key in keys(played)] == [(0, 60), (4, 62), (8, 60), (12, 62)]
    assert played.time.place_at(9.5) == Place(measure_index=0, offset_quarters=Fraction(1))


def test_the_tempo_changes_where_it_is_printed() -> None:
    score = read([HEAD + note("C4", 4), metronome("quarter", 120) + note("D4", 4), note("E4", 4)])
    played = perform(score, whole(score))
    assert [key[0] for key in keys(played)] == [0, 4, 6]
    assert played.time.place_at(5.0) == Place(measure_index=1, offset_quarters=Fraction(2))


def test_grace_notes_come_before_the_beat_in_the_order_of_the_file() -> None:
    grace = "".join(note(pitch, None).replace("<note>", "<note><grace/>") for pitch in ("E4", "D4"))
    score = read([HEAD + note("C4", 2) + grace + note("C5", 2)])
    assert keys(perform(score, whole(score)))[1:] == [
        (2 - 2 * GRACE_SECONDS, GRACE_SECONDS, 64),
        (2 - GRACE_SECONDS, GRACE_SECONDS, 62),
        (2, 2, 72),
    ]


def test_a_passage_that_begins_with_a_grace_note_begins_later() -> None:
    grace = note("E4", None).replace("<note>", "<note><grace/>")
    played = perform(read([HEAD + grace + note("C5", 4)]), whole(0))
    assert [key[0] for key in keys(played)] == [0, GRACE_SECONDS]
    assert played.length_seconds == pytest.approx(4 + GRACE_SECONDS)


def test_a_key_that_two_voices_strike_goes_down_once() -> None:
    score = read([HEAD + note("C4", 1) + chord("C4", 1) + note("C4", 3)])
    assert [key[0] for key in keys(perform(score, whole(score)))] == [0, 1]


def test_dynamics_become_velocities() -> None:
    score = read(
        [
            HEAD + note("C4", 2) + dynamics("p") + note("C4", 2),
            dynamics("sfz") + note("C4", 2) + dynamics("fp") + note("C4", 1) + note("C4", 1),
        ]
    )
    p = VELOCITIES["p"]
    assert perform(score, whole(score)).velocity.tolist() == [
        UNMARKED,
        p,
        p + ACCENT,
        p + ACCENT,
        p,
    ]


def test_a_hairpin_leads_to_the_mark_at_its_end() -> None:
    quarters = note("C4", 1) * 4
    score = read(
        [
            HEAD + dynamics("p") + wedge("crescendo") + quarters,
            wedge("stop") + dynamics("f") + quarters,
        ]
    )
    p, f = VELOCITIES["p"], VELOCITIES["f"]
    velocities = perform(score, whole(score)).velocity.tolist()
    assert velocities[:4] == [round(p + (f - p) * share / 4) for share in range(4)]
    assert velocities[4:] == [f] * 4


def test_a_hairpin_to_nowhere_is_one_step() -> None:
    quarters = note("C4", 1) * 4
    score = read([HEAD + dynamics("f") + wedge("diminuendo") + quarters, wedge("stop") + quarters])
    assert perform(score, whole(score)).velocity.tolist()[4:] == [VELOCITIES["f"] - STEP] * 4


def test_words_alone_make_no_sound() -> None:
    score = read([attributes() + words("dolce") + note("C4", 4)])
    assert len(perform(score, Passage.of_measures(5, 6))) == 0


def test_a_speed_in_percent_is_refused() -> None:
    with pytest.raises(ValueError, match=r"speed is 80; 0\.25 to 1\.5, not a percentage\?"):
        Manner(speed=80)


@settings(max_examples=40, deadline=None)
@given(
    pitches=st.lists(st.sampled_from(["C4", "D4", "E4"]), min_size=1, max_size=12),
    speed=st.floats(0.25, 1.5),
)
def test_no_key_is_struck_while_it_is_down(pitches: list[str], speed: float) -> None:
    score = read([HEAD + "".join(note(pitch, 1) for pitch in pitches)])
    played = perform(score, whole(score), Manner(speed=speed))
    for pitch in set(played.midi_pitch.tolist()):
        on = played.onset_seconds[played.midi_pitch == pitch]
        off = on + played.duration_seconds[played.midi_pitch == pitch]
        assert np.all(off[:-1] < on[1:])
    assert len(played) == len(pitches)
