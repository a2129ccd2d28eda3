"""What is to be printed: the sheet, the music, and what is drawn over it. No Qt is loaded here."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.score.finding_marks import ShownOverlays
    from core.notebook.values import Remark
    from core.score.engraving import PageLayout

DOTS_AN_INCH = 1200
"""Resolution of the PDF's coordinates; nothing of it becomes pixels."""
MM_AN_INCH = 25.4
SPACE_DOTS = 83
"""A staff space: 1.76 mm, so that a staff is 7 mm high, as piano music usually is (from memory)."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 9.0, 6.0, 6.0, 8.0
HEAD_LOWER = 3.0
"""Margins of the music in staff spaces, with section letters in the left one; and how far the
head stands lower than on the screen, since printers leave the edge of a sheet white."""
_BETWEEN_SYSTEMS, _WITH_BRACKETS = 5.5, 7.5
"""Staff spaces: a key's name over the next system, and two rows of brackets besides."""


class Paper(Enum):
    """Sizes of paper: their name, width and height in millimetres (ISO 216; ANSI/ASME Y14.1)."""

    A4 = ("A4", 210.0, 297.0)
    LETTER = ("Letter", 215.9, 279.4)

    @property
    def title(self) -> str:
        """As it is called."""
        return self.value[0]

    @property
    def dots(self) -> tuple[int, int]:
        """Width and height in dots."""
        _, width, height = self.value
        return (
            round(width / MM_AN_INCH * DOTS_AN_INCH),
            round(height / MM_AN_INCH * DOTS_AN_INCH),
        )

    def layout(self, *, has_brackets: bool) -> PageLayout:
        """The page for the engraver, margins and all."""
        from core.score.engraving import PageLayout

        width, height = (dots / SPACE_DOTS for dots in self.dots)
        return PageLayout(
            width=width,
            height=height,
            left=_LEFT,
            right=_RIGHT,
            top=_TOP,
            bottom=_BOTTOM,
            fills_height=True,
            between_systems=_WITH_BRACKETS if has_brackets else _BETWEEN_SYSTEMS,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintWish:
    """One printing; can be pickled.

    Parameters
    ----------
    path : Path
        The file that shall be there afterwards.
    beside : Path
        Where it is written first, in the same folder.
    paper : Paper
    title, composer : str
    canonical, sha256 : bytes, str
        The score.
    overlays : ShownOverlays
        What is drawn of the findings, in the colours of white paper.
    numbered : tuple of (int, Remark)
        Remarks whose brackets are drawn.
    listed : tuple of (int or None, Remark)
        Remarks whose words stand on sheets after the music, with their numbers; None for those
        on the whole piece.
    """

    path: Path
    beside: Path
    paper: Paper
    title: str
    composer: str
    canonical: bytes
    sha256: str
    overlays: ShownOverlays
    numbered: tuple[tuple[int, Remark], ...] = ()
    listed: tuple[tuple[int | None, Remark], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """What came out: the file and its sheets."""

    path: Path
    sheets: int
