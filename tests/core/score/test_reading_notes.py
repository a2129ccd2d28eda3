"""Pitch, staff, voice, ties: what is written at each note."""

from __future__ import annotations

import pytest

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.note_table import STEPS, TIE_START, TIE_STOP, UNPITCHED
from core.score.reading import read_bytes
from core.score.score import Score
from tests.core.score.written_scores import attributes, chord, move, note, rest, score, words


def read(*parts: list[str]) -> Score:
    return read_bytes(score(*parts), name="small.musicxml").score


def pitch(step: str, octave: object, alter: str = "") -> str:
    altered = f"<alter>{alter}</alter>" if alter else ""
    return (
        f"<note><pitch><step>{step}</step>{altered}<octave>{octave}</octave></pitch>"
        "<duration>1</duration></note>"
    )


# MIDI 1.0 detailed specification, table of note numbers: middle C is 60.
@pytest.mark.parametrize(
    ("written", "midi_pitch"),
    [("C4", 60), ("A4", 69), ("Bb3", 58), ("F#5", 78), ("C0", 12), ("G9", 127), ("Cb4", 59)],
)
def test_midi_pitch(written, midi_pitch):
    made = read([attributes() + note(written)]).notes
    assert made.midi_pitch.tolist() == [midi_pitch]
    assert (STEPS[made.step[0]], made.octave[0]) == (written[0], int(written[-1]))


def test_quarter_tones_keep_their_halves():
    made = read([attributes() + pitch("B", 4, "-0.5") + pitch("C", 4, "0.5")]).notes
    assert made.alter.tolist() == [-0.5, 0.5]
    assert made.midi_pitch.tolist() == [71, 61]


def test_a_transposing_part_sounds_elsewhere_than_it_is_written():
    clarinet = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    bass = (
        "<transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
        "<octave-change>-1</octave-change></transpose>"
    )
    made = read(
        [attributes(extra=clarinet) + note("D5"), "<attributes>" + bass + "</attributes>" + note()],
        [attributes() + note("C5")],
    ).notes
    assert made.midi_pitch.tolist() == [72, 72, 48]
    assert [STEPS[step] for step in made.step] == ["D", "C", "C"]


def test_a_transposition_may_hold_for_one_staff():
    second = '<staves>2</staves><transpose number="2"><chromatic>-12</chromatic></transpose>'
    measure = note("C4") + move("backup", 1) + note("C4", 1, "<staff>2</staff>")
    made = read([attributes(extra=second) + measure]).notes
    assert (made.staff.tolist(), made.midi_pitch.tolist()) == ([1, 2], [60, 48])


def test_unpitched_notes_stand_where_they_are_displayed():
    drum = (
        "<note><unpitched><display-step>E</display-step><display-octave>5</display-octave>"
        "</unpitched><duration>1</duration></note>"
    )
    made = read([attributes() + drum + "<note><unpitched/><duration>1</duration></note>"]).notes
    assert made.midi_pitch.tolist() == [UNPITCHED, UNPITCHED]
    assert [STEPS[step] for step in made.step] == ["E", "B"]
    assert made.octave.tolist() == [5, 4]


def test_pitches_beyond_midi_are_brought_in_by_octaves():
    made = read([attributes() + note("A9") + pitch("C", "-1", "-1")])
    assert made.notes.midi_pitch.tolist() == [117 + 12 - 12, 11]
    assert len(made.oddities) == 2


@pytest.mark.parametrize(
    ("bad", "message"),
    [
        (pitch("H", 4), r"The step of a pitch is 'H', not one of A to G"),
        (pitch("C", "4.5"), r"The octave of a pitch is '4\.5', not one of 0 to 9"),
        (pitch("C", 4, "sharp"), r"A pitch is altered by 'sharp', which can't be meant"),
        ("<note><pitch><step>C</step></pitch><duration>1</duration></note>", r"lacks its step or"),
    ],
)
def test_pitches_that_cannot_be_read_name_the_place(bad, message):
    with pytest.raises(UnreadableFileError, match="measure 1 of part P1, line 2: .*" + message):
        read([attributes() + bad])


