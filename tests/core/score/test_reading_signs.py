"""Repeats, endings, jumps, printed directions, titles: what stands around the notes."""

from __future__ import annotations

import pytest

from core.score.reading import read_bytes
from core.score.score import Measure, RawDirection, Score
from tests.core.score.written_scores import attributes, move, note, score, words

FULL = note(duration=4)


def read(*parts: list[str], head: str = "") -> Score:
    return read_bytes(score(*parts, head=head), name="small.musicxml").score


def measures(*contents: str) -> tuple[Measure, ...]:
    first, *others = contents
    return read([attributes() + first + FULL, *(c + FULL for c in others)]).measures


def barline(inside: str, location: str | None = "right") -> str:
    where = f' location="{location}"' if location else ""
    return f"<barline{where}>{inside}</barline>"


def direction(inside: str, extra: str = "", **given: str) -> str:
    attributes_given = "".join(f' {name}="{value}"' for name, value in given.items())
    return (
        f"<direction{attributes_given}><direction-type>{inside}</direction-type>{extra}</direction>"
    )


def sound(**given: str) -> str:
    return "<sound" + "".join(f' {name}="{value}"' for name, value in given.items()) + "/>"


def flags(made: tuple[Measure, ...], name: str) -> list[int]:
    """Indices of the measures that have the flag."""
    return [m.index for m in made if getattr(m, name)]


FORWARD, BACKWARD = '<repeat direction="forward"/>', '<repeat direction="backward"/>'


def test_repeats_with_their_times_and_barlines():
    made = measures(
        "",
        barline(FORWARD, "left"),
        barline('<bar-style>light-heavy</bar-style><repeat direction="backward" times="3"/>'),
        barline("<bar-style>light-light</bar-style>"),
    )
    assert (flags(made, "repeat_start"), flags(made, "repeat_end")) == ([1], [2])
    assert [m.repeat_times for m in made] == [2, 2, 3, 2]
    assert [m.barline for m in made] == ["regular", "regular", "light-heavy", "light-light"]


def test_a_repeat_on_the_other_side_of_the_barline_is_the_same_repeat():
    made = measures("", barline(BACKWARD, "left"), FULL + barline(FORWARD, "right"), "")
    assert (flags(made, "repeat_end"), flags(made, "repeat_start")) == ([0], [3])


def test_a_forward_repeat_without_location_stands_where_it_is_met():
    made = measures("", barline(FORWARD, None), "")
    assert flags(made, "repeat_start") == [1]


def test_a_measure_cut_by_a_repeat_sign_is_two():
    cut = score(
        [
            attributes() + note(duration=4),
            note(duration=3) + barline(BACKWARD),
            barline(FORWARD, "left") + note(),
        ]
    ).replace(b'number="3"', b'number="2" implicit="yes"')
    made = read_bytes(cut, name="x").score.measures
    assert [(m.number, m.is_implicit, m.onset, m.duration) for m in made] == [
        ("1", False, 0, 4),
        ("2", False, 4, 3),
        ("2", True, 7, 1),
    ]
    assert made[1].repeat_end
    assert made[2].repeat_start


def test_a_repeat_inside_a_measure_is_told():
    made = read([attributes() + FULL + barline(BACKWARD, "middle") + FULL])
    assert made.measures[0].repeat_end
    assert made.oddities == (
        "Measure position 1: a repeat sign inside the measure is read as at its end.",
    )


def test_signs_of_all_parts_are_laid_together():
    made = read([attributes() + FULL, FULL], [attributes() + FULL, FULL + barline(BACKWARD)])
    assert flags(made.measures, "repeat_end") == [1]


def ending(number: str, kind: str, text: str = "") -> str:
    return f'<ending number="{number}" type="{kind}">{text}</ending>'


def test_endings_cover_their_measures():
    made = measures(
        "",
        barline(ending("1, 2", "start"), "left"),
        barline(ending("1, 2", "stop") + BACKWARD),
        barline(ending("3", "start"), "left") + barline(ending("3", "discontinue")),
    )
    assert [m.endings for m in made] == [(), (1, 2), (1, 2), (3,)]
    assert flags(made, "ending_starts") == [1, 3]
    assert flags(made, "ending_stops") == [2, 3]


def test_an_ending_without_a_stop_ends_at_the_repeat_or_is_one_measure():
    made = measures(
        barline(ending("1", "start"), "left"),
        barline(BACKWARD),
        barline(ending("2", "start"), "left"),
        "",
    )
    assert [m.endings for m in made] == [(1,), (1,), (2,), ()]


@pytest.mark.parametrize(
    ("number", "text", "expected"),
    [("1", "", (1,)), ("1-3", "", (1, 2, 3)), ("", "1.–2.", (1, 2)), (" ", "", ())],
)
def test_numbers_of_endings(number, text, expected):
    made = measures(barline(ending(number, "start", text), "left"))
    assert made[0].endings == expected


