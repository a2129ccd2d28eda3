"""The engraving thread: it asks the engraving process for pages, so that nobody else waits.

``Typesetter`` is a plain thread and imports nothing of weight before it runs, so that it can
begin before Qt is there. Its answers are delivered to a listener on the thread itself;
``typesetter_signals`` turns them into signals of the window's thread. Of several requests for one
page the newest counts, and what is in sight is done first.
"""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from core.errors import PostilError
from core.score import music_font
from core.score.engraving_process import EngravingProcess

if TYPE_CHECKING:
    from core.score.engraving import PageLayout
    from core.score.long_line import ChunkMeasure
    from core.score.page_drawing import PageDrawing
    from core.score.score import Score

_log = logging.getLogger(__name__)

_DRAWINGS_KEPT = 48
"""Pages whose drawing stays in memory: about 1 MB each."""


class Listener(Protocol):
    """Who hears what the typesetter did. Called on the typesetter's thread."""

    def laid_out(self, job: int, pages: int, width: float, height: float) -> None:
        """A score is laid out; the size of its pages in drawing units."""

    def drawn(self, job: int, drawing: PageDrawing) -> None:
        """A page's drawing is there, or was made anew with the directions' ids."""

    def located(self, job: int, element_id: str, page: int) -> None:
        """On which page an element stands; 0 for none."""

    def measured(self, job: int, number: int, width: float) -> None:
        """How long a chunk's own stretch of the line is, in drawing units; told in order."""

    def spread(self, job: int, height: float) -> None:
        """The line needs more height; its chunks will be drawn anew."""

    def failed(self, job: int, error: Exception) -> None:
        """A score can't be engraved."""


@dataclass(slots=True)
class _Wishes:
    """What is asked for and not yet done."""

    load: tuple[int, bytes, PageLayout, str] | None = None
    score: tuple[int, Score] | None = None
    pages: OrderedDict[int, None] = field(default_factory=OrderedDict)
    located: list[str] = field(default_factory=list)
    chunks: deque[int] = field(default_factory=deque)
    is_over: bool = False


