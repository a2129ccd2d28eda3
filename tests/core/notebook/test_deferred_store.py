"""A store that is opened at the first question."""

from __future__ import annotations

import threading

import pytest

from core.errors import StorageError
from core.notebook.deferred_store import DeferredStore
from core.notebook.ports import NotebookStore
from tests.contracts.fake_store import FakeStore


def test_nothing_is_opened_before_it_is_asked() -> None:
    opened: list[NotebookStore] = []

    def open_store() -> NotebookStore:
        opened.append(FakeStore())
        return opened[-1]

    told: list[NotebookStore] = []
    store = DeferredStore(open_store)
    store.tell_when_opened(told.append)
    assert not store.is_read_only
    assert opened == []
    with store.unit_of_work() as work:
        assert work.pieces.all() == ()
    with store.unit_of_work():
        pass
    assert len(opened) == 1
    assert told == opened
    store.close()


def test_what_opening_raises_reaches_who_asked_and_is_tried_again() -> None:
    failures = [StorageError("notebook.postil", "The disk is full.")]

    def open_store() -> NotebookStore:
        if failures:
            raise failures.pop()
        return FakeStore()

    store = DeferredStore(open_store)
    with pytest.raises(StorageError, match="The disk is full"):
        store.unit_of_work()
    with store.unit_of_work() as work:
        assert work.pieces.all() == ()


def test_threads_that_ask_at_once_open_one() -> None:
    opened: list[NotebookStore] = []
    gate = threading.Barrier(4)

    def open_store() -> NotebookStore:
        opened.append(FakeStore())
        return opened[-1]

    store = DeferredStore(open_store)

    def ask() -> None:
        gate.wait()
        with store.unit_of_work():
            pass

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(opened) == 1


def test_a_closed_store_opens_none() -> None:
    store = DeferredStore(FakeStore)
    store.close()
    with pytest.raises(RuntimeError, match="closed"):
        store.unit_of_work()
