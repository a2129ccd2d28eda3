"""A store that is opened when somebody first asks it for something.

So a score can be on the screen before the notebook's own parts are loaded. Safe to ask from
several threads; whoever asks first waits for the opening, the others with it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

from core.notebook.ports import NotebookStore, UnitOfWork


class DeferredStore:
    """Fulfils ``NotebookStore`` by another one.

    Parameters
    ----------
    open_store : callable
        Opens it; what it raises reaches whoever asked, and it is tried again the next time.
    """

    def __init__(self, open_store: Callable[[], NotebookStore]) -> None:
        self._open = open_store
        self._on_opened: Callable[[NotebookStore], None] | None = None
        self._opening = threading.Lock()
        self._store: NotebookStore | None = None
        self._is_closed = False

    @property
    def is_read_only(self) -> bool:
        """As the store says; False before it is open, since nothing is refused yet."""
        return self._store is not None and self._store.is_read_only

    def unit_of_work(self) -> UnitOfWork:
        """As the store's. Raises what opening it raises."""
        return self._opened().unit_of_work()

    def tell_when_opened(self, on_opened: Callable[[NotebookStore], None]) -> None:
        """Have the store handed to ``on_opened`` once, on the thread that opens it."""
        self._on_opened = on_opened

    def close(self) -> None:
        """Close the store if it was opened, and open none any more."""
        with self._opening:
            self._is_closed = True
            if self._store is not None:
                self._store.close()

    def _opened(self) -> NotebookStore:
        with self._opening:
            if self._is_closed:
                raise RuntimeError("the store was closed")
            if self._store is None:
                self._store = self._open()
                if self._on_opened is not None:
                    self._on_opened(self._store)
            return self._store
