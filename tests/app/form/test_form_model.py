from __future__ import annotations

import gc
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from time import thread_time
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.form import lane_text, printed_tempo, remark_rows
from app.form.form_model import FormModel
from app.form.form_parts import RemarkMark, Words
from app.form.line_scale import LEFT, LineScale
from app.form.played_time import PlayedTime, Stretch
from app.score.page_marks import Certainty
from core.analysis.keys import Key
from core.notebook.values import AnchorKind
from core.score.findings import Finding
from core.score.places import Passage, Place
from core.takes.tempo import marked_qpm
from tests.app import small_scores
from tests.app.form import pieces


@pytest.fixture
def model(qtbot: QtBot) -> FormModel:
    """A piece of A, A, A' with its findings."""
    model = FormModel()
    score = pieces.repeated()
    model.set_score(score)
    model.set_analysis(as_analysis(pieces.a_b(score)))
    return model


def as_analysis(found: pieces.Found) -> Any:
    return found


def test_statements_stand_in_played_order_with_their_number_and_relation(model: FormModel) -> None:
    shown = [(b.start, b.end, b.label, b.ordinal, b.relation) for b in model.boxes]
    assert shown == [
        (0, 8, "A", "1st", ""),
        (8, 16, "A", "2nd", ""),
        (16, 24, "A'", "", "major, longer"),
    ]


def test_numbers_stand_over_boxes_and_come_again_with_a_repeat(model: FormModel) -> None:
    assert [(n.at, n.number) for n in model.numbers] == [(0, "1"), (8, "1"), (16, "3")]


def test_a_key_that_goes_on_over_a_repeat_is_one_segment(model: FormModel) -> None:
    shown = [(k.start, k.end, k.name, k.fifths, k.mode, k.certainty) for k in model.keys]
    assert shown == [
        (0, 16, "G minor", 1, "minor", Certainty.SOLID),
        (16, 24, "G major", 1, "major", Certainty.DOTTED),
    ]


def test_without_key_regions_the_global_key_holds_throughout(qtbot: QtBot) -> None:
    score, model = pieces.repeated(), FormModel()
    model.set_score(score)
    model.set_analysis(as_analysis(pieces.found(score, [pieces.section(0, 3, "A")])))
    assert [(k.start, k.end, k.name, k.certainty) for k in model.keys] == [
        (0, 24, "G minor", Certainty.DASHED)
    ]


def test_words_stand_at_their_first_sounding_without_the_metronome_mark(model: FormModel) -> None:
    assert [(w.at, w.text) for w in model.words] == [(0, "Andante"), (16, "poco a poco cresc.")]


def test_the_total_counts_measures_as_played_and_time_by_the_printed_tempo(
    model: FormModel,
) -> None:
    assert model.total == "6 measures as played, 24 s"


def test_without_a_printed_tempo_no_time_is_told(qtbot: QtBot) -> None:
    model = FormModel()
    model.set_score(pieces.score_of(small_scores.measure("1")))
    assert model.total == "1 measure as played"


def test_a_tempo_printed_later_says_nothing_of_the_beginning(qtbot: QtBot) -> None:
    model, mark = FormModel(), small_scores.words("quarter = 60")
    measures = [small_scores.measure(str(n), before=mark if n == 3 else "") for n in (1, 2, 3)]
    model.set_score(pieces.score_of(*measures))
    assert model.total == "3 measures as played"


def test_a_new_tempo_holds_from_its_measure_on() -> None:
    four_four = small_scores.signature("4", "4")
    score = pieces.score_of(
        small_scores.measure("1", before=four_four + small_scores.words("quarter = 60")),
        small_scores.measure("2", before=small_scores.words("half = 60")),
    )
    time = PlayedTime(score, [0, 1, 0])
    assert printed_tempo.duration_seconds(score.directions, time) == pytest.approx(4 + 2 + 4)


