"""Wishes to print the sample piece, and what a PDF has in it, read by QtPdf."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtPdf import QPdfDocument

from app.printing.print_wish import Paper, PrintWish
from app.score.finding_marks import ShownOverlays
from app.theme import Choice, Theme
from app.tonality.overlays import OverlayKind, overlays_of
from core.notebook.values import Anchor, AnchorKind, Remark, RemarkKind
from core.score.places import Passage
from tests.app import barcarolle

NOW = datetime(2026, 3, 2, tzinfo=UTC)


@lru_cache(maxsize=1)
def overlays() -> ShownOverlays:
    theme = Theme()
    theme.choose(Choice.LIGHT)
    return overlays_of(barcarolle.analysis(), theme, kinds=frozenset(OverlayKind))


def remark(number: int, body: str, first: int, last: int) -> Remark:
    anchor = Anchor(
        kind=AnchorKind.PASSAGE,
        score_sha256=barcarolle.score().sha256,
        passage=Passage.of_measures(first, last),
    )
    return Remark(
        id=number,
        piece_id=1,
        kind=RemarkKind.READING,
        body=body,
        anchor=anchor,
        created_at=NOW,
        edited_at=NOW,
    )


def wish(folder: Path, **changes: object) -> PrintWish:
    """To print the music alone, unless changed."""
    score = barcarolle.score()
    plain = PrintWish(
        path=folder / "piece.pdf",
        beside=folder / ".piece-1.pdf",
        paper=Paper.A4,
        title="Barcarolle",
        composer="An Invented Composer",
        canonical=score.canonical,
        sha256=score.sha256,
        overlays=ShownOverlays(),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]  # fields by their names


def opened(path: Path) -> QPdfDocument:
    document = QPdfDocument()
    assert document.load(str(path)) is QPdfDocument.Error.None_
    return document


def text_of(document: QPdfDocument, page: int) -> str:
    return " ".join(document.getAllText(page).text().split())


def picture_of(document: QPdfDocument, page: int, width: int = 900) -> QImage:
    """A page on white."""
    size = document.pagePointSize(page)
    drawn = document.render(page, QSize(width, round(width * size.height() / size.width())))
    picture = QImage(drawn.size(), QImage.Format.Format_RGB32)
    picture.fill(QColor("white"))
    painter = QPainter(picture)
    painter.drawImage(0, 0, drawn)
    painter.end()
    return picture


def colors_in(picture: QImage) -> set[str]:
    return {
        picture.pixelColor(x, y).name()
        for y in range(picture.height())
        for x in range(picture.width())
    }
