"""Engraving: what Verovio lays out, read into drawings that can be pointed at."""

from __future__ import annotations

import threading
from itertools import pairwise
from pathlib import Path

import pytest

from core.errors import UnsupportedScoreError
from core.resources import sample_library
from core.score.engraving import Engraver, PageLayout, PrintedWords
from core.score.page_drawing import UNITS_PER_SPACE, PageDrawing
from core.score.reading import ReadScore, read_score
from tests.core.score.written_scores import attributes, chord, note, score


@pytest.fixture(scope="module")
def barcarolle() -> ReadScore:
    return read_score(sample_library() / "barcarolle.musicxml")


@pytest.fixture(scope="module")
def pages(barcarolle: ReadScore) -> list[PageDrawing]:
    engraver = Engraver()
    count = engraver.load(barcarolle.score.canonical, PageLayout())
    engraver.know(PrintedWords.of(barcarolle.score))
    return [engraver.page(number) for number in range(1, count + 1)]


def test_every_note_and_rest_is_drawn_once(barcarolle: ReadScore, pages: list[PageDrawing]) -> None:
    drawn = [e.id for page in pages for e in page.elements if e.kind in ("note", "rest")]
    score = barcarolle.score
    assert sorted(drawn) == sorted(score.notes.ids + score.rests.ids)


def test_every_direction_with_words_or_a_sign_can_be_pointed_at(
    barcarolle: ReadScore, pages: list[PageDrawing]
) -> None:
    drawn = {e.id for page in pages for e in page.elements if e.kind == "direction"}
    printed = {d.id for d in barcarolle.score.directions if d.text}
    assert printed
    assert printed <= drawn


def test_a_direction_is_drawn_in_its_own_measure(
    barcarolle: ReadScore, pages: list[PageDrawing]
) -> None:
    score = barcarolle.score
    where = {d.id: score.measures[d.measure_index].id for d in score.directions}
    for page in pages:
        for element in page.elements:
            if element.kind == "direction":
                assert element.measure_id == where[element.id]


def test_every_measure_has_one_box_and_they_follow_each_other(
    barcarolle: ReadScore, pages: list[PageDrawing]
) -> None:
    boxes = [box for page in pages for box in page.measures]
    assert [box.id for box in boxes] == [m.id for m in barcarolle.score.measures]
    for before, after in pairwise(boxes):
        if before.system == after.system and before.box[1] == after.box[1]:
            assert after.box[0] == pytest.approx(before.box[2], abs=0.1 * UNITS_PER_SPACE)


def test_a_staff_is_four_spaces_high(pages: list[PageDrawing]) -> None:
    for page in pages:
        for staff in page.staves:
            assert staff.y_bottom - staff.y_top == pytest.approx(4 * UNITS_PER_SPACE)


def test_notes_lie_inside_their_measures(pages: list[PageDrawing]) -> None:
    for page in pages:
        boxes = {box.id: box.box for box in page.measures}
        for element in page.elements:
            if element.kind == "note":
                left, _, right, _ = boxes[element.measure_id]
                assert left <= element.box[0]
                assert element.box[2] <= right


def test_the_sign_before_a_note_stands_left_of_its_head(pages: list[PageDrawing]) -> None:
    elements = {e.id: e for e in pages[0].elements}
    natural, plain = elements["m1s1n1"], elements["m1s1n0"]
    assert natural.accidental is not None
    assert natural.accidental[2] < natural.box[0]
    assert plain.accidental is None


def test_encoded_system_breaks_are_kept_where_the_line_is_full_enough(
    pages: list[PageDrawing],
) -> None:
    systems = {box.id: box.system for box in pages[0].measures}
    assert systems["M4"] == 0
    assert systems["M5"] == 1


def test_room_is_kept_at_the_head_of_every_page(pages: list[PageDrawing]) -> None:
    for page in pages:
        assert 0 < page.header_bottom < page.staves[0].y_top - 3 * UNITS_PER_SPACE


