"""Directions of a whole score: pieces joined, doubles told once, signs kept apart."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.directions.score_directions import DirectionMeaning, meanings_of
from core.score.reading import read_score

NOTE = (
    "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration>"
    "<voice>1</voice><type>whole</type>{}</note>"
)
ATTRIBUTES = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
    "<staves>2</staves></attributes>"
)


def words(text: str, staff: int = 1) -> str:
    return direction(f"<words>{text}</words>", staff)


def dynamics(mark: str) -> str:
    return direction(f"<dynamics><{mark}/></dynamics>")


def direction(shown: str, staff: int = 1) -> str:
    return f"<direction><direction-type>{shown}</direction-type><staff>{staff}</staff></direction>"


@pytest.fixture
def told(tmp_path: Path):
    """What the directions mean of a score with these directions, a string a measure."""

    def tell(*measures: str) -> tuple[DirectionMeaning, ...]:
        music = "".join(
            f'<measure number="{number}">{ATTRIBUTES if number == 1 else ""}{printed}'
            f"{NOTE.format('<staff>1</staff>')}</measure>"
            for number, printed in enumerate(measures, 1)
        )
        file = tmp_path / "invented.musicxml"
        file.write_text(
            '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/>'
            f'</score-part></part-list><part id="P1">{music}</part></score-partwise>',
            encoding="utf-8",
        )
        return meanings_of(read_score(file).score)

    return tell


def texts(found: tuple[DirectionMeaning, ...]) -> list[tuple[int, str]]:
    return [(one.measure_index, one.meaning.text) for one in found]


def test_syllables_over_measures_are_one_word(told) -> None:
    (one,) = told(words("smor -"), words("zan -"), words("do"))
    assert one.meaning.normal_form == "smorzando"
    assert one.meaning.translation == "dying away"
    assert (one.measure_index, one.onset) == (0, 0)
    assert one.end_onset > one.onset
    assert len(one.direction_ids) == 3


def test_words_that_wait_for_others_are_joined(told) -> None:
    found = told(words("poco"), words("a"), words("poco"), words("cresc."), dynamics("f"))
    assert texts(found) == [(0, "poco a poco cresc."), (4, "f")]
    assert found[0].meaning.translation == "little by little getting louder"


def test_a_degree_is_joined_to_its_dynamics(told) -> None:
    (one,) = told(words("più") + dynamics("f"))
    assert one.meaning.text == "più f"
    assert one.meaning.categories == ("dynamics",)


def test_what_says_enough_by_itself_is_not_joined(told) -> None:
    found = told(words("dolce"), words("cresc."), words("sempre"), "", "", words("Tempo I"))
    assert texts(found) == [(0, "dolce"), (1, "cresc."), (2, "sempre"), (5, "Tempo I")]


def test_a_new_tempo_never_completes_what_waits(told) -> None:
    assert texts(told(words("sempre"), words("Allegro"))) == [(0, "sempre"), (1, "Allegro")]


def test_the_same_in_two_staves_is_one(told) -> None:
    (one,) = told(words("rit.", 1) + words("Rit.", 2))
    assert len(one.direction_ids) == 2
    assert len(set(one.direction_ids)) == 2
    assert one.staff == 1


def test_signs_have_meanings_too(told) -> None:
    found = told(
        direction("<segno/>") + direction('<wedge type="crescendo"/>'),
        direction("<rehearsal>B</rehearsal>") + direction('<wedge type="stop"/>'),
        direction(
            "<metronome><beat-unit>quarter</beat-unit><per-minute>66</per-minute></metronome>"
        ),
    )
    said = {one.kind: (one.meaning.categories[0], one.meaning.translation) for one in found}
    assert said == {
        "segno": ("structure navigation", "the sign to which one returns"),
        "wedge": ("dynamic change", "getting louder"),
        "rehearsal": ("structure navigation", None),
        "metronome": ("tempo", "quarter = 66"),
    }
    assert all(one.meaning.is_known for one in found)


def test_the_language_of_the_score_decides(told) -> None:
    found = told(words("très doux"), words("sans presser"), words("triste"))
    assert [one.meaning.language for one in found] == ["fr", "fr", "fr"]


def test_a_score_without_directions_has_none(told) -> None:
    assert told("") == ()
