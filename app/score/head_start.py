"""A head start for ``postil open``: the score is read and engraved while Qt is still imported.

Nothing of weight is imported here at the top; the two threads import what they need.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path
from typing import TYPE_CHECKING

from app.score.typesetter import Typesetter

if TYPE_CHECKING:
    from core.score.reading import FirstLook, ReadScore

_PATIENCE_SECONDS = 4.0
"""Longest wait for the first page before the score is kept all the same."""


class HeadStart:
    """Has one file engraved at once, and read from ``read_on`` on."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.typesetter = Typesetter()
        self.look: Future[FirstLook] = Future()
        """What can be shown before the notes are read; cancelled where there is nothing to show."""
        self.is_seen = threading.Event()
        """Set when the first page is on the screen."""
        self._result: Future[ReadScore] = Future()
        self.typesetter.expect(path)

    def read_on(self) -> None:
        """Let the threads begin, which import; until then only the engraving process works."""
        self.typesetter.start()
        threading.Thread(target=self._read, name="head start", daemon=True).start()

    def when_seen(self, receive: Callable[[FirstLook], None]) -> None:
        """Hand over what can be shown first, on whichever thread has it; nothing if there is none.

        A receiver of the window's must be reached by a signal.
        """

        def seen(look: Future[FirstLook]) -> None:
            if not look.cancelled():
                receive(look.result())

        self.look.add_done_callback(seen)

    def read(self, path: Path) -> ReadScore:
        """The score of the file, waiting for it if need be; another file is read now.

        Raises
        ------
        UnreadableFileError, UnsupportedScoreError
            As ``core.score.reading.read_score``.
        """
        if path != self.path:
            from app.desk.reading import read_file

            return read_file(path)
        read = self._result.result()
        # Keeping it loads much; that can wait until the first page is on the screen.
        self.is_seen.wait(_PATIENCE_SECONDS)
        return read

    def _read(self) -> None:
        try:
            from app.desk.converting_apart import convert_apart
            from core.score.reading import read_score

            read = read_score(self.path, on_look=self.look.set_result, convert=convert_apart)
            self._result.set_result(read)
        except BaseException as error:  # noqa: BLE001  # whoever asks for the result gets it
            self.look.cancel()
            self._result.set_exception(error)
