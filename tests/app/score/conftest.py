"""The sample piece on a desk without a notebook behind it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest

from app.desk.desk_model import DeskModel
from app.score.score_geometry import PageGeometry, ScoreIndex
from core.notebook.values import Edition, Piece
from core.resources import sample_library
from core.score.engraving import Engraver, PageLayout, PrintedWords
from core.score.reading import ReadScore, read_score

NOW = datetime(2026, 3, 2, tzinfo=UTC)


@dataclass
class NoStore:
    """A store that nobody asks anything of."""

    is_read_only: bool = False


@pytest.fixture(scope="package")
def barcarolle() -> ReadScore:
    return read_score(sample_library() / "barcarolle.musicxml")


@pytest.fixture(scope="package")
def index(barcarolle: ReadScore) -> ScoreIndex:
    return ScoreIndex(barcarolle.score)


@pytest.fixture(scope="package")
def first_page(barcarolle: ReadScore, index: ScoreIndex) -> PageGeometry:
    engraver = Engraver()
    engraver.load(barcarolle.score.canonical, PageLayout())
    engraver.know(PrintedWords.of(barcarolle.score))
    return PageGeometry(engraver.page(1), index)


@pytest.fixture
def desk(qapp: object, barcarolle: ReadScore) -> Iterator[DeskModel]:
    """A desk on which the sample piece lies open."""
    desk = DeskModel(NoStore())  # type: ignore[arg-type]  # nothing is stored in these tests
    score = barcarolle.score
    desk.piece = Piece(id=1, title=score.title, composer=score.composer, created_at=NOW)
    desk.edition = Edition(
        id=1,
        piece_id=1,
        score_sha256=score.sha256,
        canonical_version=score.canonical_version,
        source_name="barcarolle.musicxml",
        imported_at=NOW,
    )
    desk.canonical, desk.score = score.canonical, score
    yield desk
    desk.shut_down()
