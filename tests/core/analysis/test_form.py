"""Returns, sections and letters on small pieces made for the purpose."""

from __future__ import annotations

import time

import numpy as np
import pytest

from core.analysis.chains import chains_of
from core.analysis.form import Form, form_of
from core.analysis.form_reasons import SectionFacts, reason_for_section
from core.analysis.letters import base_letters, letter
from core.analysis.likeness import inner_products, likeness, unit_texture
from core.analysis.recurrences import Return, find_returns
from core.analysis.units import written_units
from core.score.score import Score
from tests.core.analysis.made_scores import score_of

TUNE = (
    "G4 A4 B4 D5 / G2 D3 B3 D3",
    "C5 B4 A4 E5 / A2 E3 C4 E3",
    "F#5 D5 A4 C5 / D3 F#3 A3 F#3",
    "B4 A4 G4 - / G2 D3 G3 -",
)
OTHER = (
    "E5 - E5 F5 / C3+E3 - - C3+F3",
    "D5 - D5 E5 / B2+D3 - - B2+E3",
    "C5 C5 - C5 / A2+C3 A2+C3 - A2+C3",
    "G5 F5 E5 D5 / G2+B2 - - -",
)
VARIED = (
    "G4 A4 B4 D5 / G2+D3 - G2+D3 -",
    "C5 B4 A4 E5 / A2+E3 - A2+E3 -",
    "F#5 D5 A4 C5 / D3+A3 - D3+A3 -",
    "B4 A4 G4 - / G2+G3 - - -",
)
A_FOURTH_UP = (
    "C5 D5 E5 G5 / C3 G3 E4 G3",
    "F5 E5 D5 A5 / D3 A3 F4 A3",
    "B5 G5 D5 F5 / G3 B3 D4 B3",
    "E5 D5 C5 - / C3 G3 C4 -",
)


def labels(form: Form) -> list[str]:
    return [found.value.label for found in form.sections if found.value.parent is None]


def starts(form: Form) -> list[int]:
    tops = [found.value for found in form.sections if found.value.parent is None]
    return [section.passage.start.measure_index for section in tops]


def test_a_piece_in_three_parts() -> None:
    form = form_of(score_of(*TUNE, *OTHER, *TUNE))
    assert (starts(form), labels(form)) == ([0, 4, 8], ["A", "B", "A"])
    assert form.sections[2].value.relation == "exact"


def test_a_varied_return_has_a_prime() -> None:
    form = form_of(score_of(*TUNE, *OTHER, *VARIED))
    assert labels(form) == ["A", "B", "A'"]
    assert form.sections[2].value.relation == "varied"
    assert form.sections[2].value.of == 0


def test_a_transposed_return_names_its_interval() -> None:
    form = form_of(score_of(*TUNE, *OTHER, *A_FOURTH_UP))
    section = form.sections[2].value
    assert (section.relation, section.interval) == ("transposed", 5)
    (found,) = [f.value for f in form.recurrences if f.value.first.start.measure_index == 0]
    assert (found.relation, found.interval) == ("transposed", 5)


def test_a_shortened_return() -> None:
    form = form_of(score_of(*TUNE[:3], TUNE[3] + "||", *OTHER[:3], OTHER[3] + "||", *TUNE[:3]))
    assert labels(form) == ["A", "B", "A'"]
    assert form.sections[2].value.relation == "shortened"


def test_repeat_signs_part_sections_that_nothing_else_parts() -> None:
    form = form_of(score_of("|:" + TUNE[0], *TUNE[1:3], TUNE[3] + ":|", *TUNE))
    assert starts(form) == [0, 4]


@pytest.mark.parametrize("length", [1, 2, 3, 12])
def test_sections_of_the_top_level_cover_the_score(length: int) -> None:
    score = score_of(*(TUNE * 3)[:length])
    tops = [f.value.passage for f in form_of(score).sections if f.value.parent is None]
    edges = [0, *(passage.end.measure_index for passage in tops)]
    assert [passage.start.measure_index for passage in tops] == edges[:-1]
    assert edges[-1] == length


def test_equal_measures_are_one_thing_and_take_bounded_time() -> None:
    score = score_of(*[TUNE[0]] * 3000)
    began = time.process_time()
    form = form_of(score)
    assert time.process_time() - began < 20
    assert len(set(labels(form))) <= 2


def test_silence_around_one_note_is_one_section() -> None:
    form = form_of(score_of("- / -", "G4 / -", "- / -", "- / -"))
    assert labels(form) == ["A"]
    assert form.recurrences == ()


def texture_of(score: Score) -> np.ndarray:
    return likeness(unit_texture(score.notes, written_units(score)))


def test_a_unit_is_like_itself_and_like_its_transposition() -> None:
    like = texture_of(score_of(*TUNE, *A_FOURTH_UP))
    assert np.diagonal(like[0]) == pytest.approx(1.0, abs=1e-5)
    assert [like[5, k, k + 4] for k in range(4)] == pytest.approx([0.96] * 4, abs=1e-5)


def test_likeness_does_not_change_when_all_is_transposed() -> None:
    here, there = texture_of(score_of(*TUNE)), texture_of(score_of(*A_FOURTH_UP))
    assert here == pytest.approx(there, abs=1e-5)


def test_products_in_tiles_are_the_products() -> None:
    rng = np.random.default_rng(3)
    rows = rng.normal(size=(37, 144)).astype(np.float32)
    columns = rng.normal(size=(301, 144)).astype(np.float32)
    assert inner_products(rows, columns) == pytest.approx(rows @ columns.T, abs=1e-3)


def test_the_return_of_a_tune_is_found_whole() -> None:
    found = find_returns(texture_of(score_of(*TUNE, *OTHER, *TUNE)))
    assert (found[0].first, found[0].second, found[0].length, found[0].shift) == (0, 8, 4, 0)


def a_return(first: int, second: int, length: int) -> Return:
    return Return(
        first=first, second=second, length=length, shift=0, score=float(length), similarity=1.0
    )


def test_returns_in_the_same_order_are_one_chain() -> None:
    links = (a_return(0, 40, 8), a_return(10, 51, 12))
    chain, alone = chains_of((*links, a_return(30, 34, 4)), 80)
    assert chain.links == links
    assert chain.edges == (0, 22, 40, 63)
    assert alone.links == (a_return(30, 34, 4),)


def test_letters() -> None:
    assert [letter(n) for n in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]
    assert base_letters([None, None, 0, None, 2]) == ["A", "B", "A", "C", "A"]


def test_a_reason_names_causes_and_returns() -> None:
    facts = SectionFacts(
        causes=("double bar", "tempo", "texture"),
        returns=(("9", ("varied", "shortened"), -1), ("20", ("exact",), 0)),
    )
    assert reason_for_section(facts) == (
        "Returns at m. 9, varied, one measure shorter; at m. 20, exactly. "
        "Begins after a double bar with a new tempo word."
    )
    assert reason_for_section(SectionFacts()) == ""
