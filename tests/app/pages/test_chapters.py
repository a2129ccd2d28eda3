"""The help: nothing named that is not there, every kind of finding told, every sign drawn."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from app.desk.action_table import ACTIONS
from app.desk.shortcuts import key_of
from app.kept_where import Kept
from app.pages.chapters import NAMES, Chapter, chapters, filled, slug, written
from app.score.page_marks import Certainty
from app.tonality.chord_lines import CHORDS_KIND
from app.tonality.direction_words import DIRECTION_KIND
from app.tonality.finding_words import FORM_KIND
from core.resources import resources
from core.takes.tempo import GUESSED_QPM

pytestmark = pytest.mark.usefixtures("qapp")

ROOT = Path(__file__).parents[3]
LINK = re.compile(r"\]\(([^)]*)\)")
HEADING = re.compile(r"^#+ +(.+)$", re.MULTILINE)
KEPT = Kept(notebook=Path("notes/notebook.postil"), settings=Path("notes/window.ini"))
STATEMENT = "statement"
"""No finding of the analysis, but computed and shown as one."""


@pytest.fixture
def all_chapters() -> tuple[Chapter, ...]:
    return chapters(KEPT)


def kinds_in_the_code() -> set[str]:
    """Every kind that a finding is made with, and those that are told together."""
    found = {CHORDS_KIND, DIRECTION_KIND, FORM_KIND, STATEMENT}
    for path in (ROOT / "core" / "analysis").glob("*.py"):
        text = path.read_text(encoding="utf-8")
        found.update(re.findall(r"\bkind=\"([\w ]+)\",\n", text))
    return found


def test_every_text_is_a_chapter() -> None:
    texts = {path.stem for path in (resources() / "help").glob("*.md")}
    assert texts == set(NAMES)


def test_every_kind_of_finding_is_told(all_chapters: tuple[Chapter, ...]) -> None:
    told = {kind for chapter in all_chapters for kind in chapter.headings}
    kinds = kinds_in_the_code()
    assert {"global key", "key region", "scale region", "harmony", "cadence"} <= kinds
    assert told == kinds


def test_every_kind_names_its_source() -> None:
    _, *parts = written("findings").split("\n## ")
    marked = [part for part in parts if "{finding:" in part]
    assert len(marked) == 12
    for part in marked:
        assert re.search(r"^\*Source:\* \w", part, re.MULTILINE), part


def test_nothing_is_left_to_fill_in(all_chapters: tuple[Chapter, ...]) -> None:
    assert not [chapter.name for chapter in all_chapters if re.search(r"[{}]", chapter.text)]


def test_keys_are_those_of_the_table(all_chapters: tuple[Chapter, ...]) -> None:
    texts = {chapter.name: chapter.text for chapter in all_chapters}
    assert f"**{key_of('write')}** leads to" in texts["first_minutes"]
    assert "*Look at the sample*" in texts["first_minutes"]
    assert f"`{KEPT.notebook}`" in texts["scores"]


def test_no_key_of_an_action_is_written_by_hand() -> None:
    """It would go out of date; what panes handle themselves may be named."""
    by_hand = re.compile(r"\bCtrl\+|\bF\d+\b")
    assert not [name for name in NAMES if by_hand.search(written(name))]


@pytest.mark.parametrize("text", ["{key:nonsense}", "{name:}", "{nonsense}", "{kind:write}"])
def test_a_placeholder_that_names_nothing_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=re.escape("in a help text names nothing")):
        filled(text, KEPT)


def test_an_action_without_a_key_is_named() -> None:
    name = next(action.name for action in ACTIONS if action.id == "show_log")
    assert filled("{key:show_log}", None) == f"*{name}* in do…"


def test_links_stay_inside_and_lead_somewhere(all_chapters: tuple[Chapter, ...]) -> None:
    headings = {
        chapter.name: {slug(heading) for heading in HEADING.findall(chapter.text)}
        for chapter in all_chapters
    }
    links = [link for chapter in all_chapters for link in LINK.findall(chapter.text)]
    assert links
    for link in links:
        scheme, _, rest = link.partition(":")
        name, _, heading = rest.partition("#")
        assert scheme == "help"
        assert heading in {"", *headings[name]}


def test_certainty_is_told_as_it_is_drawn() -> None:
    text = written("sureness")
    assert "| solid | 0.85 and more |" in text
    assert "| dashed | 0.6 and more |" in text
    assert [Certainty.of(share) for share in (0.85, 0.849, 0.6, 0.599)] == [
        Certainty.SOLID,
        Certainty.DASHED,
        Certainty.DASHED,
        Certainty.DOTTED,
    ]


def test_the_guessed_tempo_is_the_one_that_is_played() -> None:
    assert f"a guess of {GUESSED_QPM:g} quarter notes a minute" in written("findings")


def test_the_cautions_are_the_whole_of_the_medical_advice() -> None:
    text = " ".join(written("cautions").split())
    for words in ("pain, numbness or tingling", "clinician", "performing-arts-medicine", "levels"):
        assert words in text


def test_the_manner_is_calm(all_chapters: tuple[Chapter, ...]) -> None:
    assert not [chapter.name for chapter in all_chapters if "!" in chapter.text]


def test_every_sign_has_a_glyph(all_chapters: tuple[Chapter, ...]) -> None:
    signs = {sign for chapter in all_chapters for sign in chapter.text if not sign.isspace()}
    for folder in ("inter", "eb_garamond"):
        for path in (resources() / "fonts" / folder).glob("*.ttf"):
            glyphs = TTFont(path).getBestCmap()
            assert sorted(sign for sign in signs if ord(sign) not in glyphs) == [], path.name
