"""Ctrl-C while processes are begun.

A terminal sends it to every process of its group. One that has just been started has not yet had
the time to say that it ignores it, and would end with a traceback on the person's screen.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def interrupts_held() -> Iterator[None]:
    """Let Ctrl-C wait until the end of the block; processes begun inside never hear of it."""
    with interrupts_put_off(), _kept_from_processes():
        yield


@contextmanager
def interrupts_put_off() -> Iterator[None]:
    """Let Ctrl-C wait until the end of the block, in which no process is begun.

    Only the main thread ever hears of it. There it is noted, and raised at the end.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    heard: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _frame: heard.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
        if heard:
            signal.raise_signal(signal.SIGINT)


@contextmanager
def _kept_from_processes() -> Iterator[None]:
    """A process inherits what its thread has blocked; Windows knows no such thing.

    This alone puts nothing off: the system hands the signal to any thread that takes it, such as
    those of numpy.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    from multiprocessing import resource_tracker

    # multiprocessing begins this helper with its first process, and unblocks the signal right
    # after: that must be over before the process itself is begun.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
