"""One long line: where a score is cut, and that its chunks join as one system."""

from __future__ import annotations

from itertools import pairwise

import pytest

from core.errors import UnreadableFileError
from core.resources import sample_library
from core.score.engraving import Engraver, PageLayout, PrintedWords
from core.score.line_chunks import (
    CHUNK_LEAST,
    CHUNK_MOST,
    as_chunks,
    chunk_starts,
    crossing_costs,
)
from core.score.long_line import ChunkMeasure, LineFrame, joined, measure_chunk
from core.score.measure_numbers import lifted
from core.score.page_drawing import (
    BLEED,
    UNITS_PER_SPACE,
    Curve,
    PageDrawing,
    Staff,
    TextLine,
    TextRun,
)
from core.score.reading import read_bytes, read_score
from core.score.safe_xml import parse_xml
from core.score.score import Score
from tests.benchmarks.long_score import repeated
from tests.core.score.written_scores import attributes, note
from tests.core.score.written_scores import score as written

LINE = PageLayout(is_one_line=True)


def chunks_of(score: Score, frame: LineFrame | None = None) -> list[PageDrawing]:
    engraver = Engraver()
    count = engraver.load(score.canonical, LINE)
    engraver.know(PrintedWords.of(score))
    if frame is not None:
        engraver.spread(frame)
    return [engraver.page(number) for number in range(1, count + 1)]


@pytest.fixture(scope="module")
def score() -> Score:
    return read_bytes(repeated(4), name="long.musicxml").score


@pytest.fixture(scope="module")
def chunks(score: Score) -> list[PageDrawing]:
    return chunks_of(score)


def test_chunks_are_of_20_to_40_measures_and_hold_all(
    score: Score, chunks: list[PageDrawing]
) -> None:
    drawn = [box.id for chunk in chunks for box in chunk.measures]
    assert drawn == [measure.id for measure in score.measures]
    assert len(chunks) > 2
    assert all(CHUNK_LEAST <= len(chunk.measures) <= CHUNK_MOST for chunk in chunks[:-1])


def test_every_note_rest_and_direction_is_drawn_once(
    score: Score, chunks: list[PageDrawing]
) -> None:
    drawn = [e.id for c in chunks for e in c.elements if e.kind in ("note", "rest")]
    assert sorted(drawn) == sorted(score.notes.ids + score.rests.ids)
    printed = {direction.id for direction in score.directions if direction.text}
    assert printed <= {e.id for c in chunks for e in c.elements}


def test_staves_lie_at_one_height_in_all_chunks(chunks: list[PageDrawing]) -> None:
    lines = {(s.number, round(s.y_top, 3), round(s.y_bottom, 3)) for c in chunks for s in c.staves}
    assert len(lines) == 2
    assert len({chunk.height for chunk in chunks}) == 1


def test_each_chunk_begins_where_its_own_stretch_does_and_ends_with_it(
    chunks: list[PageDrawing],
) -> None:
    for chunk in chunks[1:]:
        assert chunk.bleed == BLEED
        assert min(staff.x1 for staff in chunk.staves) == pytest.approx(BLEED)
    for chunk in chunks:
        right = max(staff.x2 for staff in chunk.staves)
        assert right == pytest.approx(chunk.width - BLEED)


def test_what_a_system_repeats_at_its_left_edge_is_left_out(chunks: list[PageDrawing]) -> None:
    first, *others = chunks
    braces = [curve for curve in first.curves if "C" in curve.path and curve.path.count("M") == 1]
    assert any(glyph.code == "E050" and glyph.x < 7 * BLEED for glyph in first.glyphs)
    assert braces
    for chunk in others:
        left = min(e.box[0] for e in chunk.elements if e.kind == "note")
        assert not [g for g in chunk.glyphs if g.code in ("E050", "E062") and g.x < left]
        assert chunk.is_continued
    assert not first.is_continued


def test_measures_follow_each_other_without_a_gap(chunks: list[PageDrawing]) -> None:
    for chunk in chunks:
        for before, after in pairwise(chunk.measures):
            assert after.box[0] == pytest.approx(before.box[2], abs=0.1 * UNITS_PER_SPACE)


def test_a_wider_frame_moves_the_lower_staff_in_every_chunk_alike(
    score: Score, chunks: list[PageDrawing]
) -> None:
    wide = LineFrame(above=5000.0, below=4000.0, gaps=((1, 16 * UNITS_PER_SPACE),))
    moved = chunks_of(score, wide)
    tops = {round(s.y_top) for c in moved for s in c.staves if s.number == 1}
    lower = {round(s.y_top) for c in moved for s in c.staves if s.number == 2}
    assert tops == {5000}
    assert lower == {5000 + round(20 * UNITS_PER_SPACE)}
    widths = [round(chunk.width) for chunk in chunks]
    assert [round(chunk.width) for chunk in moved] == widths