@pytest.mark.parametrize(
    ("text", "qpm"),
    [
        ("dotted quarter = 46", 69.0),
        ("(half = ca. 60)", 120.0),
        ("quarter = dotted half", None),
        ("quarter = 0", None),
        ("eighth = 99999", None),
        ("Andante", None),
    ],
)
def test_marks_are_read_and_slips_of_the_file_are_not(text: str, qpm: float | None) -> None:
    assert marked_qpm(text) == qpm


def test_the_current_passage_sounds_in_every_statement(model: FormModel) -> None:
    model.set_selection(pieces.selection(1, 1))
    assert model.here == (Stretch(4, 8), Stretch(12, 16))


def test_a_passage_that_holds_the_repeat_is_cut_where_it_jumps_back(model: FormModel) -> None:
    model.set_selection(pieces.selection(0, 2))
    assert model.here == (Stretch(0, 8), Stretch(8, 20))


def test_a_place_is_a_stretch_without_length(model: FormModel) -> None:
    place = Place(measure_index=1, offset_quarters=Fraction(3, 2))
    model.set_selection(pieces.Selection(kind=AnchorKind.PLACE, passage=Passage.at(place)))
    assert model.here == (Stretch(5.5, 5.5), Stretch(13.5, 13.5))


def test_only_the_chosen_statement_is_meant(model: FormModel) -> None:
    model.set_selection(pieces.selection(0, 0))
    assert [is_meant for _, is_meant in model.here_shown()] == [True, True]
    model.set_statement(model.statements[1])
    assert model.here_shown() == ((Stretch(0, 4), False), (Stretch(8, 12), True))


def test_the_current_statement_is_said_in_words(model: FormModel) -> None:
    model.set_selection(pieces.selection(0, 0))
    model.set_statement(model.statements[1])
    assert model.spoken() == "A, 2nd statement, measures 1 to 2, G minor"
    model.set_selection(pieces.selection(3, 3))
    model.set_statement(None)
    assert model.spoken() == "A prime, measures 3 to 4, major, longer, G major"


def test_a_statement_of_another_analysis_is_not_taken(model: FormModel, qtbot: QtBot) -> None:
    foreign = model.statements[2]
    score = pieces.repeated()
    model.set_analysis(as_analysis(pieces.found(score, [pieces.section(0, 3, "A")])))
    model.set_statement(foreign)
    assert model.statement is None


def test_an_analysis_of_another_score_is_not_taken(model: FormModel) -> None:
    boxes, other = model.boxes, pieces.score_of(small_scores.measure("1"))
    model.set_analysis(as_analysis(pieces.found(other, [pieces.section(0, 0, "Z")])))
    assert model.boxes == boxes


def test_before_the_analysis_one_unnamed_box_lies_over_all(qtbot: QtBot) -> None:
    model = FormModel()
    model.set_score(pieces.repeated())
    assert [(b.start, b.end, b.label, b.statement) for b in model.boxes] == [(0, 24, "", None)]
    assert model.keys == ()
    assert model.spoken() == "6 measures as played, 24 s"


def test_remarks_stand_in_every_statement_with_their_number(model: FormModel) -> None:
    numbered = [(1, pieces.remark(7, Passage.of_measures(0, 0))), (2, pieces.remark(8, None))]
    model.set_remarks(numbered)
    assert [(m.start, m.end, m.number, m.remark_id) for m in model.remarks] == [
        (0, 4, 1, 7),
        (8, 12, 1, 7),
    ]


def test_remarks_that_came_before_the_score_are_shown_with_it(qtbot: QtBot) -> None:
    model = FormModel()
    model.set_remarks([(1, pieces.remark(7, Passage.of_measures(3, 3)))])
    model.set_score(pieces.repeated())
    assert [(m.start, m.end) for m in model.remarks] == [(20, 24)]


