"""Outlines in SVG's notation as Qt paths, made once each."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from fontTools.pens.basePen import BasePen
from fontTools.svgLib.path.parser import parse_path
from PySide6.QtGui import QPainterPath

from core.score import music_font


class _QtPen(BasePen):  # type: ignore[misc]  # fontTools carries no types
    """A fontTools pen that draws into a ``QPainterPath``."""

    def __init__(self) -> None:
        super().__init__(None)
        self.path = QPainterPath()

    def _moveTo(self, point: tuple[float, float]) -> None:
        self.path.moveTo(*point)

    def _lineTo(self, point: tuple[float, float]) -> None:
        self.path.lineTo(*point)

    def _curveToOne(self, *points: tuple[float, float]) -> None:
        self.path.cubicTo(*(value for point in points for value in point))

    def _closePath(self) -> None:
        self.path.closeSubpath()


def path_of(notation: str) -> QPainterPath:
    """The path that an SVG ``d`` attribute describes."""
    pen: Any = _QtPen()
    parse_path(notation, pen)
    pen.path.setFillRule(pen.path.fillRule().WindingFill)
    return pen.path  # type: ignore[no-any-return]  # fontTools carries no types


@lru_cache(maxsize=512)
def glyph_path(code: str) -> QPainterPath:
    """A sign of the music font, in font units with y up; empty where the font has none."""
    notation = music_font.outline(code)
    return path_of(notation) if notation else QPainterPath()
