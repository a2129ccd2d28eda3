"""The player in a process of its own.

QtMultimedia loads for 40 to 90 ms on a quiet machine and for half a second on a busy one, on the
thread that asks for it: nothing else happens in that thread meanwhile, early or late. In a
process of its own it costs the window nothing; nor do performing and rendering, which share no
interpreter with it, and a window that is busy never interrupts the sound. A crash of the audio
system is then one sentence, and the next playing starts another process.

``PlayerProcess`` is the window's end. Wishes and news go through a pipe, and each way has a
thread, so that nothing here ever waits but ``shut_down``. The process ends with it, and by
itself when the other end of its pipe is gone, even if the window was killed.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from queue import SimpleQueue
from typing import TYPE_CHECKING

from app.interrupts import interrupts_held
from app.job_process import NICENESS, NO_START, how_it_died
from app.sound.talk import Doors, Exported, Gone, News, Over, Ready, Wish
from core.errors import PostilError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

PATIENCE_SECONDS = 2.0
"""How long the player may take to let keys up and give files up before it is ended."""
SWITCH_SECONDS = 0.001
"""How long rendering may hold the interpreter while the output waits."""


class PlayerProcess:
    """One player, elsewhere; used from the window's thread.

    Parameters
    ----------
    doors : Doors
        Its functions are named to the process, so they belong to a module.
    tell : callable
        Takes the news, on a thread of this object.
    """

    def __init__(self, doors: Doors, tell: Callable[[News], None]) -> None:
        self._doors, self._tell = doors, tell
        self._wishes: SimpleQueue[Wish | None] = SimpleQueue()
        self._lock = threading.Lock()
        self._process: BaseProcess | None = None
        self._is_over = False
        self._sender = threading.Thread(target=self._send, name="postil: to player", daemon=True)
        self._sender.start()

    @property
    def pid(self) -> int | None:
        """The process's number; None while there is none."""
        with self._lock:
            return None if self._process is None else self._process.pid

    def send(self, wish: Wish) -> None:
        """Hand a wish over; it is done after those before it."""
        self._wishes.put(wish)

    def shut_down(self, *, at_once: bool = True) -> None:
        """End the process; without ``at_once`` it first lets keys up and gives up its files."""
        with self._lock:
            self._is_over = True
            process = self._process
        self._wishes.put(None)
        if process is not None:
            if not at_once:
                process.join(PATIENCE_SECONDS)
            process.kill()
        self._sender.join()

    def _send(self) -> None:
        try:
            process, pipe = self._start()
        except OSError as error:
            self._tell_end(NO_START.format(error))
            return
        hearer = threading.Thread(
            target=self._hear, args=(pipe,), name="postil: from player", daemon=True
        )
        hearer.start()
        # A player that is gone takes no more; the other thread sees why.
        with suppress(OSError, ValueError):
            while (wish := self._wishes.get()) is not None:
                pipe.send(wish)
            pipe.send(None)
        hearer.join()
        pipe.close()
        process.join()
        self._tell_end(how_it_died(process.exitcode))

    def _start(self) -> tuple[BaseProcess, Connection]:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(
            target=serve, args=(theirs, self._doors), name="postil: player", daemon=True
        )
        with interrupts_held():
            process.start()
        theirs.close()
        with self._lock:
            self._process = process
            if self._is_over:
                process.kill()
        return process, ours

    def _hear(self, pipe: Connection) -> None:
        with suppress(EOFError, OSError):
            while True:
                self._tell(pipe.recv())
        # Wakes the other thread, which sees it off.
        self._wishes.put(None)

    def _tell_end(self, how: str) -> None:
        with self._lock:
            is_unasked = not self._is_over
        if is_unasked:
            self._tell(Gone(how=how))


# ---------------------------------------------------------------------------- in the process


def serve(pipe: Connection, doors: Doors) -> None:
    """Do what is wished until the other end is gone; runs in the player's process."""
    # Ctrl-C in a terminal reaches every process of the group; the window decides what it means.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.setswitchinterval(SWITCH_SECONDS)
    from PySide6.QtCore import QCoreApplication, QObject, Qt, QTimer, Signal, qInstallMessageHandler

    # What an audio system lacks is said in a sentence; its own remarks reach nobody.
    qInstallMessageHandler(lambda *_: None)
    application = QCoreApplication([])
    _load_in_the_background()
    from app.sound.performer import Performer

    class Mailbox(QObject):
        arrived = Signal(object)

    mailbox = Mailbox()

    def tell(news: News) -> None:
        with suppress(OSError):
            pipe.send_bytes(_packed(news))

    performer = Performer(doors, tell)
    sys.excepthook = lambda _kind, error, _trace: performer.fail(error)

    def do(wish: Wish | None) -> None:
        if wish is None:
            performer.shut_down()
            # At once: what is loaded need not be taken down piece by piece.
            os._exit(0)
        performer.do(wish)

    mailbox.arrived.connect(do, Qt.ConnectionType.QueuedConnection)

    def get_ready() -> None:
        performer.warm()
        tell(Ready())
        threading.Thread(target=_read, args=(pipe, mailbox.arrived.emit), daemon=True).start()

    QTimer.singleShot(0, application, get_ready)
    application.exec()


def _load_in_the_background() -> None:
    """Import most of what is needed, and leave the processor to the window meanwhile.

    Linux alone lets a thread step back without the rest of its process, which could not come
    forward again; elsewhere it is imported when it is needed.
    """
    if sys.platform != "linux":
        return

    def load() -> None:
        os.nice(NICENESS)
        with suppress(ImportError):
            import PySide6.QtMultimedia  # noqa: F401

            import app.sound.performer  # noqa: F401

    loading = threading.Thread(target=load)
    loading.start()
    loading.join()


def _read(pipe: Connection, emit: Callable[[Wish | None], None]) -> None:
    with suppress(EOFError, OSError):
        while (wish := pipe.recv()) is not None:
            emit(wish)
    # Even if whatever plays is stuck, nothing stays behind.
    threading.Timer(PATIENCE_SECONDS, os._exit, args=(1,)).start()
    emit(None)


def _packed(news: News) -> bytes:
    """News to be sent; an exception that is a bug takes along where it happened."""
    if not isinstance(news, Over | Exported) or news.error is None:
        return pickle.dumps(news, pickle.HIGHEST_PROTOCOL)
    error = news.error
    if not isinstance(error, PostilError):
        error.add_note(f"In the player:\n{''.join(traceback.format_exception(error))}")
    try:
        data = pickle.dumps(news, pickle.HIGHEST_PROTOCOL)
        pickle.loads(data)  # not every exception that goes in comes out again
    except Exception as trouble:  # noqa: BLE001 - whatever pickling met
        words = f"{type(error).__name__} can't be handed over: {trouble}; {error!r:.500}"
        data = pickle.dumps(replace(news, error=RuntimeError(words)))
    return data
