"""Between places of the score and points of a page.

Points are drawing units of the page. Free of Qt, so that it can be tested without a screen.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction

from app.desk.selection import Selection
from core.notebook.values import AnchorKind
from core.score.page_drawing import UNITS_PER_SPACE, Box, Element, MeasureBox, PageDrawing
from core.score.places import Passage, Place
from core.score.score import Score

_BEFORE_NOTE = 0.9 * UNITS_PER_SPACE
"""A passage that begins at a note begins this far before its head."""

_REACH = 0.7 * UNITS_PER_SPACE
"""How far beside a mark a pointer may be and still mean it."""


@dataclass(frozen=True, slots=True)
class Timed:
    """When something that is drawn happens: a note, a rest, a direction."""

    measure_index: int
    onset: int
    staff: int
    kind: str
    is_whole_measure: bool = False


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of one system: left, right, and the system's first and last staff line."""

    system: int
    left: float
    right: float
    top: float
    bottom: float


class ScoreIndex:
    """Ids of a score with their times. Cheap to make: what is asked for is looked up then."""

    def __init__(self, score: Score) -> None:
        self.score = score
        self.measure_indices = {measure.id: measure.index for measure in score.measures}
        self._notes = {note_id: row for row, note_id in enumerate(score.notes.ids)}
        self._rests = {rest_id: row for row, rest_id in enumerate(score.rests.ids)}
        self._directions = {direction.id: direction for direction in score.directions}

    def timed(self, element_id: str) -> Timed | None:
        """When something happens; None if the score hasn't it."""
        row = self._notes.get(element_id)
        if row is not None:
            notes = self.score.notes
            return Timed(
                int(notes.measure[row]), int(notes.onset[row]), int(notes.staff[row]), "note"
            )
        row = self._rests.get(element_id)
        if row is not None:
            rests = self.score.rests
            return Timed(
                int(rests.measure[row]),
                int(rests.onset[row]),
                int(rests.staff[row]),
                "rest",
                bool(rests.is_whole_measure[row]),
            )
        direction = self._directions.get(element_id)
        if direction is None:
            return None
        return Timed(direction.measure_index, direction.onset, direction.staff, "direction")

    def offset_of(self, timed: Timed) -> Fraction:
        """Quarter notes from the start of its measure."""
        measure = self.score.measures[timed.measure_index]
        return Fraction(timed.onset - measure.onset, self.score.ticks_per_quarter)

    def place_of(self, element_id: str) -> Place | None:
        """The place of a note, rest or direction; None if the score hasn't it."""
        timed = self.timed(element_id)
        if timed is None:
            return None
        return Place(
            measure_index=timed.measure_index,
            offset_quarters=max(self.offset_of(timed), Fraction(0)),
            staff=timed.staff,
            note_id=element_id if timed.kind != "direction" else None,
        )

    def selection_of(self, element_id: str) -> Selection | None:
        """A note, rest or direction as what is selected."""
        place, timed = self.place_of(element_id), self.timed(element_id)
        if place is None or timed is None:
            return None
        kinds = {"note": AnchorKind.NOTE, "direction": AnchorKind.DIRECTION}
        kind = kinds.get(timed.kind, AnchorKind.PLACE)
        return Selection(kind=kind, passage=Passage.at(place), element_id=element_id)


