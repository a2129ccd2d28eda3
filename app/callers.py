"""What a window does for later starts of Postil on its notebook: listen, take scores, come forward.

The other half of ``one_window``. Everything happens in the window's event loop, without a thread;
a window that hangs does not answer, and the caller goes on by itself.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from PySide6.QtCore import QObject, QSocketNotifier, Qt, QTimer, Signal
from PySide6.QtWidgets import QWidget

from app.one_window import (
    ELSEWHERE,
    LONGEST_BYTES,
    NOT_OURS,
    TAKEN,
    TOKENS,
    display,
    socket_path,
)

PATIENCE_MS = 5000
"""A caller that has not said all by then is hung up on."""
_READ_BYTES = 1 << 16
_LEAST_PARTS = 3
"""Notebook, display, token; the rest are paths."""


class Callers(QObject):
    """Listens for those who call about one notebook.

    Parameters
    ----------
    key : str
        ``one_window.notebook_key`` of the notebook.
    """

    called = Signal(tuple, str)
    """The ``Path``s that were handed over, and a token to come forward with (may be empty)."""

    def __init__(self, key: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._key, self._display = key, display()
        self._path = socket_path(key)
        self._door: socket.socket | None = None
        self._notifier: QSocketNotifier | None = None
        self._lines: set[_Line] = set()

    def listen(self) -> bool:
        """Begin; whether this window is the one that listens."""
        if self._path is None or _is_answered(self._path):
            return False
        # Under its name only once it answers, or whoever calls in between would be refused.
        unready = self._path.with_name(f"{self._path.name}.{os.getpid()}")
        self._door = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            self._door.bind(str(unready))
            unready.chmod(0o600)
            self._door.listen()
            self._door.setblocking(False)
            unready.replace(self._path)
        except OSError:
            # No room, or a path too long for a socket: later starts go on by themselves.
            self.close()
            return False
        self._notifier = _when_readable(self._door, self._on_call, self)
        return True

    def close(self) -> None:
        """Listen no more, and leave nothing behind."""
        for line in tuple(self._lines):
            line.hang_up()
        if self._notifier is not None:
            self._notifier.setEnabled(False)
            self._notifier = None
            if self._path is not None:
                self._path.unlink(missing_ok=True)
        if self._door is not None:
            self._door.close()
            self._door = None

    def _on_call(self) -> None:
        if self._door is None:
            return
        # It may have hung up meanwhile.
        with suppress(OSError):
            connection, _ = self._door.accept()
            self._lines.add(_Line(connection, self._on_said, self._lines.discard, self))

    def _on_said(self, said: bytes) -> bytes:
        """Take what one caller said; the answer."""
        parts = [os.fsdecode(part) for part in said.split(b"\0")[:-1]]
        if len(parts) < _LEAST_PARTS or parts[0] != self._key:
            return NOT_OURS
        _, their_display, token, *paths = parts
        if their_display != self._display:
            return ELSEWHERE
        self.called.emit(tuple(Path(path) for path in paths), token)
        return TAKEN


class _Line(QObject):
    """One caller, until it has said all and was answered."""

    def __init__(
        self,
        connection: socket.socket,
        answer_to: Callable[[bytes], bytes],
        ended: Callable[[_Line], None],
        parent: QObject,
    ) -> None:
        super().__init__(parent)
        self._connection, self._answer_to, self._ended = connection, answer_to, ended
        self._said = b""
        connection.setblocking(False)
        self._notifier = _when_readable(connection, self._on_readable, self)
        self._patience = QTimer(self, interval=PATIENCE_MS, singleShot=True)
        self._patience.timeout.connect(self.hang_up)
        self._patience.start()

    def hang_up(self) -> None:
        """Listen to this one no more."""
        self._notifier.setEnabled(False)
        self._patience.stop()
        self._connection.close()
        self._ended(self)
        self.deleteLater()

    def _on_readable(self) -> None:
        try:
            part = self._connection.recv(_READ_BYTES)
        except BlockingIOError:
            return
        except OSError:
            self.hang_up()
            return
        self._said += part
        if len(self._said) > LONGEST_BYTES:
            self.hang_up()
        elif not part:
            with suppress(OSError):
                self._connection.send(self._answer_to(self._said))
            self.hang_up()


def come_forward(window: QWidget, token: str = "") -> None:
    """Show a window over the others, with the desktop's token where there is one."""
    if token:
        # Qt's plugins for X11 and Wayland look there, and use it up.
        os.environ[TOKENS[0]] = token
    state = window.windowState() & ~Qt.WindowState.WindowMinimized
    window.setWindowState(state | Qt.WindowState.WindowActive)
    window.show()
    window.raise_()
    window.activateWindow()


def _is_answered(path: Path) -> bool:
    """Whether somebody listens there, or hangs while it should."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
        line.settimeout(0.1)
        try:
            line.connect(str(path))
        except (FileNotFoundError, ConnectionRefusedError):
            return False
        except OSError:
            return path.exists()
    return True


def _when_readable(
    connection: socket.socket, act: Callable[[], None], parent: QObject
) -> QSocketNotifier:
    notifier = QSocketNotifier(connection.fileno(), QSocketNotifier.Type.Read, parent)
    notifier.activated.connect(lambda *_: act())
    return notifier
