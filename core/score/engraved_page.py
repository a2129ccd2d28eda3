"""From the engraver's SVG of one page to a ``PageDrawing``.

Verovio's SVG is a small dialect: nested groups with a class each, and marks in them. This
module walks it once and keeps, from the groups, in which system, measure and staff and in which
element of the score it is; ``engraved_marks`` draws the marks, ``engraved_text`` their texts.
Coordinates come out as drawing units with the page margins added.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from lxml import etree

from core.score.engraved_marks import Extent, Marks, Where, numbers_in, straight_line
from core.score.engraved_text import SVG, text_lines
from core.score.page_drawing import Box, Element, MeasureBox, PageDrawing, Staff

_ELEMENT_KINDS = {"note": "note", "rest": "rest", "mRest": "rest", "multiRest": "rest"}
_DIRECTION_CLASSES = frozenset(
    "dir tempo dynam hairpin reh pedal octave harm fing repeatMark".split()
)
_BESIDE_THE_HEAD = frozenset(["stem", "flag", "accid", "dots", "artic", "verse", "ledgerLines"])
"""What belongs to a note and is not what one points at."""
_SKIPPED_CLASSES = frozenset(["placeholder", "pgHead", "pgFoot", "systemMilestone"])
_DRAWN_MILESTONES = frozenset(["ending"])
"""Where they begin stands their bracket with its number."""
_ROLES = {
    "stem": "stem",
    "flag": "stem",
    "barLine": "barline",
    "ledgerLines": "ledger",
    "voltaBracket": "ending",
    "layer": "layer",
    "grpSym": "",
}
"""What the lines in a group are."""
_AT_A_SYSTEM = frozenset(["grpSym", "label", "labelAbbr"])
_AT_A_STAFF = frozenset(["clef", "keySig", "meterSig", "mensur"])
"""What stands before the first measure of a system: beside it, and on its staves."""


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
    measure_numbers: tuple[int, ...] = ()
    """Which of the drawing's texts are numbers of measures."""


@dataclass(slots=True)
class _Context(Where):
    """What the groups above say: of a mark, and of the groups in them."""

    measure_id: str = ""
    system: int = -1
    target: _Target | None = None


@dataclass(slots=True)
class _Target:
    """An element whose extent grows with every mark inside it."""

    id: str
    kind: str
    measure_id: str
    staff: int = 0
    tstamp: float | None = None
    extent: Extent = field(default_factory=Extent)
    accidental: Extent = field(default_factory=Extent)


def read_page(svg: str, number: int, *, is_continued: bool = False) -> EngravedPage:
    """Read one page.

    Parameters
    ----------
    svg : str
        As ``renderToSVG`` gives it with ``svgRemoveXlink`` and the attributes that
        ``engraving.ENGRAVER_OPTIONS`` asks for.
    number : int
        From 1.
    is_continued : bool
        Leave out what the engraver repeats at the start of a system: clefs, signatures, brace,
        names and the line that joins the staves.

    Raises
    ------
    ValueError
        The SVG has no page in it.
    """
    return _PageReader(svg, number, is_continued).read()


