"""The engraver in a process of its own.

Verovio holds the interpreter lock for as long as it loads and draws (0.6 s for 300 measures,
measured with 6.4), so on a thread it would stop everything else in its process. A crash of the
engraver is then one score that can't be shown, and no more.

``EngravingProcess`` has the methods of ``Engraver``; each waits for its answer. It is used from
one thread at a time. The process ends with ``shut_down``, and by itself when its owner is gone.
"""

from __future__ import annotations

import multiprocessing
import signal
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from core.errors import PostilError, UnsupportedScoreError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    from core.score.engraving import Engraver, PageLayout, PrintedWords
    from core.score.long_line import ChunkMeasure, LineFrame
    from core.score.page_drawing import PageDrawing
    from core.score.score import Score

_PATIENCE_SECONDS = 2.0
"""How long a process that was asked to end is waited for before it is ended."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A score is laid out: how many pages, and the first of them."""

    pages: int
    first: PageDrawing


class EngravingProcess:
    """One engraver, elsewhere."""

    def __init__(self) -> None:
        self._process: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None
        self._starting = threading.Lock()
        self._is_over = False

    @property
    def pid(self) -> int | None:
        """The process's number; None while there is none."""
        return self._process.pid if self._process is not None else None

    def start(self) -> None:
        """Start the process, so that it is there when it is needed; does nothing twice."""
        with self._starting:
            if self._is_over or (self._process is not None and self._process.is_alive()):
                return
            context = multiprocessing.get_context("spawn")
            self._pipe, theirs = context.Pipe()
            process = context.Process(
                target=serve, args=(theirs,), name="postil-engraving", daemon=True
            )
            process.start()
            self._process = process
            theirs.close()

    def load_file(self, path: Path) -> None:
        """Begin on a file before anybody has read it, in the usual layout.

        The answer comes with ``load``. A file that can't be read is passed over: whoever reads
        it says why.
        """
        self.start()
        with suppress(OSError):
            self._send("load_file", path)

    def load(self, canonical: bytes, layout: PageLayout, *, name: str = "score") -> Laid:
        """Lay out; a score that is laid out so already is answered at once.

        Raises
        ------
        UnsupportedScoreError
            The engraver can't lay this score out, or stopped over it.
        """
        self.start()
        laid: Laid = self._ask(name, "load", canonical, layout, name)
        return laid

    def know(self, score: Score) -> None:
        """As ``Engraver.know``."""
        from core.score.engraving import PrintedWords

        self._ask(score.title, "know", PrintedWords.of(score))

    def page(self, number: int) -> PageDrawing:
        """As ``Engraver.page``."""
        drawing: PageDrawing = self._ask(f"page {number}", "page", number)
        return drawing

    def chunk(self, number: int) -> ChunkMeasure:
        """As ``Engraver.chunk``."""
        measured: ChunkMeasure = self._ask(f"chunk {number}", "chunk", number)
        return measured

    def spread(self, frame: LineFrame) -> None:
        """As ``Engraver.spread``."""
        self._ask("the line", "spread", frame)

    def page_of(self, element_id: str) -> int:
        """As ``Engraver.page_of``."""
        return int(self._ask(element_id, "page_of", element_id))

    def shut_down(self) -> None:
        """End the process for good; safe to call twice, and from any thread."""
        with self._starting:
            self._is_over = True
            # Whoever waits for an answer reads to the pipe's end; it closes with its last owner.
            process, self._process, self._pipe = self._process, None, None
        if process is None:
            return
        process.kill()
        process.join(_PATIENCE_SECONDS)

    def _ask(self, what: str, verb: str, *arguments: object) -> Any:
        try:
            is_done, answer = self._send(verb, *arguments).recv()
        except (EOFError, OSError) as error:
            self._process = None
            raise UnsupportedScoreError(
                what, "The engraver stopped over this score. It can't be shown; its notes are kept."
            ) from error
        if not is_done:
            raise answer
        return answer

    def _send(self, verb: str, *arguments: object) -> Connection:
        pipe = self._pipe
        if pipe is None:
            raise OSError("the engraving process is not there")
        pipe.send((verb, arguments))
        return pipe


def serve(pipe: Connection) -> None:
    """Answer until the other end is gone; runs in the engraving process."""
    # Ctrl-C in a terminal reaches every process of the group; the window decides what it means.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    desk = _Desk()
    verbs: dict[str, Callable[..., object]] = {
        "load": desk.load,
        "know": desk.know,
        "page": desk.page,
        "page_of": desk.page_of,
        "chunk": desk.chunk,
        "spread": desk.spread,
    }
    with suppress(EOFError, OSError):
        while True:
            verb, arguments = pipe.recv()
            if verb == "load_file":
                desk.load_file(*arguments)
                continue
            pipe.send(_answer(verbs[verb], arguments))


def _answer(work: Callable[..., object], arguments: tuple[object, ...]) -> tuple[bool, object]:
    try:
        return True, work(*arguments)
    except Exception as error:  # noqa: BLE001  # it belongs to whoever asked
        return False, error


class _Desk:
    """The engraver and what lies on it."""

    def __init__(self) -> None:
        from core.score.engraving import Engraver

        self._engraver: Engraver = Engraver()
        self._laid: tuple[bytes, PageLayout] | None = None
        self._pages = 0

    def load_file(self, path: Path) -> None:
        from core.score.engraving import PageLayout
        from core.score.score_files import canonical_form

        with suppress(PostilError):
            canonical = canonical_form(path)
            if canonical is not None:
                self._lay(canonical, PageLayout(), path.name)

    def load(self, canonical: bytes, layout: PageLayout, name: str) -> Laid:
        if self._laid != (canonical, layout):
            self._lay(canonical, layout, name)
        return Laid(pages=self._pages, first=self._engraver.page(1))

    def _lay(self, canonical: bytes, layout: PageLayout, name: str) -> None:
        self._laid = None
        self._pages = self._engraver.load(canonical, layout, name=name)
        self._laid = (canonical, layout)

    def know(self, words: PrintedWords) -> None:
        self._engraver.know(words)

    def page(self, number: int) -> PageDrawing:
        return self._engraver.page(number)

    def page_of(self, element_id: str) -> int:
        return self._engraver.page_of(element_id)

    def chunk(self, number: int) -> ChunkMeasure:
        return self._engraver.chunk(number)

    def spread(self, frame: LineFrame) -> None:
        self._engraver.spread(frame)