# Words as common practice prints them.
@pytest.mark.parametrize(
    ("printed", "name", "value"),
    [
        ("D.C. al Fine", "jump", "dacapo"),
        ("D. C.", "jump", "dacapo"),
        ("DC", "jump", "dacapo"),
        ("Menuetto da capo", "jump", "dacapo"),
        ("Da  Capo\n al Coda", "jump", "dacapo"),
        ("D.S. al Coda", "jump", "dalsegno"),
        ("D. S. al Fine", "jump", "dalsegno"),
        ("dal segno", "jump", "dalsegno"),
        ("Dal \U0001d10b al Fine", "jump", "dalsegno"),
        ("Fine", "has_fine", True),
        ("FINE.", "has_fine", True),
        ("To Coda", "has_to_coda", True),
        ("al Coda", "has_to_coda", True),
        ("zur Coda", "has_to_coda", True),
        ("To \U0001d10c", "has_to_coda", True),
        ("Coda", "has_coda", True),
        ("\U0001d10b", "has_segno", True),
        ("Segno", "has_segno", True),
    ],
)
def test_jumps_in_words(printed, name, value):
    made = measures("", words(printed), "")
    assert [getattr(m, name) for m in made] == [
        type(value)() if isinstance(value, bool) else None,
        value,
        type(value)() if isinstance(value, bool) else None,
    ]
    others = {"jump", "has_fine", "has_coda", "has_to_coda", "has_segno"} - {name}
    assert not any(getattr(made[1], other) for other in others)


@pytest.mark.parametrize(
    "printed", ["finement", "con fine gusto", "codetta", "dolce", "al fine", "Adagio D", "segno?!x"]
)
def test_words_that_are_no_jumps(printed):
    made = measures(words(printed))[0]
    assert (made.jump, made.has_fine, made.has_coda, made.has_to_coda, made.has_segno) == (
        None,
        False,
        False,
        False,
        False,
    )


def test_jumps_in_sounds():
    made = measures(
        direction("<segno/>", sound(segno="s1")),
        sound(tocoda="c"),
        direction("<words>ende</words>", sound(fine="yes")),
        direction("<words>von vorn</words>", sound(dacapo="yes")),
        direction("<segno/>", sound(segno="s2")),
        sound(dalsegno="s2"),
        sound(coda="c"),
        sound(**{"forward-repeat": "yes", "tempo": "80"}),
    )
    assert [m.jump for m in made] == [None, None, None, "dacapo", None, "dalsegno", None, None]
    assert made[5].jump_target == "s2"
    assert flags(made, "has_segno") == [0, 4]
    assert (flags(made, "has_to_coda"), flags(made, "has_coda")) == ([1], [6])
    assert (flags(made, "has_fine"), flags(made, "repeat_start")) == ([2], [7])


def test_the_only_segno_needs_no_name():
    made = measures(direction("<segno/>", sound(segno="x")), sound(dalsegno="x"))
    assert (made[1].jump, made[1].jump_target) == ("dalsegno", "")


def test_bare_coda_signs_lead_from_the_first_to_the_last():
    sign = direction("<coda/>")
    made = measures("", sign, words("D.C. al Coda"), sign)
    assert (flags(made, "has_to_coda"), flags(made, "has_coda")) == ([1], [3])


def test_a_coda_sign_with_to_is_a_way_out_and_one_in_a_jump_says_nothing():
    to_coda = "<words>To</words></direction-type><direction-type><coda/>"
    jump = "<words>D.S. al</words></direction-type><direction-type><coda/>"
    made = measures(
        direction("<segno/>"), direction(to_coda), direction(jump), direction("<coda/>")
    )
    assert (flags(made, "has_to_coda"), flags(made, "has_coda")) == ([1], [3])
    assert [m.jump for m in made] == [None, None, "dalsegno", None]
    assert flags(made, "has_segno") == [0]


def test_signs_on_barlines():
    made = measures(barline("<segno/>", "left"), barline("<coda/>"), barline("<coda/>", "left"))
    assert flags(made, "has_segno") == [0]
    assert (flags(made, "has_to_coda"), flags(made, "has_coda")) == ([1], [2])


def test_the_key_signature_in_force():
    def key(inside: str) -> str:
        return f"<attributes><key>{inside}</key></attributes>"

    three = "<fifths>-3</fifths><mode>minor</mode>"
    made = measures(
        "", key(three), note() + key("<fifths>2</fifths>"), "", key("<key-step>C</key-step>")
    )
    assert [m.fifths for m in made] == [None, -3, -3, 2, None]


def test_the_key_of_the_first_part_that_has_one():
    key = "<key><fifths>4</fifths></key>"
    made = read([attributes() + FULL, FULL], [attributes(extra=key) + FULL, FULL])
    assert [m.fifths for m in made.measures] == [4, 4]


# -- printed directions -----------------------------------------------------------------------


def only(*contents: str) -> RawDirection:
    (found,) = read([attributes(4) + "".join(contents)]).directions
    return found


