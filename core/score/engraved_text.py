"""Texts of the engraver's SVG as lines of runs.

A ``text`` of Verovio's nests ``tspan``s for style and for place; what is drawn is flat.
Coordinates are drawing units with the page margins added.
"""

from __future__ import annotations

from functools import lru_cache

from lxml import etree

from core.score import music_font
from core.score.page_drawing import Box, TextLine, TextRun

SVG = "{http://www.w3.org/2000/svg}"
"""The namespace of every tag."""

_TEXT_WIDTH_EM = 0.42
"""Mean width of a letter, for the box of a text that is measured for good when it is drawn."""


def text_lines(mark: etree._Element, dx: float, dy: float) -> list[TextLine]:
    """A ``text`` as lines: a ``tspan`` with a place of its own begins a new one."""
    lines: list[tuple[float, float, str, list[TextRun]]] = []

    def visit(node: etree._Element, inherited: dict[str, str]) -> None:
        style = {**inherited, **{str(k): str(v) for k, v in node.attrib.items()}}
        if node.tag == f"{SVG}title":
            return
        if "x" in node.attrib or "y" in node.attrib or not lines:
            x, y = float(style.get("x", 0)) + dx, float(style.get("y", 0)) + dy
            lines.append((x, y, style.get("text-anchor", "start"), []))
        if node.text:
            size, is_bold, is_italic = _style(
                style.get("font-size"), style.get("font-weight"), style.get("font-style")
            )
            is_music = style.get("font-family") == music_font.NAME
            lines[-1][3].append(TextRun(node.text, size, is_bold, is_italic, is_music))
        for child in node:
            visit(child, style)

    visit(mark, {})
    return [TextLine(x, y, anchor, tuple(runs)) for x, y, anchor, runs in lines if runs]


def text_box(line: TextLine) -> Box:
    """Where a line stands, as far as that is known without its font."""
    sizes = [run.size for run in line.runs if not run.is_music] or [line.runs[0].size]
    size = max(sizes)
    width = sum(len(run.text) for run in line.runs) * size * _TEXT_WIDTH_EM
    shift = {"middle": width / 2, "end": width}.get(line.anchor, 0.0)
    height = max(size * 0.7, *(_sign_height(run) for run in line.runs))
    return line.x - shift, line.y - height, line.x - shift + width, line.y + size * 0.25


def _sign_height(run: TextRun) -> float:
    """How far the signs of a music run (a metronome mark's note) stand over the base line."""
    if not run.is_music:
        return 0.0
    tops = (music_font.bounds(f"{ord(sign):04X}")[3] for sign in run.text)
    return max(tops, default=0.0) * run.size / music_font.UNITS_AN_EM


@lru_cache(maxsize=4096)
def _style(size: str | None, weight: str | None, slant: str | None) -> tuple[float, bool, bool]:
    return float((size or "0").removesuffix("px")), weight == "bold", slant == "italic"