def test_staves_count_through_the_whole_score():
    two = "<staves>2</staves>"
    left = note("C3", 1, "<staff>2</staff>")
    made = read([attributes(extra=two) + note() + left], [attributes() + note("G5")])
    assert [(p.staves, p.first_staff, p.name) for p in made.parts] == [
        (2, 1, "Part 1"),
        (1, 3, "Part 2"),
    ]
    assert sorted(made.notes.staff.tolist()) == [1, 2, 3]
    assert made.notes.part.tolist() == [0, 1, 0]


def test_a_voice_may_cross_to_the_other_staff():
    crossing = [note("C4", 1, f"<voice>1</voice><staff>{staff}</staff>") for staff in (1, 2, 1)]
    made = read([attributes(extra="<staves>2</staves>") + "".join(crossing)]).notes
    assert (made.staff.tolist(), made.voice) == ([1, 2, 1], ("1", "1", "1"))


def test_a_chord_note_has_staff_and_voice_of_its_chord_where_it_says_nothing():
    where = "<voice>5</voice><staff>2</staff>"
    own = chord("G4", 1, "<staff>1</staff>")
    made = read([attributes() + note("C3", 1, where) + chord("E3") + own + note("F5")]).notes
    assert made.staff.tolist() == [1, 2, 2, 1]
    assert made.voice == ("5", "5", "5", "1")


def test_staves_may_be_more_than_is_declared():
    made = read([attributes() + note("C3", 1, "<staff>2</staff>")], [attributes() + note()])
    assert [p.first_staff for p in made.parts] == [1, 3]


def test_ties_are_bits():
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    made = read([attributes() + note("C4", 1, start) + note("C4", 1, stop + start) + note()])
    assert made.notes.tie.tolist() == [TIE_START, TIE_START | TIE_STOP, 0]


def test_ties_that_are_only_printed_are_meant():
    printed = [f'<notations><tied type="{t}"/></notations>' for t in ("start", "stop")]
    made = read([attributes() + note("C4", 1, printed[0]) + note("C4", 1, printed[1])])
    assert made.notes.tie.tolist() == [TIE_START, TIE_STOP]


def test_rows_are_ordered_by_onset_grace_staff_and_pitch():
    grace = note("C6", None).replace("<pitch>", "<grace/><pitch>")
    upper = grace + note("G4", 2) + chord("E4", 2)
    measure = upper + move("backup", 2) + note("C5", 1, "<staff>2</staff>")
    made = read([attributes() + measure]).notes
    assert made.midi_pitch.tolist() == [84, 64, 67, 72]


def test_the_table_finds_a_row_by_id():
    made = read([attributes() + note() + rest() + note("D4", id="mine")]).notes
    assert made.ids == ("n1.1", "mine")
    assert made.row_of("mine") == 1
    with pytest.raises(ValueError, match=r"note_id 'n1\.2' is not in this score; a rest's id\?"):
        made.row_of("n1.2")


def test_a_note_without_pitch_or_rest_is_told():
    made = read([attributes() + note() + "<note><duration>1</duration></note>"])
    assert len(made.rests) == 1
    assert made.oddities == (
        "Measure 1, part P1: a note with neither pitch nor rest is read as a rest.",
    )


@pytest.mark.parametrize("measure", [rest(4), "", "<harmony/>"])
def test_a_score_without_notes_is_refused(measure):
    with pytest.raises(UnsupportedScoreError, match=r"small\.musicxml: There is not one note in"):
        read([attributes() + measure])


def test_music_outside_measures_is_refused():
    loose = score([note()]).replace(b'<measure number="1">', b"").replace(b"</measure>", b"")
    with pytest.raises(UnreadableFileError, match="music outside any measure"):
        read_bytes(loose, name="small.musicxml")


def test_notes_inside_other_things_are_refused():
    with pytest.raises(UnreadableFileError, match="has notes where none can stand"):
        read([attributes() + note() + f"<lyrics>{note()}</lyrics>"])


def test_measures_inside_one_another_are_refused():
    with pytest.raises(UnreadableFileError, match="has measures where none can stand"):
        read([attributes() + note() + f'<measure number="2">{words("dolce")}</measure>'])


def test_figured_bass_and_harmony_take_no_time():
    figures = "<figured-bass><figure/><duration>3</duration></figured-bass>"
    made = read([attributes() + note() + figures + "<harmony><staff>2</staff></harmony>" + note()])
    assert made.notes.onset.tolist() == [0, 1]