def test_where_a_direction_stands():
    found = only(
        note(duration=4)
        + direction(
            "<words>dolce</words>", "<offset>-2</offset><staff>2</staff>", placement="below"
        )
        + note(duration=4)
    )
    assert (found.onset, found.staff, found.placement) == (2, 2, "below")
    assert (found.kind, found.text, found.id) == ("words", "dolce", "d1.1")


def test_an_offset_never_leads_before_the_score():
    assert only(direction("<words>x</words>", "<offset>-3</offset>") + note()).onset == 0


def metronome(inside: str, given: str = "") -> str:
    return f"<metronome{given}>{inside}</metronome>"


@pytest.mark.parametrize(
    ("inside", "kind", "text"),
    [
        ("<words> poco \n a poco </words>", "words", "poco a poco"),
        ("<words>rit.</words><words>molto</words>", "words", "rit. molto"),
        ("<dynamics><pp/></dynamics>", "dynamics", "pp"),
        ("<dynamics><sf/><p/></dynamics>", "dynamics", "sfp"),
        ("<dynamics><other-dynamics>più f</other-dynamics></dynamics>", "dynamics", "più f"),
        ('<wedge type="crescendo"/>', "wedge", "crescendo"),
        ('<wedge type="stop"/>', "wedge", ""),
        ("<rehearsal>B</rehearsal>", "rehearsal", "B"),
        ('<pedal type="start"/>', "pedal", ""),
        ('<octave-shift type="down" size="8"/>', "octave-shift", ""),
        ("<segno/>", "segno", ""),
        (
            metronome("<beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>46</per-minute>"),
            "metronome",
            "dotted quarter = 46",
        ),
        (
            metronome(
                "<beat-unit>quarter</beat-unit><beat-unit>half</beat-unit><beat-unit-dot/>",
                ' parentheses="yes"',
            ),
            "metronome",
            "(quarter = dotted half)",
        ),
        (
            metronome(
                "<metronome-note><metronome-type>eighth</metronome-type></metronome-note>"
                "<metronome-relation>equals</metronome-relation>"
                "<metronome-note><metronome-type>eighth</metronome-type></metronome-note>"
            ),
            "metronome",
            "eighth = eighth",
        ),
        ("<words></words>", "words", ""),
    ],
)
def test_what_a_direction_shows(inside, kind, text):
    found = only(direction(inside) + note())
    assert (found.kind, found.text) == (kind, text)


def test_several_types_are_one_direction():
    mark = metronome("<beat-unit>quarter</beat-unit><per-minute>ca. 60</per-minute>")
    both = f"<words>Largo</words></direction-type><direction-type>{mark}"
    found = only(direction(both) + note())
    assert (found.kind, found.text) == ("words", "Largo quarter = ca. 60")


def test_directions_are_ordered_by_onset_part_and_staff():
    def said(text: str, staff: int) -> str:
        return direction(f"<words>{text}</words>", f"<staff>{staff}</staff>")

    upper = note() + said("c", 2) + said("b", 1) + move("backup", 1) + said("a", 1)
    made = read([attributes() + upper], [attributes() + said("z", 1) + note()])
    assert [d.text for d in made.directions] == ["a", "z", "b", "c"]
    assert [d.staff for d in made.directions] == [1, 3, 1, 2]


# -- names ------------------------------------------------------------------------------------


def work(title: str) -> str:
    return f"<work><work-title>{title}</work-title></work>"


def credit(text: str, kind: str = "", given: str = 'justify="center" font-size="22"') -> str:
    typed = f"<credit-type>{kind}</credit-type>" if kind else ""
    return f'<credit page="1">{typed}<credit-words {given}>{text}</credit-words></credit>'


@pytest.mark.parametrize(
    ("head", "title"),
    [
        (work("Evening  Piece"), "Evening Piece"),
        (work("Suite") + "<movement-title>Prelude</movement-title>", "Suite, Prelude"),
        (work("Suite") + "<movement-title>Suite: Prelude</movement-title>", "Suite: Prelude"),
        ("<movement-title>Prelude</movement-title>", "Prelude"),
        (
            credit("By Hand", "title") + credit("x", "", 'font-size="40" justify="center"'),
            "By Hand",
        ),
        (credit("Small", "", 'justify="center" font-size="12"') + credit("Large"), "Large"),
        (credit("Page 1", "page number") + credit("left", "", 'font-size="30"'), ""),
        ("", ""),
    ],
)
def test_titles(head, title):
    assert read([attributes() + FULL], head=head).title == title


@pytest.mark.parametrize(
    ("head", "composer"),
    [
        (
            '<identification><creator type="lyricist">No</creator>'
            '<creator type="composer">Ottavia Brenn</creator></identification>',
            "Ottavia Brenn",
        ),
        (credit("O. Brenn", "composer"), "O. Brenn"),
        ("", ""),
    ],
)
def test_composers(head, composer):
    assert read([attributes() + FULL], head=head).composer == composer
