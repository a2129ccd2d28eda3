"""Printing as a job: engraves and paints in a process of its own, page by page.

The window's process only names ``print_score``; what it needs is loaded where it runs. Fonts
are embedded, and no text is set with ligatures, so that words can be found in the PDF.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, NamedTuple

from app.printing.print_wish import DOTS_AN_INCH, SPACE_DOTS, Paper, Printed, PrintWish
from core.errors import StorageError

if TYPE_CHECKING:
    from PySide6.QtCore import QFile
    from PySide6.QtGui import QFont, QPdfWriter

    from app.score.page_painter import PageStyle
    from app.theme import Theme
    from core.score.engraving import Engraver
    from core.score.score import Score

Progress = Callable[[float, str], None]
_ENGRAVED = 0.3
"""Share of reading and laying out, before the first page is painted."""


class _Engraved(NamedTuple):
    engraver: Engraver
    pages: int


def print_score(wish: PrintWish, progress: Progress) -> Printed:
    """Print to a file, which is there whole or not at all.

    Raises
    ------
    StorageError
        The file can't be written.
    UnsupportedScoreError
        The score can't be engraved.
    UnreadableFileError
        The bytes are damaged.
    """
    # Painting needs no screen, and must not ask for one.
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from PySide6.QtGui import QGuiApplication

    application = QGuiApplication.instance() or QGuiApplication(["postil"])
    try:
        with _told_if_it_cannot_be_written(wish):
            sheets = _print(wish, progress)
            wish.beside.replace(wish.path)
    finally:
        with suppress(OSError):
            wish.beside.unlink(missing_ok=True)
        del application
    return Printed(path=wish.path, sheets=sheets)


@contextmanager
def _told_if_it_cannot_be_written(wish: PrintWish) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        raise StorageError(
            wish.path, f"It could not be written ({reason}). Choose another folder, or make room."
        ) from error


def _print(wish: PrintWish, progress: Progress) -> int:
    from PySide6.QtCore import QFile

    # Before the work, which may be long, is done in vain.
    wish.beside.touch()
    progress(0.02, "reading")
    from core.score.engraving import Engraver, PrintedWords
    from core.score.reading import score_from_canonical

    score = score_from_canonical(wish.canonical, sha256=wish.sha256)
    engraver = Engraver()
    progress(0.1, "engraving")
    layout = wish.paper.layout(has_brackets=bool(wish.numbered))
    pages = engraver.load(wish.canonical, layout, name=wish.title or "The score")
    engraver.know(PrintedWords.of(score))
    file = QFile(str(wish.beside))
    if not file.open(QFile.OpenModeFlag.WriteOnly):
        raise OSError(file.errorString())
    try:
        sheets = _paint(_writer(file, wish), wish, score, _Engraved(engraver, pages), progress)
    finally:
        file.close()
    # The writer of PDF doesn't look whether what it wrote was taken.
    if file.error() is not QFile.FileError.NoError:
        raise OSError(file.errorString())
    return sheets


def _paint(
    writer: QPdfWriter, wish: PrintWish, score: Score, engraved: _Engraved, progress: Progress
) -> int:
    """All sheets; how many there are."""
    from PySide6.QtGui import QPainter

    from app.printing.remark_sheets import RemarkSheets
    from app.printing.sheet_painter import paint_sheet
    from app.score.page_looks import page_colors
    from app.score.score_geometry import PageGeometry, ScoreIndex

    index, theme, sheets = ScoreIndex(score), paper_theme(), engraved.pages
    style, colors = _style(wish, theme), page_colors(theme)
    painter = QPainter(writer)
    try:
        for number in range(1, engraved.pages + 1):
            share = (number - 1) / engraved.pages
            progress(_ENGRAVED + (1 - _ENGRAVED) * share, f"page {number} of {engraved.pages}")
            if number > 1:
                writer.newPage()
            geometry = PageGeometry(engraved.engraver.page(number), index)
            paint_sheet(painter, geometry, wish, style, colors)
        if wish.listed:
            sheets += RemarkSheets(wish, score, theme).paint(painter, writer.newPage)
    finally:
        painter.end()
    return sheets


def _writer(file: QFile, wish: PrintWish) -> QPdfWriter:
    from PySide6.QtCore import QMarginsF
    from PySide6.QtGui import QPageLayout, QPageSize, QPdfWriter

    size = {Paper.A4: QPageSize.PageSizeId.A4, Paper.LETTER: QPageSize.PageSizeId.Letter}
    writer = QPdfWriter(file)
    writer.setResolution(DOTS_AN_INCH)
    writer.setTitle(wish.title)
    writer.setAuthor(wish.composer)
    writer.setCreator("Postil")
    # The engraver's page has the margins in it.
    upright = QPageLayout.Orientation.Portrait
    writer.setPageLayout(QPageLayout(QPageSize(size[wish.paper]), upright, QMarginsF()))
    return writer


def paper_theme() -> Theme:
    """White paper, whatever the window looks like."""
    from app.theme import Choice, Theme

    theme = Theme()
    theme.choose(Choice.LIGHT)
    return theme


def _style(wish: PrintWish, theme: Theme) -> PageStyle:
    from PySide6.QtGui import QColor

    from app.printing.findable_text import findable
    from app.score.page_painter import PageStyle

    def serif(size: float, weight: int, is_italic: bool) -> QFont:
        return findable(theme.serif(max(1, round(size)), weight, is_italic))

    return PageStyle(
        space_pixels=SPACE_DOTS,
        page=QColor("white"),
        printed=QColor("black"),
        quiet=theme.page_color("quiet"),
        serif=serif,
        title=wish.title,
        byline=wish.composer,
    )