def test_laying_out_anew_changes_the_number_of_pages(barcarolle: ReadScore) -> None:
    engraver = Engraver()
    one = engraver.load(barcarolle.score.canonical, PageLayout(height=400))
    assert one == 1
    assert engraver.lay_out(PageLayout(height=60)) > one


def test_a_page_of_an_element_is_found(barcarolle: ReadScore) -> None:
    engraver = Engraver()
    count = engraver.load(barcarolle.score.canonical, PageLayout())
    assert engraver.page_of(barcarolle.score.measures[0].id) == 1
    assert engraver.page_of(barcarolle.score.measures[-1].id) == count
    assert engraver.page_of("nothing-has-this-id") == 0


def test_a_page_that_is_not_there_is_a_slip(barcarolle: ReadScore) -> None:
    engraver = Engraver()
    engraver.load(barcarolle.score.canonical, PageLayout())
    with pytest.raises(ValueError, match="pages count from 1"):
        engraver.page(0)


def test_what_the_engraver_refuses_is_said() -> None:
    with pytest.raises(UnsupportedScoreError, match="can't be engraved"):
        Engraver().load(b"<score-partwise/>", PageLayout(), name="odd.musicxml")


def test_toolkits_of_several_threads_engrave(barcarolle: ReadScore) -> None:
    counts: list[int] = []

    def engrave() -> None:
        counts.append(Engraver().load(barcarolle.score.canonical, PageLayout()))

    for _ in range(2):
        thread = threading.Thread(target=engrave)
        thread.start()
        thread.join()
    assert counts == [2, 2]


def test_an_ending_has_its_bracket_and_its_number() -> None:
    read = read_score(sample_library() / "lamplighters_round.musicxml")
    engraver = Engraver()
    engraver.load(read.score.canonical, PageLayout())
    page = engraver.page(1)
    first = next(box for box in page.measures if box.id == read.score.measures[8].id)
    left, top, _, _ = first.box
    last = next(box for box in page.measures if box.id == read.score.measures[9].id)
    over = [line for line in page.lines if line.y1 == line.y2 < top and line.x2 > last.box[0]]
    assert any(abs(line.x1 - left) < UNITS_PER_SPACE for line in over)
    numbers = [t for t in page.texts if t.y < top and "".join(r.text for r in t.runs) == "1"]
    assert any(0 < text.x - left < 2 * UNITS_PER_SPACE for text in numbers)


def test_the_wave_of_an_arpeggio_stands_upright_beside_its_chord(tmp_path: Path) -> None:
    rolled = "<notations><arpeggiate/></notations>"
    tones = note("C4", 4, rolled) + "".join(chord(p, 4, rolled) for p in ("E4", "G4", "C5"))
    path = tmp_path / "rolled.musicxml"
    path.write_bytes(score([attributes() + tones]))
    engraver = Engraver()
    engraver.load(read_score(path).score.canonical, PageLayout())
    page = engraver.page(1)
    waves = [glyph for glyph in page.glyphs if glyph.is_upright]
    heads = [element.box for element in page.elements if element.kind == "note"]
    assert len(waves) > 1
    assert len({round(glyph.x) for glyph in waves}) == 1
    assert all(glyph.x < min(box[0] for box in heads) for glyph in waves)
    reach = max(glyph.y for glyph in waves) - min(glyph.y for glyph in waves)
    assert reach > (max(box[3] for box in heads) - min(box[1] for box in heads)) / 2


def test_a_page_that_is_nearly_full_is_filled_by_its_systems(barcarolle: ReadScore) -> None:
    engraver = Engraver()

    def lowest(layout: PageLayout) -> tuple[int, float]:
        pages = engraver.load(barcarolle.score.canonical, layout)
        staves = engraver.page(1).staves
        return pages, max(staff.y_bottom for staff in staves) / UNITS_PER_SPACE

    pages, plain = lowest(PageLayout())
    filled_pages, filled = lowest(PageLayout(fills_height=True))
    assert pages == filled_pages == 2
    assert plain < filled <= PageLayout().height
    assert lowest(PageLayout()) == (pages, plain)
