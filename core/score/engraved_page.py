"""From the engraver's SVG of one page to a ``PageDrawing``.

Verovio's SVG is a small dialect: nested groups with a class each, glyphs as ``use`` of an
outline in ``defs``, strokes as straight ``path``s, curves as cubic ``path``s. This module walks
it once. Coordinates come out as drawing units with the page margins added.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache

from lxml import etree

from core.score import music_font
from core.score.page_drawing import (
    Box,
    Curve,
    Element,
    Ellipse,
    Glyph,
    Line,
    MeasureBox,
    PageDrawing,
    Polygon,
    Staff,
    TextLine,
    TextRun,
)

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_SVG = "{http://www.w3.org/2000/svg}"
_ELEMENT_KINDS = {"note": "note", "rest": "rest", "mRest": "rest", "multiRest": "rest"}
_DIRECTION_CLASSES = frozenset(
    "dir tempo dynam hairpin reh pedal octave harm fing repeatMark".split()
)
_BESIDE_THE_HEAD = frozenset(["stem", "flag", "accid", "dots", "artic", "verse", "ledgerLines"])
"""What belongs to a note and is not what one points at."""
_SKIPPED_CLASSES = frozenset(["placeholder", "pgHead", "pgFoot", "systemMilestone"])
_TEXT_WIDTH_EM = 0.42
"""Mean width of a letter, for the box of a text that is measured for good when it is drawn."""


_THIN_STROKE = 20.0
"""Drawing units, for a frame that names no width."""


@dataclass(slots=True)
class EngravedDirection:
    """A direction as the engraver drew it: its place in Verovio's words, and its box."""

    verovio_id: str
    kind: str
    measure_id: str
    staff: int
    tstamp: float | None
    text: str
    box: Box


@dataclass(slots=True)
class EngravedPage:
    """A page before its directions are known by the score's ids."""

    drawing: PageDrawing
    directions: list[EngravedDirection]


@dataclass(slots=True)
class _Context:
    """What the groups above a mark say about it."""

    measure_id: str = ""
    system: int = -1
    staff: int = -1
    role: str = ""
    target: _Target | None = None


@dataclass(slots=True)
class _Target:
    """An element whose box grows with every mark inside it."""

    id: str
    kind: str
    measure_id: str
    staff: int = 0
    tstamp: float | None = None
    text: str = ""
    boxes: list[Box] = field(default_factory=list)
    accidental: _Target | None = None

    def box(self) -> Box | None:
        """The smallest box round all marks."""
        if not self.boxes:
            return None
        left, top, right, bottom = zip(*self.boxes, strict=True)
        return min(left), min(top), max(right), max(bottom)


def read_page(svg: str, number: int) -> EngravedPage:
    """Read one page.

    Parameters
    ----------
    svg : str
        As ``renderToSVG`` gives it with ``svgRemoveXlink`` and the attributes that
        ``engraving.ENGRAVER_OPTIONS`` asks for.
    number : int
        From 1.

    Raises
    ------
    ValueError
        The SVG has no page in it.
    """
    return _PageReader(svg, number).read()


