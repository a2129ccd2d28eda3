"""The form line without widgets: what stands in its lanes, and what is current there.

Conventions: everything is laid out in played quarters. A setter compares first, and one signal
a thing tells what changed. Nothing here knows how wide a quarter note is drawn.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from PySide6.QtCore import QObject, Signal

from app.desk.selection import Selection
from app.form import form_parts, printed_tempo
from app.form.form_parts import Box, KeySegment, NumberLabel, RemarkMark, Words
from app.form.played_time import PlayedTime, Stretch
from app.form.slices import Slices, Steps
from app.form.spoken import statement_words
from core.notebook.analyses import Analysis
from core.notebook.values import Remark
from core.score.places import Passage
from core.score.playing_order import playing_order_of
from core.score.score import Score
from core.score.statements import Statement

SHORT_MEASURES = 400
"""A piece of no more measures is laid out at once, in some milliseconds."""


class FormModel(QObject):
    """What the form line shows.

    Attributes
    ----------
    time : PlayedTime or None
        None without a score.
    boxes, keys, words, remarks, numbers : tuple
        What stands in the lanes, by start.
    total : str
        "28 measures as played, 1 min 16 s"; the time only where a tempo is printed.
    here : tuple of Stretch
        Every time the current passage sounds; a point has stretches without length.
    statement : Statement or None
        The one that is meant, where the person chose one.

    Notes
    -----
    A long piece is laid out in slices: then ``time`` stays None, or the lanes as they were, for
    some turns of the event loop.
    """

    time_changed = Signal()
    """Another score, or another playing order: everything is laid out anew."""
    boxes_changed = Signal()
    keys_changed = Signal()
    words_changed = Signal()
    remarks_changed = Signal()
    here_changed = Signal()
    statement_changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.score: Score | None = None
        self.analysis: Analysis | None = None
        self.time: PlayedTime | None = None
        self.boxes: tuple[Box, ...] = ()
        self.keys: tuple[KeySegment, ...] = ()
        self.words: tuple[Words, ...] = ()
        self.remarks: tuple[RemarkMark, ...] = ()
        self.numbers: tuple[NumberLabel, ...] = ()
        self.total = ""
        self.here: tuple[Stretch, ...] = ()
        self.passage: Passage | None = None
        self.statement: Statement | None = None
        self._numbered: tuple[tuple[int, Remark], ...] = ()
        self._wanted: Statement | None = None
        self._slices = Slices(self)

    # What it is told

    def set_score(self, score: Score | None) -> None:
        """Show a score as it is played, or nothing. The analysis of another one is dropped.

        Selection and remarks stay: they may have come before the score was read.
        """
        if score is self.score:
            return
        self.score, self.analysis, self._wanted = score, None, None
        self._clear()
        self._change_statement(None)
        if score is not None:
            self._begin(self._lay_out(score))

    def set_analysis(self, analysis: Analysis | None) -> None:
        """Show what is found in the score. An analysis of another score is not taken."""
        score = self.score
        if score is None or analysis is self.analysis:
            return
        if analysis is not None and analysis.sha256 != score.sha256:
            return
        self.analysis = analysis
        order = analysis.playing_order.measure_indices if analysis is not None else None
        if self.time is None or (order is not None and list(order) != self.time.order):
            self._begin(self._lay_out(score, order))
        else:
            self._begin(self._fill(score, self.time))

    def set_remarks(self, numbered: Sequence[tuple[int, Remark]]) -> None:
        """Show remarks with the numbers that they have in the score."""
        if tuple(numbered) != self._numbered:
            self._numbered = tuple(numbered)
            self._take_remarks()

    def set_selection(self, selection: Selection | None) -> None:
        """Show the current place; None is the whole piece."""
        passage = None if selection is None else selection.passage
        if passage != self.passage:
            self.passage = passage
            self._take_here()

    def set_statement(self, statement: Statement | None) -> None:
        """Show which statement of the current place is meant; None is every one."""
        self._wanted = statement
        if not self._slices.is_busy:
            self._take_statement()

    # What it is asked

    @property
    def statements(self) -> tuple[Statement, ...]:
        """Those that have a box, in the order in which they sound."""
        return tuple(box.statement for box in self.boxes if box.statement is not None)

    @property
    def is_laid_out(self) -> bool:
        """Whether what is shown is all there is."""
        return not self._slices.is_busy

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to lay out."""
        return self.time is None or not len(self.time)

    def box_at(self, quarters: float) -> Box | None:
        """The box at a moment; None outside of all."""
        at = self.box_index_at(quarters)
        return None if at is None else self.boxes[at]

    def box_index_at(self, quarters: float) -> int | None:
        """Index of the box at a moment; None outside of all."""
        at = self._box_begun_at(quarters)
        return at if at is not None and quarters <= self.boxes[at].end else None

    def key_at(self, quarters: float) -> KeySegment | None:
        """The key at a moment; None where none is known."""
        at = bisect_right(self.keys, quarters, key=lambda key: key.start) - 1
        if at < 0 or quarters > self.keys[at].end:
            return None
        return self.keys[at]

    def passage_at(self, quarters: float) -> Passage | None:
        """What a click at a moment means: its measure, or the box where that is shorter."""
        if self.time is None or self.is_empty:
            return None
        position = self.time.position_at(quarters)
        box = self.box_at(quarters)
        if box is not None and box.statement is not None:
            lasts = self.time.lengths[self.time.order[position]]
            inside = box.statement.order_end - box.statement.order_start == 1
            if inside and box.end - box.start < lasts:
                return box.statement.passage
        return self.time.whole_measures(position, position)

    def passage_of_boxes(self, first: int, last: int) -> Passage | None:
        """The written passage that holds two boxes and all between; None without a score."""
        if self.time is None or self.is_empty:
            return None
        shown = [box.statement for box in self.boxes[first : last + 1] if box.statement is not None]
        if not shown:
            return self.time.whole_measures(0, len(self.time) - 1)
        start = min((s.passage.start for s in shown), key=lambda place: place.moment)
        end = max((s.passage.end for s in shown), key=lambda place: place.moment)
        return Passage(start=start, end=end)

    def statement_holding(self, first_quarters: float, last_quarters: float) -> Statement | None:
        """The one statement in which two moments lie; None where they lie in different ones."""
        early, late = sorted((first_quarters, last_quarters))
        box = self.box_at(early)
        return box.statement if box is not None and late <= box.end else None

    def current_box(self) -> int | None:
        """Index of the box that is meant: the chosen statement, else the first one here."""
        if self.statement is not None and self.time is not None:
            at = self._box_begun_at(self.time.stretch_of(self.statement).start)
            if at is not None and self.boxes[at].statement == self.statement:
                return at
        if self.here:
            at = self._box_begun_at(self.here[0].start)
            if at is not None and self.here[0].start < self.boxes[at].end:
                return at
        return None

    def here_shown(self) -> tuple[tuple[Stretch, bool], ...]:
        """The stretches of the current passage, and whether each is in the meant statement."""
        chosen = None
        if self.statement is not None and self.time is not None:
            chosen = self.time.stretch_of(self.statement)
        return tuple(
            (
                stretch,
                chosen is None
                or (stretch.start < chosen.end and stretch.end > chosen.start)
                # A point at the start of the statement has no length.
                or stretch.start == chosen.start,
            )
            for stretch in self.here
        )

    def spoken(self) -> str:
        """The current statement for a screen reader: "A, 2nd statement, measures 1 to 4"."""
        at = self.current_box()
        if at is None or self.score is None:
            return self.total
        return self.spoken_box(self.boxes[at])

    def spoken_box(self, box: Box) -> str:
        """One box in words."""
        if self.score is None or box.statement is None:
            return self.total
        key = self.key_at((box.start + box.end) / 2)
        return statement_words(self.score, box, "" if key is None else key.name)

    # Making

    def _begin(self, steps: Steps[None]) -> None:
        is_short = self.score is None or len(self.score.measures) <= SHORT_MEASURES
        self._slices.begin(steps, is_short=is_short)

    def _clear(self) -> None:
        """Nothing is shown, at once: what was there is of another score."""
        self._slices.stop()
        self.time, self.words, self.total, self.numbers = None, (), "", ()
        self.time_changed.emit()
        self.words_changed.emit()
        self._show_lanes((), (), ())
        self._take_remarks()
        self._take_here()

    def _lay_out(self, score: Score, order: Sequence[int] | None = None) -> Steps[None]:
        """The time anew, and all that lies in it; an order that is not known yet is read."""
        if order is None:
            order = playing_order_of(score).measure_indices
            yield
        time = PlayedTime(score, order)
        yield
        words = yield from form_parts.words_of(score, time)
        total = self._total(score, time)
        yield
        self.time, self.words, self.total = time, words, total
        self.time_changed.emit()
        self.words_changed.emit()
        self._take_remarks()
        self._take_here()
        yield from self._fill(score, time)

    def _fill(self, score: Score, time: PlayedTime) -> Steps[None]:
        """The lanes of what is found."""
        boxes: tuple[Box, ...] = ()
        keys: tuple[KeySegment, ...] = ()
        if len(time):
            analysis = self.analysis
            line = yield from form_parts.tonal_line_of(analysis)
            boxes = yield from form_parts.boxes_of(analysis, line, time)
            keys = yield from form_parts.key_segments_of(analysis, line, time)
            yield
        self._show_lanes(boxes, keys, form_parts.numbers_of(score, boxes, time))
        self._take_statement()

    def _show_lanes(
        self,
        boxes: tuple[Box, ...],
        keys: tuple[KeySegment, ...],
        numbers: tuple[NumberLabel, ...],
    ) -> None:
        self.numbers = numbers
        if boxes != self.boxes:
            self.boxes = boxes
            self.boxes_changed.emit()
        if keys != self.keys:
            self.keys = keys
            self.keys_changed.emit()

    def _take_remarks(self) -> None:
        marks = () if self.time is None else form_parts.remark_marks_of(self._numbered, self.time)
        if marks != self.remarks:
            self.remarks = marks
            self.remarks_changed.emit()

    def _take_here(self) -> None:
        here: tuple[Stretch, ...] = ()
        if self.time is not None and self.passage is not None:
            here = self.time.stretches_of(self.passage)
        if here != self.here:
            self.here = here
            self.here_changed.emit()

    def _take_statement(self) -> None:
        """The statement that is wanted, where there is such a one."""
        wanted = self._wanted
        is_known = wanted is not None and wanted in self.statements
        self._change_statement(wanted if is_known else None)

    def _change_statement(self, statement: Statement | None) -> None:
        if statement != self.statement:
            self.statement = statement
            self.statement_changed.emit()

    def _box_begun_at(self, quarters: float) -> int | None:
        at = bisect_right(self.boxes, quarters, key=lambda box: box.start) - 1
        return at if at >= 0 else None

    def _total(self, score: Score, time: PlayedTime) -> str:
        count = len(time)
        words = f"{count} measure{'s' * (count != 1)} as played"
        seconds = printed_tempo.duration_seconds(score.directions, time)
        return words if seconds is None else f"{words}, {printed_tempo.duration_words(seconds)}"