class PageGeometry:
    """One page of a score: what lies where."""

    def __init__(self, drawing: PageDrawing, index: ScoreIndex) -> None:
        self.drawing, self._index = drawing, index
        self._measures = {
            index.measure_indices[box.id]: box
            for box in drawing.measures
            if box.id in index.measure_indices
        }
        self._known_columns: dict[int, list[tuple[int, float]]] | None = None
        self._tops: dict[int, float] | None = None
        self._lows: dict[int, float] | None = None
        self._boxes: dict[str, Box] | None = None
        self._range = (min(self._measures), max(self._measures)) if self._measures else None
        self._system_edges: dict[int, tuple[float, float]] = {}
        self._system_lefts: dict[int, float] = {}
        for box in self._measures.values():
            left = self._system_lefts.get(box.system, box.box[0])
            self._system_lefts[box.system] = min(left, box.box[0])
            top, bottom = self._system_edges.get(box.system, (box.box[1], box.box[3]))
            self._system_edges[box.system] = (min(top, box.box[1]), max(bottom, box.box[3]))

    @property
    def _columns(self) -> dict[int, list[tuple[int, float]]]:
        if self._known_columns is None:
            # Not before a place is looked for: with nothing marked, none is.
            self._known_columns = self._columns_of()
        return self._known_columns

    def _columns_of(self) -> dict[int, list[tuple[int, float]]]:
        """Onset and left edge of what sounds together, for each measure, in order."""
        lefts: dict[int, dict[int, float]] = {}
        for element in self.drawing.elements:
            timed = self._index.timed(element.id)
            if timed is None or timed.kind == "direction" or timed.is_whole_measure:
                continue
            column = lefts.setdefault(timed.measure_index, {})
            column[timed.onset] = min(column.get(timed.onset, float("inf")), element.box[0])
        return {index: sorted(column.items()) for index, column in lefts.items()}

    @property
    def measure_range(self) -> tuple[int, int] | None:
        """First and last measure index on the page."""
        return self._range

    def begins_here(self, passage: Passage) -> bool:
        """Whether a passage begins on this page; on any page, unless it is a chunk of a line."""
        if not self.drawing.is_continued or self._range is None:
            return True
        return passage.start.measure_index >= self._range[0]

    def ends_here(self, passage: Passage) -> bool:
        """The same of its end."""
        if not self.drawing.bleed or self._range is None or passage.is_point:
            return True
        end = passage.end
        return end.measure_index - (end.offset_quarters == 0) <= self._range[1]

    def system_left(self, system: int) -> float:
        """Where a system's first staff line begins."""
        return self._system_lefts[system]

    def top_of_system(self, system: int) -> float:
        """The highest note, rest, direction or ending of a system, or its top staff line."""
        if self._tops is None:
            systems = {box.id: box.system for box in self.drawing.measures}
            self._tops = {}
            for element in self.drawing.elements:
                number = systems.get(element.measure_id)
                if number is not None:
                    self._tops[number] = min(element.box[1], self._tops.get(number, float("inf")))
            for line in self.drawing.lines:
                if line.role == "ending":
                    number = self._system_under(line.y1)
                    self._tops[number] = min(line.y1, self._tops.get(number, float("inf")))
        return min(self._tops.get(system, float("inf")), self._system_edges[system][0])

    def bottom_of_system(self, system: int) -> float:
        """The lowest note, rest or direction of a system, or its bottom staff line."""
        if self._lows is None:
            systems = {box.id: box.system for box in self.drawing.measures}
            self._lows = {}
            for element in self.drawing.elements:
                number = systems.get(element.measure_id)
                if number is not None:
                    self._lows[number] = max(element.box[3], self._lows.get(number, 0.0))
        return max(self._lows.get(system, 0.0), self._system_edges[system][1])

    def top_staff_line(self, system: int) -> float | None:
        """The first staff line of a system; None where the page has no such system."""
        edges = self._system_edges.get(system)
        return None if edges is None else edges[0]

    def _system_under(self, y: float) -> int:
        """The system whose first staff line is the next one below; the last one where none is."""
        below = [(top, number) for number, (top, _) in self._system_edges.items() if top >= y]
        return min(below)[1] if below else max(self._system_edges)

    def span_of(self, element_id: str) -> Span | None:
        """The system on which an element stands, as a span without width at its place."""
        timed = self._index.timed(element_id)
        return None if timed is None else self._point_span(timed.measure_index, timed.onset)

    def element_box(self, element_id: str) -> Box | None:
        """Where an element is drawn on this page."""
        if self._boxes is None:
            self._boxes = {element.id: element.box for element in self.drawing.elements}
        return self._boxes.get(element_id)

    # ------------------------------------------------------------------ place to point

    def x_of(self, measure_index: int, onset: int) -> float:
        """Where a moment of a measure on this page lies; between heads by proportion."""
        box = self._measures[measure_index].box
        measure = self._index.score.measures[measure_index]
        end = measure.onset + measure.duration
        if onset >= end:
            return box[2]
        columns = self._columns.get(measure_index, [])
        if not columns or onset <= measure.onset:
            return self._left_edge(measure_index)
        at = bisect_left(columns, (onset, float("-inf")))
        if at < len(columns) and columns[at][0] == onset:
            return columns[at][1] - _BEFORE_NOTE
        before = columns[at - 1] if at else (measure.onset, self._left_edge(measure_index))
        after = columns[at] if at < len(columns) else (end, box[2])
        share = (onset - before[0]) / max(1, after[0] - before[0])
        return before[1] + share * (after[1] - before[1]) - _BEFORE_NOTE * (1 - share)

    def _left_edge(self, measure_index: int) -> float:
        """The measure's left barline, or its first head where clef and signature come before."""
        box = self._measures[measure_index]
        columns = self._columns.get(measure_index, [])
        is_first = box.box[0] <= self._system_lefts[box.system]
        if is_first and columns:
            return max(box.box[0], columns[0][1] - 1.6 * UNITS_PER_SPACE)
        return box.box[0]

    def spans(self, passage: Passage) -> list[Span]:
        """The parts of a passage on this page, one a system."""
        score = self._index.score
        on_page = self.measure_range
        if on_page is None:
            return []
        first = max(passage.start.measure_index, on_page[0])
        last = min(passage.end.measure_index - (passage.end.offset_quarters == 0), on_page[1])
        if first > last:
            return []
        start, end = score.onset_of(passage.start), score.onset_of(passage.end)
        found: dict[int, tuple[float, float]] = {}
        for measure_index in range(first, last + 1):
            box = self._measures.get(measure_index)
            if box is None:
                continue
            measure = score.measures[measure_index]
            left = self.x_of(measure_index, max(start, measure.onset))
            right = self.x_of(measure_index, min(end, measure.onset + measure.duration))
            old = found.get(box.system, (left, right))
            found[box.system] = (min(old[0], left), max(old[1], right))
        return [self._span(system, *edges) for system, edges in sorted(found.items())]

    def _span(self, system: int, left: float, right: float) -> Span:
        top, bottom = self._system_edges[system]
        return Span(system, left, right, top, bottom)

    def point_span(self, place: Place) -> Span | None:
        """A place as a span without width; None if it isn't on this page."""
        return self._point_span(place.measure_index, self._index.score.onset_of(place))

    def _point_span(self, measure_index: int, onset: int) -> Span | None:
        box = self._measures.get(measure_index)
        if box is None:
            return None
        x = self.x_of(measure_index, onset)
        return self._span(box.system, x, x)

    # ------------------------------------------------------------------ point to place

    def element_at(self, x: float, y: float) -> Element | None:
        """The note, rest or direction under a point or nearest within reach."""
        near = [
            (distance, _from_middle(element.box, x, y), number)
            for number, element in enumerate(self.drawing.elements)
            if (distance := _distance(element.box, x, y)) <= _REACH
        ]
        return self.drawing.elements[min(near)[2]] if near else None

    def measure_at(self, x: float, y: float) -> int | None:
        """Index of the measure under a point, or of the system's nearest one."""
        system = self._system_at(y)
        if system is None:
            return None
        boxes = [(i, b) for i, b in self._measures.items() if b.system == system]
        return min(boxes, key=lambda item: _distance_across(item[1], x))[0]

    def first_measure_beyond(self, x: float, y: float) -> int | None:
        """Index of the first measure that ends right of and below a point."""
        beyond = (i for i, m in sorted(self._measures.items()) if m.box[2] > x and m.box[3] > y)
        return next(beyond, None)

    def _system_at(self, y: float) -> int | None:
        if not self._system_edges:
            return None
        edges = self._system_edges
        system = min(edges, key=lambda s: max(edges[s][0] - y, y - edges[s][1], 0.0))
        away = max(edges[system][0] - y, y - edges[system][1], 0.0)
        return system if away <= 5 * UNITS_PER_SPACE else None

    def place_at(self, x: float, y: float, *, is_end: bool = False) -> Place | None:
        """The place under a point: the last column at or left of it; as an end, the next one."""
        measure_index = self.measure_at(x, y)
        if measure_index is None:
            return None
        measure = self._index.score.measures[measure_index]
        columns = self._columns.get(measure_index, [])
        onsets = [onset for onset, left in columns if left - _BEFORE_NOTE <= x]
        if is_end:
            later = [onset for onset, left in columns if left - _BEFORE_NOTE > x]
            if not later:
                return Place(measure_index=measure_index + 1)
            onset = later[0]
        else:
            onset = onsets[-1] if onsets else measure.onset
        offset = Fraction(onset - measure.onset, self._index.score.ticks_per_quarter)
        return Place(measure_index=measure_index, offset_quarters=offset)


def _distance(box: Box, x: float, y: float) -> float:
    across = max(box[0] - x, x - box[2], 0.0)
    along = max(box[1] - y, y - box[3], 0.0)
    return max(across, along)


def _from_middle(box: Box, x: float, y: float) -> float:
    return abs(x - (box[0] + box[2]) / 2) + abs(y - (box[1] + box[3]) / 2)


def _distance_across(measure: MeasureBox, x: float) -> float:
    return max(measure.box[0] - x, x - measure.box[2], 0.0)