def test_what_stands_on_a_staff_moves_with_it(score: Score, chunks: list[PageDrawing]) -> None:
    wide = LineFrame(gaps=((1, 16 * UNITS_PER_SPACE),))
    before, after = chunks[1], chunks_of(score, wide)[1]
    by = 8 * UNITS_PER_SPACE
    staves = [staff.number for staff in before.staves]
    for old, new in zip(before.glyphs, after.glyphs, strict=True):
        if old.staff >= 0:
            assert new.y - old.y == pytest.approx(by if staves[old.staff] == 2 else 0)
    for old, new in zip(before.lines, after.lines, strict=True):
        if old.role in ("stem", "staff"):
            assert new.y2 - new.y1 == pytest.approx(old.y2 - old.y1)
    joins = [line for line in after.lines if line.role == "barline" and line.staff < 0]
    top = min(staff.y_top for staff in after.staves)
    bottom = max(staff.y_bottom for staff in after.staves)
    assert any(abs(line.y1 - top) < 30 and abs(line.y2 - bottom) < 30 for line in joins) or any(
        abs(line.y2 - line.y1) > 15 * UNITS_PER_SPACE for line in after.lines
    )
    for box in after.measures:
        assert (box.box[1], box.box[3]) == (pytest.approx(top), pytest.approx(bottom))


def test_a_frame_grows_to_hold_the_chunk_that_needs_most() -> None:
    space = UNITS_PER_SPACE
    narrow = ChunkMeasure(width=1.0, gaps=(), above=2 * space, below=0.0)
    wide = ChunkMeasure(width=1.0, gaps=((2, 11 * space),), above=20 * space, below=0.0)
    wider = ChunkMeasure(width=1.0, gaps=((1, 9 * space), (2, 10 * space)), above=0.0, below=0.0)
    assert LineFrame().holding(narrow) == LineFrame()
    frame = LineFrame().holding(wide).holding(wider)
    assert frame.gaps == ((1, 9 * space), (2, 11 * space))
    assert frame.above == 23 * space
    assert frame.top_of(1) == frame.above
    assert frame.top_of(2) == frame.above + (4 + 9) * space
    assert frame.top_of(4) == frame.above + (4 + 9 + 4 + 11 + 4 + 8) * space


def test_the_engraver_tells_where_staves_need_more_room() -> None:
    oreby = read_score(sample_library() / "wheel_at_oreby.musicxml").score
    engraver = Engraver()
    assert engraver.load(oreby.canonical, LINE) == 1
    asked = engraver.chunk(1)
    (number, gap), *others = asked.gaps
    assert (number, others) == (1, [])
    assert gap > 8 * UNITS_PER_SPACE
    engraver.spread(LineFrame().holding(asked))
    first, second = sorted({(s.y_top, s.y_bottom) for s in engraver.page(1).staves})
    assert second[0] - first[1] == pytest.approx(gap)


def test_pages_come_back_as_they_were_before_the_line(score: Score) -> None:
    engraver = Engraver()
    engraver.load(score.canonical, PageLayout())
    before = engraver.page(1)
    engraver.load(score.canonical, LINE)
    engraver.load(score.canonical, PageLayout())
    assert engraver.page(1) == before


def test_an_empty_drawing_can_be_joined() -> None:
    empty = PageDrawing(number=2, width=10.0, height=10.0)
    assert measure_chunk(empty, is_first=False).gaps == ()
    assert joined(empty, LineFrame(), is_first=False).is_continued


# ---------------------------------------------------------------------------- where it is cut


def part(*measures: str) -> bytes:
    body = "".join(f"<measure number='{n}'>{m}</measure>" for n, m in enumerate(measures, 1))
    return f"<score-partwise><part id='P1'>{body}</part></score-partwise>".encode()


def costs_of(*measures: str) -> list[int]:
    return crossing_costs(parse_xml(part(*measures), name="part").findall("part"))


SLUR = "<note><notations><slur type='{}' number='1'/></notations></note>"
TIE = (
    "<note><pitch><step>C</step><octave>4</octave></pitch>"
    "<notations><tied type='{}'/></notations></note>"
)


def test_a_cut_through_a_slur_a_tie_or_an_ending_costs() -> None:
    assert costs_of(SLUR.format("start"), "", SLUR.format("stop"), "") == [0, 10, 10, 0]
    assert costs_of(TIE.format("start"), TIE.format("stop"), "") == [0, 10, 0]
    opened = "<barline><ending number='1' type='start'/></barline>"
    closed = "<barline><ending number='1' type='stop'/><repeat direction='backward'/></barline>"
    assert costs_of(opened, "", closed, "") == [0, 25, 25, 25]


