"""The marks of the engraver's SVG: what is drawn, and how far it reaches.

Glyphs are a ``use`` of an outline in ``defs``, strokes are straight ``path``s, curves cubic
``path``s. Which element of the score a mark belongs to is known from the groups around it, in
``engraved_page``; here it is an ``Extent`` that grows with the mark. Coordinates come out as
drawing units with the page margins added.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from lxml import etree

from core.score import music_font
from core.score.engraved_text import SVG, text_box, text_lines
from core.score.page_drawing import Box, Curve, Ellipse, Glyph, Line, Polygon, TextLine

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_LINE_ROLES = ("stem", "barline", "ledger", "ending")
_THIN_STROKE = 20.0
"""Drawing units, for a frame that names no width."""


@dataclass(slots=True)
class Extent:
    """What an element of the score covers on the page, and the text it prints."""

    boxes: list[Box] = field(default_factory=list)
    text: str = ""

    def box(self) -> Box | None:
        """The smallest box round all marks."""
        if not self.boxes:
            return None
        left, top, right, bottom = zip(*self.boxes, strict=True)
        return min(left), min(top), max(right), max(bottom)


@dataclass(slots=True)
class Where:
    """What the groups round a mark say of it.

    Parameters
    ----------
    staff : int, index of the staff it stands on; -1 for none.
    role : str, of its lines.
    extent : Extent or None, of the element that it belongs to.
    turned_about : (float, float) or None
        The point about which the group is turned to the left by a quarter, without the margins.
    """

    staff: int = -1
    role: str = ""
    extent: Extent | None = None
    turned_about: tuple[float, float] | None = None


class Marks:
    """What is drawn on a page, gathered mark by mark; ``dx``, ``dy`` are its margins."""

    def __init__(self) -> None:
        self.dx = self.dy = 0.0
        self.glyphs: list[Glyph] = []
        self.lines: list[Line] = []
        self.polygons: list[Polygon] = []
        self.curves: list[Curve] = []
        self.ellipses: list[Ellipse] = []
        self.texts: list[TextLine] = []

    def take(self, mark: etree._Element, where: Where) -> None:
        """Take in a mark; what is none (a title, a description) is passed over."""
        taken = _MARKS.get(mark.tag)
        if taken is not None:
            taken(self, mark, where)

    def _use(self, mark: etree._Element, where: Where) -> None:
        code = mark.get("href", "").lstrip("#").split("-")[0]
        numbers = numbers_in(mark.get("transform", ""))
        (x, y), scale = numbers[:2], numbers[2]
        if where.turned_about is not None:
            middle_x, middle_y = where.turned_about
            x, y = middle_x + y - middle_y, middle_y - x + middle_x
        x, y = x + self.dx, y + self.dy
        self.glyphs.append(Glyph(code, x, y, scale, where.staff, where.turned_about is not None))
        if where.extent is not None and where.turned_about is None:
            where.extent.text += music_font.DYNAMICS.get(code, "")
            left, bottom, right, top = music_font.bounds(code)
            box = (x + left * scale, y - top * scale, x + right * scale, y - bottom * scale)
            where.extent.boxes.append(box)

    def _path(self, mark: etree._Element, where: Where) -> None:
        path = mark.get("d", "")
        width = float(mark.get("stroke-width", 0))
        dash = numbers_in(mark.get("stroke-dasharray", "0"))[0]
        straight = straight_line(path)
        if straight is None:
            is_filled = mark.get("fill") != "none"
            self.curves.append(Curve(_moved_path(path, self.dx, self.dy), width, is_filled, dash))
            return
        x1, y1, x2, y2 = straight
        is_staff_line = where.role == "staff" and y1 == y2
        role = where.role if is_staff_line or where.role in _LINE_ROLES else ""
        ends = x1 + self.dx, y1 + self.dy, x2 + self.dx, y2 + self.dy
        line = Line(*ends, width, role, where.staff, dash)
        self.lines.append(line)
        if where.extent is not None:
            where.extent.boxes.append(
                (min(line.x1, line.x2), min(line.y1, line.y2), max(line.x1, line.x2), line.y2)
            )

    def _points(self, mark: etree._Element, where: Where) -> None:
        numbers = numbers_in(mark.get("points", ""))
        points = tuple(
            (x + self.dx, y + self.dy) for x, y in zip(numbers[::2], numbers[1::2], strict=False)
        )
        is_open = mark.tag == f"{SVG}polyline"
        width = float(mark.get("stroke-width", 0)) if is_open else 0.0
        self.polygons.append(Polygon(points, width, where.staff))
        if where.extent is not None and points:
            xs, ys = zip(*points, strict=True)
            where.extent.boxes.append((min(xs), min(ys), max(xs), max(ys)))

    def _rect(self, mark: etree._Element, where: Where) -> None:
        x, y, width, height = (float(mark.get(k, 0)) for k in ("x", "y", "width", "height"))
        x, y = x + self.dx, y + self.dy
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        if mark.get("fill") == "none" or mark.get("fill-opacity") == "0":
            stroke = float(mark.get("stroke-width", 0)) or _THIN_STROKE
            self.polygons.append(Polygon((*corners, corners[0]), stroke, where.staff))
        else:
            self.polygons.append(Polygon(corners, 0.0, where.staff))
        if where.extent is not None:
            where.extent.boxes.append((x, y, x + width, y + height))

    def _ellipse(self, mark: etree._Element, where: Where) -> None:
        cx, cy, rx, ry = (float(mark.get(k, 0)) for k in ("cx", "cy", "rx", "ry"))
        self.ellipses.append(Ellipse(cx + self.dx, cy + self.dy, rx, ry, where.staff))

    def _text(self, mark: etree._Element, where: Where) -> None:
        lines = text_lines(mark, self.dx, self.dy)
        self.texts.extend(lines)
        if where.extent is None:
            return
        for line in lines:
            where.extent.text += "".join(r.text for r in line.runs if not r.is_music) + " "
            where.extent.boxes.append(text_box(line))


_MARKS = {
    f"{SVG}use": Marks._use,
    f"{SVG}path": Marks._path,
    f"{SVG}polygon": Marks._points,
    f"{SVG}polyline": Marks._points,
    f"{SVG}rect": Marks._rect,
    f"{SVG}ellipse": Marks._ellipse,
    f"{SVG}text": Marks._text,
}


def numbers_in(text: str) -> list[float]:
    """All numbers in an attribute; one 0 where there is none."""
    return [float(number) for number in _NUMBER.findall(text)] or [0.0]


def straight_line(path: str) -> tuple[float, float, float, float] | None:
    """The ends of ``M x y L x y``; None for any other path."""
    if path.count("L") != 1 or "C" in path or "c" in path:
        return None
    numbers = numbers_in(path)
    return (numbers[0], numbers[1], numbers[2], numbers[3]) if len(numbers) == 4 else None


def _moved_path(path: str, dx: float, dy: float) -> str:
    """An absolute path moved; Verovio's curves use only M, C, L and Z with absolute numbers."""
    offsets = (dx, dy)
    parts: list[str] = []
    for command, body in re.findall(r"([MCLQZz])([^MCLQZz]*)", path):
        numbers = [
            f"{value + offsets[i % 2]:.1f}"
            for i, value in enumerate(numbers_in(body))
            if body.strip()
        ]
        parts.append(command + " ".join(numbers))
    return " ".join(parts)