def test_sections_inside_one_unbarred_measure_share_it(qtbot: QtBot) -> None:
    score, model = pieces.score_of(small_scores.measure("1", 12)), FormModel()
    sections = [
        pieces.Section(passage=pieces.within(0, 0, 5), label="A"),
        pieces.Section(passage=pieces.within(0, 5, 12), label="B"),
    ]
    model.set_score(score)
    model.set_analysis(as_analysis(pieces.found(score, sections)))
    assert [(b.start, b.end) for b in model.boxes] == [(0, 5), (5, 12)]
    # A click there means the section: the measure is the whole piece.
    assert model.passage_at(6) == sections[1].passage


def test_phrases_inside_sections_have_no_boxes(qtbot: QtBot) -> None:
    score, model = pieces.repeated(), FormModel()
    sections = [pieces.section(0, 3, "A"), pieces.section(0, 1, "a", parent=0)]
    model.set_score(score)
    model.set_analysis(as_analysis(pieces.found(score, sections)))
    assert {box.label for box in model.boxes} == {"A"}


def test_each_thing_that_changes_has_one_signal(model: FormModel, qtbot: QtBot) -> None:
    told: list[str] = []
    for name in ("boxes", "keys", "words", "remarks", "here", "statement", "time"):
        getattr(model, f"{name}_changed").connect(lambda name=name: told.append(name))
    model.set_selection(pieces.selection(1, 1))
    model.set_selection(pieces.selection(1, 1))
    model.set_statement(model.statements[0])
    model.set_remarks([(1, pieces.remark(7, Passage.of_measures(0, 0)))])
    assert told == ["here", "statement", "remarks"]


def test_ten_thousand_measures_are_laid_out_a_little_in_each_turn(qtbot: QtBot) -> None:
    measures = [
        small_scores.measure(str(n), 1, before=small_scores.words("dolce"))
        for n in range(1, 10_001)
    ]
    score, model = pieces.score_of(*measures), FormModel()
    sections = [pieces.section(at, at + 3, "A") for at in range(0, 10_000, 4)]
    keys = [pieces.key(at, at + 3, at % 5, "minor", 0.7) for at in range(0, 10_000, 4)]
    found = pieces.found(score, sections, keys)
    turns = turns_of(lambda: model.set_score(score), model)
    model.set_selection(pieces.selection(0, 3))
    turns += turns_of(lambda: model.set_analysis(as_analysis(found)), model)
    # A few milliseconds each; all at once would be a hundred, a quadratic walk minutes.
    assert max(turns) < 0.05
    assert len(turns) > 4
    assert len(model.boxes) == len(model.keys) == 2500
    assert model.here == (Stretch(0.0, 8.0),)


def test_a_long_piece_shows_nothing_of_the_one_before_while_it_is_laid_out(qtbot: QtBot) -> None:
    model, before = FormModel(), pieces.repeated()
    model.set_score(before)
    model.set_analysis(as_analysis(pieces.a_b(before)))
    score = pieces.score_of(*(small_scores.measure(str(n)) for n in range(1, 1001)))
    found = pieces.found(score, [pieces.section(at, at + 3, "B") for at in range(0, 1000, 4)])
    model.set_score(score)
    assert not model.is_laid_out
    assert model.is_empty
    assert (model.boxes, model.keys, model.words, model.total) == ((), (), (), "")
    # It may come before the score is laid out, and so may the choice of a statement.
    model.set_analysis(as_analysis(found))
    model.set_statement(found.statements[7])
    qtbot.waitUntil(lambda: model.is_laid_out)
    assert len(model.boxes) == 250
    assert model.statement == found.statements[7]
    assert model.current_box() == 7


def test_another_score_takes_the_place_of_a_long_one_on_its_way(qtbot: QtBot) -> None:
    model, told = FormModel(), []
    model.set_score(pieces.score_of(*(small_scores.measure(str(n)) for n in range(1, 1001))))
    model.set_score(pieces.repeated())
    model.time_changed.connect(lambda: told.append(model.total))
    assert model.total == "6 measures as played, 24 s"
    qtbot.wait(30)
    assert told == []
    assert model.total == "6 measures as played, 24 s"


