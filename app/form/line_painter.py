"""Paints the lanes of the form line; only what is seen.

Conventions: all measures are logical pixels; edges are put on whole device pixels. A base line
is where text stands; the lanes' places are those of the look's first still.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from math import ceil, floor

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app import sign_text
from app.form import lane_text, remark_rows
from app.form.form_model import FormModel
from app.form.form_parts import Box, KeySegment
from app.form.line_fonts import LineFonts, MeasuredFont
from app.form.line_scale import LEFT, LineScale
from app.form.played_time import Stretch
from app.score.page_marks import Certainty
from app.theme import Theme
from app.tonality.key_colors import key_color

NUMBERS_BASE = 16
BOX_TOP, BOX_BOTTOM, BOX_RADIUS, BOX_INSIDE, BOX_GAP = 24, 52, 4, 10, 2
LETTER_BASE, BOX_TEXT_BASE = 44, 42
KEY_TOP, KEY_BOTTOM, KEY_BASE, KEY_INSIDE = 60, 76, 72, 6
CERTAINTY_TOP, CERTAINTY_WIDTH = 78, 1.5
WORDS_BASE = 99
REMARK_ROWS = (114, 128)
"""Middle of each row of remarks."""
HERE_TOP, RULE_BOTTOM, HERE_BOTTOM = 20, 81, 139
RULE_WIDTH = FOCUS_WIDTH = 2
NAMES_RIGHT = LEFT - 8
SCROLL_TOP, SCROLL_HEIGHT = 143, 2
TICK_HEIGHT, LEAST_TICK_GAP = 6, 6
THIN = 3
"""Narrower boxes are lines."""
LEAST_NUMBER_GAP = 44
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000)
"""Every how many measures a number stands."""
DASHES = {Certainty.SOLID: (), Certainty.DASHED: (5.0, 2.5), Certainty.DOTTED: (1.5, 2.5)}
"""Finer than on the page, where lines are longer: dash and gap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineState:
    """What is shown besides the model: the part that is seen, a drag, the focus."""

    scale: LineScale
    width: float
    dragged: tuple[Stretch, ...] | None = None
    has_focus: bool = False