def test_a_change_of_key_at_the_cut_costs() -> None:
    assert costs_of("", "<attributes><key><fifths>1</fifths></key></attributes>", "") == [0, 25, 0]


def test_the_cheapest_cut_in_reach_is_taken_and_the_line_is_covered() -> None:
    costs = [50] * 100
    costs[37] = costs[70] = 0
    assert chunk_starts(costs) == [0, 37, 70]
    assert chunk_starts([0] * 40) == [0]
    assert chunk_starts([]) == [0]


def test_written_breaks_give_way_to_those_of_the_chunks() -> None:
    measures = ["<print new-system='yes'/>", *[""] * 59]
    root = parse_xml(as_chunks(part(*measures), name="part"), name="part")
    breaks = [m.get("number") for m in root.iter("measure") if m.find("print") is not None]
    assert breaks == ["27"]
    assert next(root.iter("print")).get("new-page") == "yes"


def test_what_is_no_score_is_refused_by_its_name() -> None:
    with pytest.raises(UnreadableFileError, match=r"odd\.musicxml"):
        as_chunks(b"<score-partwise>", name="odd.musicxml")


# ---------------------------------------------------------------------------- measure numbers


def test_every_fifth_measure_has_its_number_clear_of_notes_and_slurs(
    chunks: list[PageDrawing],
) -> None:
    first = chunks[0]
    numbers = [text for text in first.texts if text.runs[0].text.isdecimal()]
    assert [text.runs[0].text for text in numbers] == ["5", "10", "15", "20", "25"]
    for number in numbers:
        left, right = number.x, number.x + 1.5 * UNITS_PER_SPACE
        for element in first.elements:
            is_there = element.box[0] < right and element.box[2] > left
            assert not is_there or element.box[1] >= number.y


def test_a_number_is_set_over_a_slur_that_crosses_it() -> None:
    space = UNITS_PER_SPACE
    drawing = PageDrawing(
        number=1,
        width=100 * space,
        height=50 * space,
        staves=(Staff(1, "m1", 0.0, 90 * space, 20 * space, 24 * space),),
        curves=(
            Curve(
                f"M0 {19 * space} C{20 * space} {15 * space} {40 * space} {15 * space} "
                f"{60 * space} {19 * space}",
                10.0,
                True,
            ),
        ),
        texts=(
            TextLine(30 * space, 19 * space, "start", (TextRun("10", 300.0, False, True, False),)),
            TextLine(30 * space, 19 * space, "start", (TextRun("no", 300.0, False, True, False),)),
        ),
    )
    number, words = lifted(drawing, (0,)).texts
    # At its middle a cubic curve is three quarters of the way to its controls.
    assert number.y < 16 * space
    assert words.y == 19 * space
    assert lifted(drawing, ()) == drawing


def test_a_number_is_set_over_words_and_fingerings_beside_it() -> None:
    space = UNITS_PER_SPACE
    sign = TextRun("10", 300.0, False, True, False)
    words = TextRun("come di lontano, con pedale", 300.0, False, True, False)
    fingering = TextRun("5", 200.0, False, False, False)
    drawing = PageDrawing(
        number=1,
        width=100 * space,
        height=50 * space,
        staves=(Staff(1, "m1", 0.0, 90 * space, 20 * space, 24 * space),),
        texts=(
            TextLine(30 * space, 19 * space, "start", (sign,)),
            TextLine(22 * space, 17 * space, "start", (words,)),
            TextLine(60 * space, 19 * space, "start", (sign,)),
            TextLine(61.5 * space, 18.5 * space, "middle", (fingering,)),
        ),
    )
    over_words, _, over_fingering, _ = lifted(drawing, (0, 2)).texts
    assert over_words.y < 17 * space - 0.7 * 300
    assert over_fingering.y < 18.5 * space - 0.7 * 200


def test_the_bracket_of_an_ending_is_drawn_in_every_chunk() -> None:
    ending = "<barline location='left'><ending number='1' type='start'/></barline>"
    stop = (
        "<barline location='right'><ending number='1' type='stop'/>"
        "<repeat direction='backward'/></barline>"
    )
    quarters = "".join(note("G4") for _ in range(4))
    measures = [attributes() + quarters, *[quarters] * 59]
    measures[49] = ending + quarters + stop
    ended = read_bytes(written(measures), name="ended.musicxml").score
    engraver = Engraver()
    assert engraver.load(ended.canonical, LINE) == 2
    drawn = engraver.page(2)
    assert "1" in ["".join(run.text for run in text.runs) for text in drawn.texts]
    bracket = [line for line in drawn.lines if line.role == "ending" and line.y1 == line.y2]
    box = next(box.box for box in drawn.measures if box.id == ended.measures[49].id)
    near = UNITS_PER_SPACE
    assert any(abs(line.x1 - box[0]) < near and abs(line.x2 - box[2]) < near for line in bracket)
