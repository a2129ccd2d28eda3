"""What every test gets: Qt without a screen, and a look at what it leaves behind."""

from __future__ import annotations

import gc
import os
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from app import system_libraries

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

# Before pytest-qt starts Qt: tests never open windows on somebody's screen.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
system_libraries.use_fetched_libraries()

# A thread that was told to stop needs a moment to end; one that needs longer was not told.
THREAD_GRACE_SECONDS = 2.0

# Qt keeps the one tool tip of a program for itself.
KEPT_BY_QT = frozenset({"QTipLabel"})

CORE_TESTS = Path(__file__).parent / "core"


@pytest.fixture(autouse=True)
def _nothing_survives(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test that leaves a thread running or a top-level widget alive.

    pytest-qt closes what ``qtbot.addWidget`` was given before this looks.
    """
    if CORE_TESTS in request.path.parents and "qapp" in request.fixturenames:
        pytest.fail("core runs without a screen: its tests never start Qt")
    threads_before = _running_threads()
    widgets_before = _top_level_widgets()
    yield
    if threads := _threads_left(threads_before):
        pytest.fail(f"threads survived the test: {sorted(thread.name for thread in threads)}")
    if widgets := _widgets_left(widgets_before):
        pytest.fail(f"top-level widgets survived the test: {sorted(map(repr, widgets))}")


def _threads_left(before: set[threading.Thread]) -> set[threading.Thread]:
    give_up_at = time.monotonic() + THREAD_GRACE_SECONDS
    while (left := _running_threads() - before) and time.monotonic() < give_up_at:
        time.sleep(0.01)
    return left


def _running_threads() -> set[threading.Thread]:
    return {thread for thread in threading.enumerate() if _is_running(thread)}


def _is_running(thread: threading.Thread) -> bool:
    """Whether it runs; Python lists Qt's threads as running when they have long ended."""
    if not isinstance(thread, threading._DummyThread):
        return thread.is_alive()
    task = Path(f"/proc/self/task/{thread.native_id}")
    return task.exists()


def _widgets_left(before: set[QWidget]) -> set[QWidget]:
    left = _top_level_widgets() - before
    if left:
        # Only now, since it takes a while: what nobody holds but a cycle is no leak.
        left.clear()
        _delete_what_was_to_be_deleted_later()
        gc.collect()
        left = _top_level_widgets() - before
    return left


def _top_level_widgets() -> set[QWidget]:
    if "PySide6.QtWidgets" not in sys.modules:
        return set()
    from PySide6.QtWidgets import QApplication

    if QApplication.instance() is None:
        return set()
    widgets = QApplication.topLevelWidgets()
    return {widget for widget in widgets if widget.metaObject().className() not in KEPT_BY_QT}


def _delete_what_was_to_be_deleted_later() -> None:
    from PySide6.QtCore import QCoreApplication, QEvent

    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