class _PageReader:
    def __init__(self, svg: str, number: int) -> None:
        root = etree.fromstring(svg.encode())
        scaled = root.find(f"{_SVG}svg")
        if scaled is None:
            raise ValueError("svg has no definition-scale; is it a page of Verovio's?")
        self._root, self._number = root, number
        _, _, self._width, self._height = map(float, scaled.get("viewBox", "").split())
        self._page = scaled
        self._dx = self._dy = 0.0
        self._glyphs: list[Glyph] = []
        self._lines: list[Line] = []
        self._polygons: list[Polygon] = []
        self._curves: list[Curve] = []
        self._ellipses: list[Ellipse] = []
        self._texts: list[TextLine] = []
        self._staves: list[Staff] = []
        self._staff_lines: list[Line] = []
        self._targets: list[_Target] = []
        self._measure_systems: dict[str, int] = {}
        self._systems = 0
        self._header_bottom = 0.0

    def read(self) -> EngravedPage:
        self._walk(self._page, _Context())
        measures = self._measure_boxes()
        elements, directions = self._found()
        drawing = PageDrawing(
            number=self._number,
            width=self._width,
            height=self._height,
            header_bottom=self._header_bottom,
            glyphs=tuple(self._glyphs),
            lines=tuple(self._lines),
            polygons=tuple(self._polygons),
            curves=tuple(self._curves),
            ellipses=tuple(self._ellipses),
            texts=tuple(self._texts),
            staves=tuple(self._staves),
            elements=tuple(elements),
            measures=measures,
        )
        return EngravedPage(drawing, directions)

    # ------------------------------------------------------------------ groups

    def _walk(self, parent: etree._Element, context: _Context) -> None:
        for child in parent:
            tag = child.tag
            if tag == f"{_SVG}g":
                self._group(child, context)
            else:
                mark = _MARKS.get(tag)
                if mark is not None:
                    mark(self, child, context)

    def _group(self, group: etree._Element, context: _Context) -> None:
        classes = group.get("class", "").split() or [""]
        name = classes[0]
        if not _SKIPPED_CLASSES.isdisjoint(classes):
            if name == "pgHead":
                self._header_bottom = self._lowest_text(group)
            return
        inner = self._context_of(group, name, context)
        if name == "staff":
            self._staff_lines = []
            self._walk(group, inner)
            return
        self._walk(group, inner)
        if name == "measure":
            self._measure_systems.setdefault(inner.measure_id, inner.system)

    def _context_of(self, group: etree._Element, name: str, outer: _Context) -> _Context:
        inner = _Context(outer.measure_id, outer.system, outer.staff, outer.role, outer.target)
        if name in _BESIDE_THE_HEAD and outer.target is not None and outer.target.kind == "note":
            inner.target = outer.target.accidental if name == "accid" else None
        if name == "page-margin":
            x, y = _numbers(group.get("transform", "0 0"))[:2]
            self._dx, self._dy = x, y
        elif name == "system":
            inner.system = self._systems
            self._systems += 1
        elif name == "measure":
            inner.measure_id = group.get("id", "")
        elif name == "staff":
            self._begin_staff(group, inner)
        elif name in _ROLES:
            inner.role = _ROLES[name]
        elif name in _ELEMENT_KINDS:
            inner.target = self._target(group, _ELEMENT_KINDS[name], inner)
            inner.target.accidental = _Target("", "accidental", inner.measure_id)
        elif name in _DIRECTION_CLASSES:
            inner.target = self._target(group, name, inner)
            inner.staff = -1
        return inner

    def _target(self, group: etree._Element, kind: str, context: _Context) -> _Target:
        tstamp = group.get("data-tstamp")
        target = _Target(
            id=group.get("id", ""),
            kind=kind,
            measure_id=context.measure_id,
            staff=int((group.get("data-staff") or "0").split()[0]),
            tstamp=float(tstamp) if tstamp else None,
        )
        spanned = re.search(r"\bid-(\S+) spanning", group.get("class", ""))
        if not target.id and spanned:
            target.id = spanned.group(1)
        self._targets.append(target)
        return target

    def _begin_staff(self, group: etree._Element, context: _Context) -> None:
        """Take the staff's lines first: everything else on it is snapped to them."""
        context.role = "staff"
        lines = [
            _straight(child.get("d", ""))
            for child in group
            if child.tag == f"{_SVG}path" and child.get("d", "").count("L") == 1
        ]
        flat = [line for line in lines if line is not None and line[1] == line[3]]
        if not flat:
            context.staff = -1
            return
        number = int(group.get("data-n") or 0)
        ys = [line[1] + self._dy for line in flat]
        x1, x2 = flat[0][0] + self._dx, flat[0][2] + self._dx
        context.staff = len(self._staves)
        self._staves.append(Staff(number, context.measure_id, x1, x2, min(ys), max(ys)))

    # ------------------------------------------------------------------ marks

    def _use(self, mark: etree._Element, context: _Context) -> None:
        code = mark.get("href", "").lstrip("#").split("-")[0]
        numbers = _numbers(mark.get("transform", ""))
        x, y, scale = numbers[0] + self._dx, numbers[1] + self._dy, numbers[2]
        self._glyph(code, x, y, scale, context)

    def _glyph(self, code: str, x: float, y: float, scale: float, context: _Context) -> None:
        self._glyphs.append(Glyph(code, x, y, scale, context.staff))
        if context.target is not None:
            context.target.text += music_font.DYNAMICS.get(code, "")
            left, bottom, right, top = music_font.bounds(code)
            box = (x + left * scale, y - top * scale, x + right * scale, y - bottom * scale)
            context.target.boxes.append(box)

    def _path(self, mark: etree._Element, context: _Context) -> None:
        path = mark.get("d", "")
        width = float(mark.get("stroke-width", 0))
        dash = _numbers(mark.get("stroke-dasharray", "0"))[0]
        straight = _straight(path)
        if straight is None:
            is_filled = mark.get("fill") != "none"
            self._curves.append(Curve(_moved(path, self._dx, self._dy), width, is_filled, dash))
            return
        x1, y1, x2, y2 = straight
        role = "staff" if context.role == "staff" and y1 == y2 else _role(context.role)
        line = Line(
            x1 + self._dx,
            y1 + self._dy,
            x2 + self._dx,
            y2 + self._dy,
            width,
            role,
            context.staff,
            dash,
        )
        self._lines.append(line)
        if context.target is not None:
            context.target.boxes.append(
                (min(line.x1, line.x2), min(line.y1, line.y2), max(line.x1, line.x2), line.y2)
            )

    def _points(self, mark: etree._Element, context: _Context) -> None:
        numbers = _numbers(mark.get("points", ""))
        points = tuple(
            (x + self._dx, y + self._dy) for x, y in zip(numbers[::2], numbers[1::2], strict=False)
        )
        is_open = mark.tag == f"{_SVG}polyline"
        width = float(mark.get("stroke-width", 0)) if is_open else 0.0
        self._polygons.append(Polygon(points, width, context.staff))
        if context.target is not None and points:
            xs, ys = zip(*points, strict=True)
            context.target.boxes.append((min(xs), min(ys), max(xs), max(ys)))

    def _rect(self, mark: etree._Element, context: _Context) -> None:
        x, y, width, height = (float(mark.get(k, 0)) for k in ("x", "y", "width", "height"))
        x, y = x + self._dx, y + self._dy
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        if mark.get("fill") == "none" or mark.get("fill-opacity") == "0":
            stroke = float(mark.get("stroke-width", 0)) or _THIN_STROKE
            self._polygons.append(Polygon((*corners, corners[0]), stroke, context.staff))
        else:
            self._polygons.append(Polygon(corners, 0.0, context.staff))
        if context.target is not None:
            context.target.boxes.append((x, y, x + width, y + height))

    def _ellipse(self, mark: etree._Element, context: _Context) -> None:
        cx, cy, rx, ry = (float(mark.get(k, 0)) for k in ("cx", "cy", "rx", "ry"))
        self._ellipses.append(Ellipse(cx + self._dx, cy + self._dy, rx, ry, context.staff))

    # ------------------------------------------------------------------ text

    def _text(self, mark: etree._Element, context: _Context) -> None:
        lines = _text_lines(mark, self._dx, self._dy)
        self._texts.extend(lines)
        if context.target is None:
            return
        for line in lines:
            context.target.text += "".join(r.text for r in line.runs if not r.is_music) + " "
            context.target.boxes.append(_text_box(line))

    def _lowest_text(self, group: etree._Element) -> float:
        lows = [
            line.y + max((run.size for run in line.runs), default=0.0) * 0.3
            for text in group.iter(f"{_SVG}text")
            for line in _text_lines(text, self._dx, self._dy)
        ]
        return max(lows, default=0.0)

    # ------------------------------------------------------------------ summary

    def _measure_boxes(self) -> tuple[MeasureBox, ...]:
        staves: dict[str, list[Staff]] = {}
        for staff in self._staves:
            staves.setdefault(staff.measure_id, []).append(staff)
        return tuple(
            MeasureBox(
                measure_id,
                self._measure_systems.get(measure_id, 0),
                (
                    min(s.x1 for s in group),
                    min(s.y_top for s in group),
                    max(s.x2 for s in group),
                    max(s.y_bottom for s in group),
                ),
            )
            for measure_id, group in staves.items()
        )

    def _found(self) -> tuple[list[Element], list[EngravedDirection]]:
        elements: list[Element] = []
        directions: list[EngravedDirection] = []
        for target in self._targets:
            box = target.box()
            if box is None:
                continue
            if target.kind in ("note", "rest"):
                beside = target.accidental.box() if target.accidental else None
                elements.append(Element(target.id, target.kind, target.measure_id, box, beside))
            else:
                directions.append(
                    EngravedDirection(
                        target.id,
                        target.kind,
                        target.measure_id,
                        target.staff,
                        target.tstamp,
                        " ".join(target.text.split()),
                        box,
                    )
                )
        return elements, directions


