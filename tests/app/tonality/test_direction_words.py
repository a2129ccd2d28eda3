"""Printed words in the margin: what they mean, or that they have no standard meaning."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from app.desk.desk_model import DeskModel
from app.desk.selection import Selection
from app.tonality.direction_words import directions_found, meaning_why
from app.tonality.findings_model import FindingsModel
from core.directions.meaning import Meaning
from core.notebook.values import AnchorKind
from core.score.places import Passage
from tests.app import barcarolle


@pytest.fixture
def model(qtbot: QtBot, desk: DeskModel) -> FindingsModel:
    found = FindingsModel(barcarolle.on(qtbot, desk))
    found.show_analysis(barcarolle.analysis(), ())
    return found


def titles(model: FindingsModel) -> list[str]:
    return [shown.title for shown in model.here if shown.kind == "direction"]


def test_the_words_of_a_passage_are_told_with_their_meanings(
    desk: DeskModel, model: FindingsModel
) -> None:
    desk.select_measures(4, 7)
    assert titles(model) == [
        "un poco più mosso: a little faster",
        "léger, sans presser: light, without hurrying",
        "cédez: slow down",
    ]
    shown = next(each for each in model.here if each.title.startswith("cédez"))
    assert (shown.why, shown.runner_up) == (
        "French, about changing tempo.",
        "Also: yield, give way.",
    )


def test_what_has_no_standard_meaning_is_said_to_have_none(
    desk: DeskModel, model: FindingsModel
) -> None:
    desk.select_measures(0, 0)
    # Neither the metronome mark nor the letters of dynamics are words.
    assert titles(model) == [
        "Andantino: moderately slow",
        "come un’onda lenta: no standard meaning; literally “like a slow wave”",
    ]


def test_the_words_that_are_pointed_at_come_first_and_light_up(
    desk: DeskModel, model: FindingsModel
) -> None:
    found = directions_found(barcarolle.analysis())[1]
    assert found.passage is not None
    desk.select(
        Selection(kind=AnchorKind.DIRECTION, passage=found.passage, element_id=found.evidence[0])
    )
    assert model.here[0].title.startswith("come un’onda lenta")
    assert model.here[0].is_leading
    model.toggle_why(0)
    assert model.evidence == found.evidence


def test_every_told_direction_stands_where_it_is_printed() -> None:
    score = barcarolle.score()
    printed = {direction.id: direction for direction in score.directions}
    found = directions_found(barcarolle.analysis())
    assert len(found) == 16
    for each in found:
        assert each.passage is not None
        direction = printed[each.evidence[0]]
        assert each.passage.start.measure_index == direction.measure_index
        assert score.onset_of(each.passage.start) == direction.onset
        assert each.passage == Passage.at(each.passage.start)


def test_abbreviations_are_written_out() -> None:
    meaning = Meaning(
        text="dim. e rit.",
        language="it",
        categories=("dynamic change", "tempo change"),
        normal_form="diminuendo e ritardando",
        is_known=True,
    )
    assert meaning_why(meaning) == (
        "Italian, about changing dynamics and changing tempo. Written out: diminuendo e ritardando."
    )