def turns_of(act: Callable[[], None], model: FormModel) -> list[float]:
    """How long the window's thread was kept by an act and each turn after it, in its own time.

    Without what the collector of garbage takes for a score of that size, whenever it comes.
    """
    gc.collect()
    gc.disable()
    turns = []
    begun = thread_time()
    act()
    turns.append(thread_time() - begun)
    while not model.is_laid_out:
        begun = thread_time()
        QApplication.processEvents()
        turns.append(thread_time() - begun)
    gc.enable()
    return turns


# Scale


def test_zooming_keeps_what_is_under_the_pointer() -> None:
    scale = LineScale(total_quarters=100, width=1000)
    held = scale.quarters(LEFT + 700)
    assert scale.zoomed(3, LEFT + 700).quarters(LEFT + 700) == pytest.approx(held)


def test_zoom_and_scroll_stay_inside_of_the_piece() -> None:
    scale = LineScale(total_quarters=100, width=1000)
    assert scale.zoomed(0.1, LEFT).zoom == 1
    assert scale.zoomed(1e9, LEFT).pixels_a_quarter == pytest.approx(96)
    assert scale.zoomed(2, LEFT).scrolled(1e9).last_quarters == pytest.approx(100)
    assert scale.scrolled(500).first_quarters == 0


# Texts in lanes


def laid(ats: list[float], texts: list[str], **more: float) -> list[tuple[float, str]]:
    words = [Words(at=at, text=text, measure_index=0) for at, text in zip(ats, texts, strict=True)]
    scale = LineScale(total_quarters=100, width=400, **more)
    placed = lane_text.fitted(
        words,
        scale,
        width=lambda text: 10.0 * len(text),
        cut=lambda text, room: text[: int(room / 10) - 1] + "…",
    )
    for left, right in pairwise(placed):
        assert left.x + left.width <= right.x
    return [(entry.x - LEFT, entry.text) for entry in placed]


def test_words_are_whole_or_cut_or_a_dot() -> None:
    assert laid([0, 20, 26], ["dolce", "crescendo", "rit."]) == [
        (0, "dolce"),
        (80, ""),
        (104, "rit."),
    ]
    assert laid([0, 15], ["crescendo", "p"]) == [(0, "cres…"), (60, "p")]


def test_a_crowd_of_words_becomes_dots_that_do_not_touch() -> None:
    shown = laid([index / 10 for index in range(1000)], ["dolce"] * 1000)
    assert 20 < len(shown) <= 50


def test_words_at_one_place_do_not_lie_over_one_another() -> None:
    assert len(laid([10, 10, 10], ["dolce"] * 3)) >= 1


def marks(*spans: tuple[float, float]) -> list[RemarkMark]:
    return [
        RemarkMark(start=start, end=end, number=at, remark_id=at, body="")
        for at, (start, end) in enumerate(spans, start=1)
    ]


def test_numbers_of_remarks_are_never_covered() -> None:
    scale = LineScale(total_quarters=100, width=1000)
    crowd = marks(*((at / 2, at / 2 + 30) for at in range(60)))
    placed = remark_rows.placed_remarks(crowd, scale, lambda text: 8.0 * len(text))
    for row in range(remark_rows.ROWS):
        entries = sorted((e for e in placed if e.row == row), key=lambda e: e.x)
        for left, right in pairwise(entries):
            assert left.right <= right.x
    assert sum(not entry.is_dot for entry in placed) >= 10


def test_key_of_a_finding_without_a_passage_is_left_out(qtbot: QtBot) -> None:
    score, model = pieces.repeated(), FormModel()
    found = pieces.found(score, [pieces.section(0, 3, "A")])
    found.key_regions = (
        Finding(kind="key region", value=Key(tonic=0, mode="major"), confidence=0.9),
    )
    model.set_score(score)
    model.set_analysis(as_analysis(found))
    assert model.keys == ()