class _PageReader:
    def __init__(self, svg: str, number: int, is_continued: bool) -> None:
        root = etree.fromstring(svg.encode())
        scaled = root.find(f"{SVG}svg")
        if scaled is None:
            raise ValueError("svg has no definition-scale; is it a page of Verovio's?")
        self._number, self._is_continued = number, is_continued
        _, _, self._width, self._height = map(float, scaled.get("viewBox", "").split())
        self._page = scaled
        self._marks = Marks()
        self._staves: list[Staff] = []
        self._targets: list[_Target] = []
        self._measure_systems: dict[str, int] = {}
        self._systems = 0
        self._header_bottom = 0.0
        self._measure_numbers: list[int] = []

    def read(self) -> EngravedPage:
        self._walk(self._page, _Context())
        measures = self._measure_boxes()
        elements, directions = self._found()
        drawing = PageDrawing(
            number=self._number,
            width=self._width,
            height=self._height,
            header_bottom=self._header_bottom,
            glyphs=tuple(self._marks.glyphs),
            lines=tuple(self._marks.lines),
            polygons=tuple(self._marks.polygons),
            curves=tuple(self._marks.curves),
            ellipses=tuple(self._marks.ellipses),
            texts=tuple(self._marks.texts),
            staves=tuple(self._staves),
            elements=tuple(elements),
            measures=measures,
        )
        return EngravedPage(drawing, directions, tuple(self._measure_numbers))

    # ------------------------------------------------------------------ groups

    def _walk(self, parent: etree._Element, context: _Context) -> None:
        for child in parent:
            if self._is_continued and self._is_repeated_there(child, context):
                continue
            if child.tag == f"{SVG}g":
                self._group(child, context)
            else:
                self._marks.take(child, context)

    def _is_repeated_there(self, child: etree._Element, context: _Context) -> bool:
        """Whether the engraver draws this only because a system begins."""
        name = child.get("class", "").split()[:1]
        if context.role == "system":
            return child.tag != f"{SVG}g" or bool(_AT_A_SYSTEM.intersection(name))
        # The first measure alone: nothing is summed up before its groups are walked.
        is_first = not self._measure_systems
        return is_first and context.role == "staff" and bool(_AT_A_STAFF.intersection(name))

    def _group(self, group: etree._Element, context: _Context) -> None:
        classes = group.get("class", "").split() or [""]
        name = classes[0]
        if not _SKIPPED_CLASSES.isdisjoint(classes) and name not in _DRAWN_MILESTONES:
            if name == "pgHead":
                self._header_bottom = self._lowest_text(group)
            return
        inner = self._context_of(group, name, context)
        before = len(self._marks.texts)
        self._walk(group, inner)
        if name == "mNum":
            self._measure_numbers.extend(range(before, len(self._marks.texts)))
        if name == "measure":
            self._measure_systems.setdefault(inner.measure_id, inner.system)

    def _context_of(self, group: etree._Element, name: str, outer: _Context) -> _Context:
        inner = _Context(
            outer.staff,
            outer.role,
            outer.extent,
            outer.turned_about,
            outer.measure_id,
            outer.system,
            outer.target,
        )
        if outer.role == "system":
            inner.role = ""
        if name in _BESIDE_THE_HEAD and outer.target is not None and outer.target.kind == "note":
            inner.extent = outer.target.accidental if name == "accid" else None
            inner.target = None
        if name == "arpeg":
            inner.turned_about = _turned_about(group)
        elif name == "page-margin":
            self._marks.dx, self._marks.dy = numbers_in(group.get("transform", "0 0"))[:2]
        elif name == "system":
            inner.system, inner.role = self._systems, "system"
            self._systems += 1
        elif name == "measure":
            inner.measure_id = group.get("id", "")
        elif name == "staff":
            self._begin_staff(group, inner)
        elif name in _ROLES:
            inner.role = _ROLES[name]
        elif name in _ELEMENT_KINDS:
            self._begin_target(group, _ELEMENT_KINDS[name], inner)
        elif name in _DIRECTION_CLASSES:
            self._begin_target(group, name, inner)
            inner.staff = -1
        return inner

    def _begin_target(self, group: etree._Element, kind: str, context: _Context) -> None:
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
        context.target, context.extent = target, target.extent

    def _begin_staff(self, group: etree._Element, context: _Context) -> None:
        """Take the staff's lines first: everything else on it is snapped to them."""
        context.role = "staff"
        lines = [
            straight_line(child.get("d", ""))
            for child in group
            if child.tag == f"{SVG}path" and child.get("d", "").count("L") == 1
        ]
        flat = [line for line in lines if line is not None and line[1] == line[3]]
        if not flat:
            context.staff = -1
            return
        number = int(group.get("data-n") or 0)
        dx, dy = self._marks.dx, self._marks.dy
        ys = [line[1] + dy for line in flat]
        x1, x2 = flat[0][0] + dx, flat[0][2] + dx
        context.staff = len(self._staves)
        self._staves.append(Staff(number, context.measure_id, x1, x2, min(ys), max(ys)))

    def _lowest_text(self, group: etree._Element) -> float:
        lows = [
            line.y + max((run.size for run in line.runs), default=0.0) * 0.3
            for text in group.iter(f"{SVG}text")
            for line in text_lines(text, self._marks.dx, self._marks.dy)
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
            box = target.extent.box()
            if box is None:
                continue
            if target.kind in ("note", "rest"):
                beside = target.accidental.box()
                elements.append(Element(target.id, target.kind, target.measure_id, box, beside))
            else:
                directions.append(
                    EngravedDirection(
                        target.id,
                        target.kind,
                        target.measure_id,
                        target.staff,
                        target.tstamp,
                        " ".join(target.extent.text.split()),
                        box,
                    )
                )
        return elements, directions


def _turned_about(group: etree._Element) -> tuple[float, float] | None:
    """The middle of ``rotate(-90 x,y)``; None for a group that lies as it is."""
    turn, *middle = numbers_in(group.get("transform", ""))
    return (middle[0], middle[1]) if turn == -90 and len(middle) == 2 else None
