"""Time: every onset and duration worked out by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.reading import read_bytes
from core.score.score import Score
from tests.core.score.written_scores import attributes, chord, move, note, rest, score

F = Fraction


def read(*parts: list[str]) -> Score:
    return read_bytes(score(*parts), name="small.musicxml").score


def times(made: Score) -> list[tuple[Fraction, Fraction]]:
    """Onset and duration of all notes, in quarters."""
    notes = made.notes
    pairs = zip(notes.onset, notes.duration, strict=True)
    return [(made.quarters(onset), made.quarters(duration)) for onset, duration in pairs]


def test_notes_follow_one_another():
    made = read([attributes(2) + note(duration=3) + note(duration=1) + note(duration=4)])
    assert times(made) == [(F(0), F(3, 2)), (F(3, 2), F(1, 2)), (F(2), F(2))]
    assert made.duration == made.measures[0].duration == 8


def test_a_chord_shares_one_onset():
    made = read([attributes() + note("C4") + chord("E4") + chord("G4", 2) + note("D4")])
    assert times(made) == [(F(0), F(1)), (F(0), F(1)), (F(0), F(2)), (F(1), F(1))]


def test_backup_and_forward_move_the_cursor():
    measure = attributes() + note("C5", 4) + move("backup", 4) + move("forward", 1)
    made = read([measure + note("E3", 3, "<voice>5</voice>")])
    assert times(made) == [(F(0), F(4)), (F(1), F(3))]
    assert made.notes.voice == ("1", "5")


def test_grace_notes_take_no_time_and_come_first():
    grace = note("B4", None).replace("<pitch>", '<grace slash="yes"/><pitch>')
    made = read([attributes() + note("C4", 2) + grace + note("A3", 2)])
    assert times(made) == [(F(0), F(2)), (F(2), F(0)), (F(2), F(2))]
    assert made.notes.is_grace.tolist() == [False, True, False]
    assert made.notes.midi_pitch.tolist() == [60, 71, 57]


def test_a_cue_note_is_marked_and_lasts():
    cue = note("B4", 1).replace("<pitch>", "<cue/><pitch>")
    made = read([attributes() + cue + note("A3", 3)])
    assert made.notes.is_cue.tolist() == [True, False]
    assert times(made)[1] == (F(1), F(3))


def test_tuplets_are_exact_whatever_the_divisions_of_other_parts():
    triplet = attributes(3) + note(duration=1) * 3 + note(duration=9)
    quintuplet = attributes(5) + note(duration=1) * 5 + note(duration=15)
    made = read([triplet], [quintuplet])
    assert made.ticks_per_quarter == 15
    onsets = {onset for onset, _ in times(made)}
    assert onsets == {F(k, 3) for k in range(4)} | {F(k, 5) for k in range(6)}


def test_divisions_may_change_on_the_way():
    second = "<attributes><divisions>6</divisions></attributes>" + note(duration=6) * 4
    made = read([attributes(4) + note(duration=4) * 4, second])
    assert made.ticks_per_quarter == 12
    assert [onset for onset, _ in times(made)] == [F(k) for k in range(8)]


@pytest.mark.parametrize(
    ("divisions", "durations", "expected"),
    [
        ("1", ["0.5", "0.25", "3.25"], [F(1, 2), F(1, 4), F(13, 4)]),
        ("2.5", ["2.5", "5", "2.5"], [F(1), F(2), F(1)]),
        ("1", ["0.333", "1", "2"], [F(333, 1000), F(1), F(2)]),
    ],
)
def test_decimals_are_taken_as_they_are(divisions, durations, expected):
    made = read([attributes(divisions) + "".join(note(duration=d) for d in durations)])
    assert [duration for _, duration in times(made)] == expected


def test_divisions_without_a_common_one_are_refused():
    parts = [[attributes(d) + note(duration=d)] for d in (99991, 99989, 7919)]
    with pytest.raises(UnsupportedScoreError, match=r"small\.musicxml: Its parts divide .* 2\^31"):
        read(*parts)


def test_a_measure_lasts_as_long_as_its_longest_part():
    made = read([attributes() + note(duration=2), note()], [attributes() + note(duration=7)])
    assert [m.duration for m in made.measures] == [7, 1]
    assert made.measures[0].nominal_duration == 4
    assert made.oddities == ("Part P2 has 1 measures, where the longest has 2.",)


def test_measures_start_together_in_all_parts():
    short = [attributes() + note("C5", 3), note("D5", 4)]
    made = read(short, [attributes() + note("C3", 4), note("D3", 4)])
    assert [onset for onset, _ in times(made)] == [0, 0, 4, 4]


def test_a_chord_note_that_outlasts_its_chord_lengthens_the_measure():
    made = read([attributes(1, "2/4") + note(duration=2) + chord("E4", 3), note()])
    assert [m.onset for m in made.measures] == [0, 3]


def test_an_empty_measure_lasts_what_its_signature_says():
    made = read([attributes(1, "3/8") + note(duration="1"), "", note()])
    assert made.ticks_per_quarter == 2
    assert [made.quarters(m.duration) for m in made.measures] == [1, F(3, 2), 1]


def test_without_a_signature_an_empty_measure_lasts_nothing():
    made = read([attributes(1, "") + note(), "", note()])
    assert [(m.signature, m.nominal_duration, m.duration) for m in made.measures] == [
        (None, None, 1),
        (None, None, 0),
        (None, None, 1),
    ]


def test_senza_misura_ends_the_signature():
    free = "<attributes><time><senza-misura/></time></attributes>" + note(duration=31)
    made = read([attributes() + note(duration=4), free])
    assert [m.signature for m in made.measures] == ["4/4", None]
    assert made.measures[1].duration == 31


def test_a_hidden_signature_counts_and_a_long_measure_stays_long():
    hidden = attributes(1, "4/4").replace("<time>", '<time print-object="no">')
    made = read([hidden + note(duration=57), ""])
    assert made.measures[0].signature == "4/4"
    assert [m.duration for m in made.measures] == [57, 4]


@pytest.mark.parametrize(
    ("time", "printed", "quarters"),
    [
        ("<beats>3+2</beats><beat-type>8</beat-type>", "3+2/8", F(5, 2)),
        (
            "<beats>3</beats><beat-type>4</beat-type><beats>3</beats><beat-type>8</beat-type>",
            "3/4+3/8",
            F(9, 2),
        ),
        ("<beats>6</beats><beat-type>16</beat-type>", "6/16", F(3, 2)),
    ],
)
def test_signatures_of_several_numbers(time, printed, quarters):
    signed = f"<attributes><divisions>1</divisions><time>{time}</time></attributes>"
    made = read([signed + note()])
    first = made.measures[0]
    assert (first.signature, made.quarters(first.nominal_duration)) == (printed, quarters)


def test_a_signature_inside_a_measure_holds_from_the_next_one():
    change = "<attributes><time><beats>2</beats><beat-type>4</beat-type></time></attributes>"
    made = read([attributes() + note(duration=4) + change, "", note()])
    assert [m.signature for m in made.measures] == ["4/4", "2/4", "2/4"]
    assert made.measures[1].duration == 2


def test_a_whole_measure_rest_without_duration_fills_its_measure():
    made = read([attributes(1, "3/4") + rest(None, whole=True), note()])
    assert (made.rests.duration.tolist(), made.rests.is_whole_measure.tolist()) == ([3], [True])
    assert made.measures[1].onset == 3


def test_a_backup_before_the_measure_stops_at_its_start():
    made = read([attributes() + note("C4") + move("backup", 9) + note("E4") + note("F4")])
    assert [onset for onset, _ in times(made)] == [0, 0, 1]
    assert made.oddities == (
        "Measure 1, part P1: a backup reaches before the measure; it is read as to its start.",
    )


def test_a_chord_note_after_a_jump_joins_the_note_before():
    made = read([attributes() + note("C4") + move("forward", 2) + chord("E4") + note("F4")])
    assert [onset for onset, _ in times(made)] == [0, 0, 3]
    assert "Measure 1, part P1: a chord note follows a jump in time" in made.oddities[0]


def test_a_chord_without_a_first_note_begins_at_the_cursor():
    made = read([attributes() + note(), chord("E4") + chord("G4") + note("F4")])
    assert [onset for onset, _ in times(made)] == [0, 1, 1, 2]


def test_negative_and_missing_durations_are_told():
    made = read([attributes() + note(duration=-2) + note(duration=None) + note("D4")])
    assert times(made) == [(F(0), F(0)), (F(0), F(0)), (F(0), F(1))]
    assert [o.split(": ")[1] for o in made.oddities] == [
        "a negative duration is read as none.",
        "what has no duration is read as lasting no time.",
    ]


@pytest.mark.parametrize(
    ("measure", "message"),
    [
        (note(duration="long"), r"measure 1 of part P1, line 2: A duration is 'long', not a"),
        (note(duration="1e9"), r"A duration is '1e9', not a number"),
        (note(duration=20000), r"A duration longer than any piece can't be meant"),
        (note(duration=10**17), r"A duration of 100000000000000000 can't be meant"),
        (move("backup", ""), r"A duration is '', not a number"),
    ],
)
def test_durations_that_cannot_be_read_name_the_place(measure, message):
    with pytest.raises(UnreadableFileError, match=message):
        read([attributes() + note() + measure])


@pytest.mark.parametrize("divisions", ["0", "-4", "many", ""])
def test_divisions_that_are_no_positive_number_are_refused(divisions):
    with pytest.raises(UnreadableFileError, match=r"measure 1 of part P1.*has '?.*divisions"):
        read([attributes(divisions) + note()])


def test_more_staves_than_can_be_meant_are_refused():
    extra = "<staves>1000000</staves>"
    with pytest.raises(UnreadableFileError, match=r"measure 1 .*A part of 1000000 staves can't be"):
        read([attributes(1, "4/4", extra) + note("C4", 4)])


def test_a_signature_of_numbers_that_cannot_be_meant_is_none():
    measures = read([attributes(1, "99999999999999999999/4") + note("C4", 4), ""]).measures
    assert [measure.signature for measure in measures] == [None, None]


def test_rests_have_a_table_of_their_own():
    made = read([attributes() + rest(1) + note() + rest(2, "<voice>2</voice>")])
    rests = made.rests
    assert (rests.onset.tolist(), rests.duration.tolist()) == ([0, 2], [1, 2])
    assert rests.voice == ("1", "2")
    assert len(made.notes) == 1


def test_a_pickup_is_as_long_as_what_is_played_in_it():
    pickup = score(
        [attributes() + note("D5", 2), note("G5", 4)], [attributes() + rest(4), note("G3", 4)]
    ).replace(b'number="1"', b'number="0" implicit="yes"')
    made = read_bytes(pickup, name="small.musicxml").score
    assert [(m.number, m.is_implicit, m.duration) for m in made.measures] == [
        ("0", True, 2),
        ("2", False, 4),
    ]


def test_a_full_rest_counts_where_nothing_is_played_or_the_measure_is_a_whole_one():
    parts = [attributes() + note("D5", 2), rest(4)], [attributes() + rest(4), rest(4)]
    assert [m.duration for m in read(*parts).measures] == [4, 4]
    pickup = score(*parts).replace(b'number="2"', b'number="2" implicit="yes"')
    assert read_bytes(pickup, name="x").score.measures[1].duration == 4
