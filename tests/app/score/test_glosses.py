"""The brackets of remarks on a page."""

from __future__ import annotations

from datetime import UTC, datetime

from app.score.glosses import glosses_on
from app.score.page_marks import (
    BRACKET_BELOW,
    BRACKET_STEP,
    BRACKET_STEP_LEAST,
    Gloss,
    gloss_below,
    rule_above,
)
from app.score.score_geometry import PageGeometry, ScoreIndex
from core.notebook.values import Anchor, AnchorKind, Remark, RemarkKind
from core.resources import sample_library
from core.score.engraving import Engraver, PageLayout, PrintedWords
from core.score.page_drawing import UNITS_PER_SPACE
from core.score.places import Passage
from core.score.reading import read_score

SHA256 = "5c" * 32


def remark(first: int, last: int) -> Remark:
    now = datetime(2025, 3, 1, tzinfo=UTC)
    passage = Passage.of_measures(first, last)
    anchor = Anchor(kind=AnchorKind.PASSAGE, score_sha256=SHA256, passage=passage)
    return Remark(
        id=1,
        piece_id=1,
        kind=RemarkKind.OBSERVATION,
        body="louder",
        anchor=anchor,
        created_at=now,
        edited_at=now,
        zone="UTC",
    )


def hung(geometry: PageGeometry, *measures: tuple[int, int]) -> list[Gloss]:
    numbered = [(number, remark(*span)) for number, span in enumerate(measures, start=1)]
    return glosses_on(geometry, numbered, SHA256)


def test_brackets_that_meet_lie_in_rows(first_page: PageGeometry) -> None:
    glosses = hung(first_page, (0, 1), (3, 3), (0, 3))
    assert [gloss.row for gloss in glosses] == [0, 0, 1]


def test_of_another_edition_nothing_hangs_here(first_page: PageGeometry) -> None:
    assert glosses_on(first_page, [(1, remark(0, 1))], "ab" * 32) == []


def test_rows_move_together_over_the_key_of_the_next_system(first_page: PageGeometry) -> None:
    one, three = hung(first_page, (0, 3)), hung(first_page, (0, 3), (0, 3), (0, 3))
    assert one[0].step == BRACKET_STEP
    assert [gloss.row for gloss in three] == [0, 1, 2]
    assert {gloss.step for gloss in three} == {BRACKET_STEP_LEAST}
    below = first_page.top_staff_line(1)
    assert below is not None
    reach = (below - first_page.top_of_system(1)) / UNITS_PER_SPACE
    rule = below - rule_above(reach) * UNITS_PER_SPACE
    assert three[2].span.bottom + gloss_below(three[2]) * UNITS_PER_SPACE < rule


def test_under_the_last_system_is_room(first_page: PageGeometry) -> None:
    last = first_page.measure_range
    assert last is not None
    glosses = hung(first_page, *[(last[1], last[1])] * 4)
    assert {gloss.step for gloss in glosses} == {BRACKET_STEP}


def test_brackets_lie_under_pedal_signs_where_there_is_room() -> None:
    score = read_score(sample_library() / "between_two_bells.musicxml").score
    engraver = Engraver()
    engraver.load(score.canonical, PageLayout())
    engraver.know(PrintedWords.of(score))
    geometry = PageGeometry(engraver.page(1), ScoreIndex(score))
    [gloss, *_] = hung(geometry, (0, 3))
    signs = {direction.id for direction in score.directions if direction.kind == "pedal"}
    lows = [box[3] for sign in signs if (box := geometry.element_box(sign)) is not None]
    assert lows
    assert gloss.below > BRACKET_BELOW
    assert gloss.span.bottom + gloss_below(gloss) * UNITS_PER_SPACE > max(lows)
    # A system without any: as near as always.
    assert hung(geometry, (4, 7))[0].below == BRACKET_BELOW