class LinePainter:
    """Paints one state of the line."""

    def __init__(
        self,
        painter: QPainter,
        theme: Theme,
        model: FormModel,
        fonts: LineFonts,
        state: LineState,
    ) -> None:
        self._painter, self._theme, self._model, self._state = painter, theme, model, state
        self._scale = state.scale
        # Once: hundreds of edges are asked for in one painting.
        self._a_quarter, self._first = state.scale.pixels_a_quarter, state.scale.first_quarters
        self._lane_end = state.scale.total_quarters - 1e-9
        # Where the widget stands in its window counts too: it need not be a whole device pixel.
        device = painter.deviceTransform()
        ratio, self._dx, self._dy = device.m11(), device.dx(), device.dy()
        self._ratio = ratio
        self._left, self._right = float(LEFT), LEFT + state.scale.width
        self._small, self._fonts = fonts.small, fonts
        self._key_colors: dict[tuple[int, str], QColor] = {}
        self._hairline = max(1, int(ratio)) / ratio
        self._frame = max(1, int(ratio + 0.5)) / ratio

    def paint(self) -> None:
        """All lanes, then the current place over them."""
        painter, theme = self._painter, self._theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._fill(0, 0, self._state.width, self._hairline, theme.color("hairline"))
        if self._model.is_empty:
            return
        self._lane_names()
        painter.save()
        top = NUMBERS_BASE - 14
        painter.setClipRect(QRectF(self._left - 1, top, self._scale.width + 2, 200))
        self._numbers()
        self._boxes()
        self._keys()
        self._words()
        self._remarks()
        self._here()
        painter.restore()
        self._scroll_mark()

    # Lanes

    def _lane_names(self) -> None:
        names = [("form", BOX_TEXT_BASE), ("key", KEY_BASE), ("words", WORDS_BASE - 1)]
        if self._model.remarks:
            names.append(("remarks", 125))
        self._painter.setFont(self._small.font)
        self._painter.setPen(self._theme.color("quiet"))
        for name, base in names:
            if name == "key" and not self._model.keys:
                continue
            if name == "words" and not self._model.words:
                continue
            at = NAMES_RIGHT - self._small.width(name)
            self._painter.drawText(QPointF(at, base), name)

    def _numbers(self) -> None:
        quiet = self._theme.color("quiet")
        total = self._small.width(self._model.total)
        total_left = self._right - total
        shows_total = total_left > self._left + 60
        end = total_left - 12 if shows_total else self._right
        if shows_total:
            self._text(total_left, NUMBERS_BASE, self._model.total, self._small, quiet)
        taken: list[tuple[float, float]] = []
        numbers = self._model.numbers
        for index in range(
            bisect_left(numbers, self._scale.first_quarters - 1e-9, key=lambda label: label.at),
            bisect_left(numbers, self._scale.last_quarters, key=lambda label: label.at),
        ):
            label = numbers[index]
            if not taken or self._x(label.at) >= taken[-1][1]:
                self._number_label(label.at, label.number, end, taken)
        if self._scale.zoom > 1.0 or len(self._model.boxes) == 1:
            for at, number in self._between_numbers():
                self._number_label(at, number, end, taken)

    def _number_label(
        self, at: float, number: str, end: float, taken: list[tuple[float, float]]
    ) -> None:
        x = self._snap(self._x(at))
        if not self._left - 1 <= x <= end:
            return
        right = x + self._small.width(number)
        gap = lane_text.GAP
        if right > end or any(x < other + gap and right + gap > left for left, other in taken):
            return
        taken.append((x, right))
        self._text(x, NUMBERS_BASE, number, self._small, self._theme.color("quiet"))

    def _between_numbers(self) -> list[tuple[float, str]]:
        """Numbers of measures inside the boxes, as many as have room."""
        time, score = self._model.time, self._model.score
        if time is None or score is None:
            return []
        first, last = self._seen_positions()
        average = self._scale.width / max(1, last - first)
        wanted = ceil(LEAST_NUMBER_GAP / max(average, 1e-6))
        step = next((step for step in STEPS if step >= wanted), STEPS[-1])
        return [
            (time.starts[position], score.measures[time.order[position]].number)
            for position in range(first - first % step, last, step)
        ]

    def _boxes(self) -> None:
        model, graphite = self._model, self._theme.color("graphite")
        current, chosen = model.current_box(), model.statement
        last_thin = -1.0
        for index in self._seen(model.boxes):
            box = model.boxes[index]
            left, right = self._edges(box.start, box.end)
            if right - left < THIN:
                if left - last_thin >= 2:
                    self._fill(left, BOX_TOP, self._hairline, BOX_BOTTOM - BOX_TOP, graphite)
                    last_thin = left
                continue
            is_chosen = chosen is not None and box.statement == chosen
            is_current = index == current and (is_chosen or self._state.has_focus)
            self._box(box, left, right, is_current)
        if len(model.boxes) == 1 and model.boxes[0].statement is None:
            self._ticks()

    def _box(self, box: Box, left: float, right: float, is_current: bool) -> None:
        is_strong = is_current and self._state.has_focus
        line = self._whole(FOCUS_WIDTH) if is_strong else self._frame
        top, bottom = self._snap_down(BOX_TOP), self._snap_down(BOX_BOTTOM)
        frame = QRectF(left, top, right - left, bottom - top)
        frame.adjust(line / 2, line / 2, -line / 2, -line / 2)
        pen = QPen(self._theme.color("print" if is_current else "graphite"), line)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        if DASHES[box.certainty]:
            pen.setDashPattern([part / line for part in DASHES[box.certainty]])
        self._painter.setPen(pen)
        self._painter.setBrush(self._theme.color("field"))
        radius = min(BOX_RADIUS, frame.width() / 2)
        self._painter.drawRoundedRect(frame, radius, radius)
        self._box_texts(box, max(left, self._left), min(right, self._right))

    def _box_texts(self, box: Box, left: float, right: float) -> None:
        """As much as has room: the letter, then which statement, then how it returns."""
        label = box.label.replace("'", "′")
        room, letter = right - left, self._fonts.letter.width(label)
        if not label or room < letter + 4:
            return
        inside = min(BOX_INSIDE, (room - letter) / 2)
        x, end = left + inside, right - BOX_INSIDE
        self._text(x, LETTER_BASE, label, self._fonts.letter, self._theme.color("print"))
        x += letter + 6
        number = self._small.width(box.ordinal)
        if box.ordinal and x + number <= end:
            quiet = self._theme.color("quiet")
            self._text(x, BOX_TEXT_BASE, box.ordinal, self._small, quiet)
            x += number + lane_text.GAP
        relation = self._small.width(box.relation)
        if box.relation and x + relation <= end:
            graphite = self._theme.color("graphite")
            self._text(end - relation, BOX_TEXT_BASE, box.relation, self._small, graphite)

    def _ticks(self) -> None:
        time = self._model.time
        if time is None:
            return
        line = self._theme.color("graphite")
        before = self._left
        first, last = self._seen_positions()
        thinner = max(1, int((last - first) * LEAST_TICK_GAP / max(self._scale.width, 1)))
        for position in range(max(1, first), last, thinner):
            x = self._snap(self._x(time.starts[position]))
            if x - before >= LEAST_TICK_GAP:
                self._fill(x, BOX_BOTTOM - TICK_HEIGHT, self._hairline, TICK_HEIGHT, line)
                before = x

    def _keys(self) -> None:
        painted_to = float("-inf")
        for index in self._seen(self._model.keys):
            segment = self._model.keys[index]
            if self._x(segment.end) <= painted_to:
                # Thinner than a pixel, and another stands there.
                continue
            left, right = self._edges(segment.start, segment.end)
            if right <= left and left <= painted_to:
                continue
            right = max(right, left + self._hairline)
            color = self._key_color(segment)
            self._fill(left, KEY_TOP, right - left, KEY_BOTTOM - KEY_TOP, color)
            self._certainty(segment, left, right)
            painted_to = right
            shown_left = max(left, self._left)
            room = min(right, self._right) - shown_left - 2 * KEY_INSIDE
            if room > 0:
                self._key_name(segment.name, shown_left + KEY_INSIDE, room)

    def _key_color(self, segment: KeySegment) -> QColor:
        role = (segment.fifths, segment.mode)
        if role not in self._key_colors:
            self._key_colors[role] = key_color(*role, is_dark=self._theme.is_dark)
        return self._key_colors[role]

    def _key_name(self, name: str, x: float, room: float) -> None:
        """The whole name, or its tonic, or nothing: a cut name would be another key's."""
        for part in (name, name.partition(" ")[0]):
            shown, width = self._small.key(part)
            if width <= room:
                self._painter.setPen(self._theme.color("print"))
                sign_text.draw(self._painter, QPointF(x, KEY_BASE), shown, self._small.font)
                return

    def _certainty(self, segment: KeySegment, left: float, right: float) -> None:
        color = self._theme.color("graphite")
        dash = DASHES[segment.certainty]
        if not dash:
            self._fill(left, CERTAINTY_TOP, right - left, CERTAINTY_WIDTH, color)
            return
        x = left + max(0.0, (self._left - left) // sum(dash)) * sum(dash)
        end = min(right, self._right)
        while x < end:
            self._fill(x, CERTAINTY_TOP, min(dash[0], end - x), CERTAINTY_WIDTH, color)
            x += sum(dash)

    def _words(self) -> None:
        font, color = self._fonts.words, self._theme.color("print")
        for entry in fitted_words(self._model, self._scale, self._fonts):
            if entry.text:
                self._text(entry.x, WORDS_BASE, entry.text, font, color)
            else:
                self._dot(entry.x, WORDS_BASE - lane_text.DOT, color)

    def _remarks(self) -> None:
        font, ink = self._fonts.number, self._theme.color("ink")
        for entry in placed_remarks(self._model, self._scale, self._fonts):
            middle = REMARK_ROWS[entry.row]
            if entry.is_dot:
                self._dot(entry.x, middle - remark_rows.DOT / 2, ink)
                continue
            self._text(entry.x, middle + 5, str(entry.mark.number), font, ink)
            if entry.has_line:
                start = entry.x + entry.number_width + 4
                self._fill(start, middle, entry.right - start, self._hairline, ink)
                if not entry.is_cut:
                    self._fill(entry.right - self._hairline, middle - 4, self._hairline, 5, ink)

    def _here(self) -> None:
        wash, rule = self._theme.color("here"), self._theme.color("print")
        if self._state.dragged is not None:
            shown = tuple((stretch, True) for stretch in self._state.dragged)
        else:
            shown = self._model.here_shown()
        for stretch, is_meant in shown:
            left, right = self._x(stretch.start), self._x(stretch.end)
            if right < self._left or left > self._right:
                continue
            left, right = self._snap(left), self._snap(right)
            self._fill(left, HERE_TOP, right - left, HERE_BOTTOM - HERE_TOP, wash)
            if is_meant:
                self._fill(left, HERE_TOP, RULE_WIDTH, RULE_BOTTOM - HERE_TOP, rule)

    def _scroll_mark(self) -> None:
        """Which part of the piece is seen; nothing while all of it is."""
        scale = self._scale
        if scale.zoom <= 1.0:
            return
        share = scale.width / scale.total_quarters
        track, bar = self._theme.color("hairline"), self._theme.color("quiet")
        self._fill(self._left, SCROLL_TOP, scale.width, SCROLL_HEIGHT, track)
        width = max(12.0, scale.shown_quarters * share)
        x = min(self._left + scale.first_quarters * share, self._right - width)
        self._fill(x, SCROLL_TOP, width, SCROLL_HEIGHT, bar)

    # Measures

    def _seen(self, parts: tuple[Box, ...] | tuple[KeySegment, ...]) -> range:
        first = bisect_left(parts, self._scale.first_quarters, key=lambda part: part.end)
        last = bisect_left(parts, self._scale.last_quarters, key=lambda part: part.start)
        return range(first, last)

    def _seen_positions(self) -> tuple[int, int]:
        time = self._model.time
        if time is None or not len(time):
            return 0, 0
        first = time.position_at(self._scale.first_quarters)
        return first, time.position_at(self._scale.last_quarters) + 1

    def _x(self, quarters: float) -> float:
        return LEFT + (quarters - self._first) * self._a_quarter

    def _edges(self, start: float, end: float) -> tuple[float, float]:
        """Edges on whole device pixels; what ends with the lane ends there, others a gap before."""
        left, right = self._snap(self._x(start)), self._snap(self._x(end))
        if end < self._lane_end:
            right -= BOX_GAP
        return left, right if right > left else left

    def _snap(self, x: float) -> float:
        return (floor(x * self._ratio + self._dx + 0.5) - self._dx) / self._ratio

    def _snap_down(self, y: float) -> float:
        return (floor(y * self._ratio + self._dy + 0.5) - self._dy) / self._ratio

    # Strokes

    def _text(self, x: float, base: float, text: str, font: MeasuredFont, color: QColor) -> None:
        self._painter.setFont(font.font)
        self._painter.setPen(color)
        self._painter.drawText(QPointF(x, base), text)

    def _fill(self, x: float, y: float, width: float, height: float, color: QColor) -> None:
        left, top = self._snap(x), self._snap_down(y)
        # Areas meet at their edges; a thin line keeps its thickness, wherever it falls.
        right = left + self._whole(width) if width < THIN else self._snap(x + width)
        self._painter.fillRect(QRectF(left, top, right - left, self._whole(height)), color)

    def _whole(self, size: float) -> float:
        """A size of one or more whole device pixels; nothing where there is none."""
        return max(1, floor(size * self._ratio + 0.5)) / self._ratio if size > 0 else 0.0

    def _dot(self, x: float, y: float, color: QColor) -> None:
        self._painter.setPen(Qt.PenStyle.NoPen)
        self._painter.setBrush(color)
        self._painter.drawEllipse(QRectF(x, y, lane_text.DOT, lane_text.DOT))


def fitted_words(model: FormModel, scale: LineScale, fonts: LineFonts) -> list[lane_text.LaneText]:
    """The words as they stand in their lane, for painting and for the pointer."""
    return lane_text.fitted(model.words, scale, width=fonts.words.width, cut=fonts.words.cut)


def placed_remarks(
    model: FormModel, scale: LineScale, fonts: LineFonts
) -> list[remark_rows.PlacedRemark]:
    """The remarks as they stand in their lane, for painting and for the pointer."""
    return remark_rows.placed_remarks(model.remarks, scale, fonts.number.width)