class Typesetter(threading.Thread):
    """Engraves one score at a time.

    Every score asked for is a *job* with a number; answers carry it, so that a late one about
    an earlier score can be told apart.
    """

    def __init__(self, listener: Listener | None = None) -> None:
        super().__init__(name="engraving", daemon=True)
        self._wishes = _Wishes()
        self._turn = threading.Condition()
        self._listener = listener
        self._engraver = EngravingProcess()
        self._drawings: OrderedDict[int, PageDrawing] = OrderedDict()
        self._job = 0
        self._pages = 0
        self._asked: list[ChunkMeasure] = []
        """By the chunks of a long line, as far as they are measured."""

    # ------------------------------------------------------------------ asked from any thread

    def listen(self, listener: Listener) -> None:
        """Deliver to this listener from now on; what was done before is not told again."""
        with self._turn:
            self._listener = listener

    def expect(self, path: Path) -> None:
        """Have a file engraved that will be asked for when it is read; call before ``start``."""
        self._engraver.load_file(path)

    def load(self, job: int, canonical: bytes, layout: PageLayout, *, name: str) -> None:
        """Engrave another score; what was wished for the one before is forgotten.

        A score that is laid out so already is only told of again.
        """
        with self._turn:
            self._wishes = _Wishes(load=(job, canonical, layout, name))
            self._turn.notify()

    def know(self, job: int, score: Score) -> None:
        """Tell what the score of that job says: pages then carry its directions."""
        with self._turn:
            self._wishes.score = (job, score)
            self._turn.notify()

    def draw(self, number: int) -> None:
        """Ask for a page's drawing; the page asked for last is made first."""
        with self._turn:
            self._wishes.pages[number] = None
            self._wishes.pages.move_to_end(number)
            self._turn.notify()

    def forget_pages(self, keep: set[int]) -> None:
        """Drop what was asked for other pages."""
        with self._turn:
            for number in [n for n in self._wishes.pages if n not in keep]:
                del self._wishes.pages[number]

    def locate(self, element_id: str) -> None:
        """Ask on which page a note, rest or measure stands."""
        with self._turn:
            self._wishes.located.append(element_id)
            self._turn.notify()

    def shut_down(self) -> None:
        """End the thread and the engraving process, whatever they are doing."""
        with self._turn:
            self._wishes = _Wishes(is_over=True)
            self._turn.notify()
        self._engraver.shut_down()
        if self.is_alive() and threading.current_thread() is not self:
            self.join(timeout=20)

    # ------------------------------------------------------------------ done on the thread

    def run(self) -> None:
        self._engraver.start()
        # Wanted with the first page; until that comes nobody waits here.
        music_font.load()
        while True:
            with self._turn:
                step = self._next_step()
                while step is None and not self._wishes.is_over:
                    self._turn.wait()
                    step = self._next_step()
                if step is None:
                    return
            try:
                step()
            except PostilError as error:
                self._tell_failure(error)
            except Exception as error:  # noqa: BLE001  # a bug here must not end the thread
                _log.exception("engraving failed")
                self._tell_failure(error)

    def _next_step(self) -> Callable[[], None] | None:
        """The most urgent wish, taken off the list; called with the lock held."""
        wishes = self._wishes
        if wishes.load is not None:
            load, wishes.load = wishes.load, None
            return lambda: self._load(*load)
        if wishes.located:
            element_id = wishes.located.pop(0)
            return lambda: self._locate(element_id)
        if wishes.pages and (wishes.score is None or not self._drawings):
            number, _ = wishes.pages.popitem()
            return lambda: self._draw(number)
        if wishes.score is not None:
            score, wishes.score = wishes.score, None
            return lambda: self._know(*score)
        if wishes.chunks:
            chunk = wishes.chunks.popleft()
            return lambda: self._measure(chunk)
        return None

    def _load(self, job: int, canonical: bytes, layout: PageLayout, name: str) -> None:
        self._job, self._pages = job, 0
        self._drawings.clear()
        laid = self._engraver.load(canonical, layout, name=name)
        self._pages = laid.pages
        self._drawings[1] = laid.first
        pages, width, height = laid.pages, laid.first.width, laid.first.height
        self._tell(lambda listener: listener.laid_out(job, pages, width, height))
        if layout.is_one_line:
            self._asked = []
            with self._turn:
                if self._wishes.load is None:
                    self._wishes.chunks.extend(range(1, pages + 1))

    def _measure(self, number: int) -> None:
        """Measure a chunk when nothing else is to be done; after the last, give all one frame."""
        job, asked = self._job, self._engraver.chunk(number)
        self._asked.append(asked)
        self._tell(lambda listener: listener.measured(job, number, asked.width))
        if number == self._pages:
            self._spread()

    def _spread(self) -> None:
        from core.score.long_line import LineFrame

        frame = LineFrame()
        for asked in self._asked:
            frame = frame.holding(asked)
        if frame == LineFrame():
            return
        self._engraver.spread(frame)
        self._drawings.clear()
        job, height = self._job, self._drawing(1).height
        self._tell(lambda listener: listener.spread(job, height))

    def _know(self, job: int, score: Score) -> None:
        if job != self._job or not self._pages:
            return
        self._engraver.know(score)
        for number in list(self._drawings):
            self._drawings[number] = self._engraver.page(number)
            self._tell_drawing(self._drawings[number])

    def _draw(self, number: int) -> None:
        if 1 <= number <= self._pages:
            self._tell_drawing(self._drawing(number))

    def _locate(self, element_id: str) -> None:
        if not self._pages:
            return
        job, page = self._job, self._engraver.page_of(element_id)
        self._tell(lambda listener: listener.located(job, element_id, page))

    def _drawing(self, number: int) -> PageDrawing:
        drawing = self._drawings.pop(number, None)
        if drawing is None:
            drawing = self._engraver.page(number)
        self._drawings[number] = drawing
        while len(self._drawings) > _DRAWINGS_KEPT:
            self._drawings.popitem(last=False)
        return drawing

    def _tell_drawing(self, drawing: PageDrawing) -> None:
        job = self._job
        for code in {glyph.code for glyph in drawing.glyphs}:
            # From the disk here, and not while the page is painted.
            music_font.outline(code)
        self._tell(lambda listener: listener.drawn(job, drawing))

    def _tell_failure(self, error: Exception) -> None:
        job = self._job
        if not self._wishes.is_over:
            self._tell(lambda listener: listener.failed(job, error))

    def _tell(self, deliver: Callable[[Listener], None]) -> None:
        with self._turn:
            listener = self._listener
        if listener is not None:
            deliver(listener)