_ROLES = {
    "stem": "stem",
    "flag": "stem",
    "barLine": "barline",
    "ledgerLines": "ledger",
    "layer": "layer",
    "grpSym": "",
}
_MARKS = {
    f"{_SVG}use": _PageReader._use,
    f"{_SVG}path": _PageReader._path,
    f"{_SVG}polygon": _PageReader._points,
    f"{_SVG}polyline": _PageReader._points,
    f"{_SVG}rect": _PageReader._rect,
    f"{_SVG}ellipse": _PageReader._ellipse,
    f"{_SVG}text": _PageReader._text,
}


def _role(role: str) -> str:
    return role if role in ("stem", "barline", "ledger") else ""


def _numbers(text: str) -> list[float]:
    return [float(number) for number in _NUMBER.findall(text)] or [0.0]


def _straight(path: str) -> tuple[float, float, float, float] | None:
    """The ends of ``M x y L x y``; None for any other path."""
    if path.count("L") != 1 or "C" in path or "c" in path:
        return None
    numbers = _numbers(path)
    return (numbers[0], numbers[1], numbers[2], numbers[3]) if len(numbers) == 4 else None


def _moved(path: str, dx: float, dy: float) -> str:
    """An absolute path moved; Verovio's curves use only M, C, L and Z with absolute numbers."""
    offsets = (dx, dy)
    parts: list[str] = []
    for command, body in re.findall(r"([MCLQZz])([^MCLQZz]*)", path):
        numbers = [
            f"{value + offsets[i % 2]:.1f}"
            for i, value in enumerate(_numbers(body))
            if body.strip()
        ]
        parts.append(command + " ".join(numbers))
    return " ".join(parts)


@lru_cache(maxsize=4096)
def _style(size: str | None, weight: str | None, slant: str | None) -> tuple[float, bool, bool]:
    return float((size or "0").removesuffix("px")), weight == "bold", slant == "italic"


def _text_lines(mark: etree._Element, dx: float, dy: float) -> list[TextLine]:
    """A ``text`` as lines: a ``tspan`` with a place of its own begins a new one."""
    lines: list[tuple[float, float, str, list[TextRun]]] = []

    def visit(node: etree._Element, inherited: dict[str, str]) -> None:
        style = {**inherited, **{str(k): str(v) for k, v in node.attrib.items()}}
        if node.tag == f"{_SVG}title":
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


def _text_box(line: TextLine) -> Box:
    size = max(run.size for run in line.runs if not run.is_music or len(line.runs) == 1)
    width = sum(len(run.text) for run in line.runs) * size * _TEXT_WIDTH_EM
    shift = {"middle": width / 2, "end": width}.get(line.anchor, 0.0)
    return line.x - shift, line.y - size * 0.7, line.x - shift + width, line.y + size * 0.25
