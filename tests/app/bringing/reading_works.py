"""What workers of the tests do with a file, by its name; of a module, so that a worker finds it."""

from __future__ import annotations

import os
from pathlib import Path

from app.bringing import reading_apart
from app.bringing.reading_apart import ReadFile
from tests.app import batch_works


def read(task: Path | bytes) -> ReadFile | str:
    """As the reader's own work, but for files with certain names."""
    name = task.name if isinstance(task, Path) else ""
    if name.startswith("hang"):
        batch_works.never_ends(task)
    if name.startswith("die"):
        os._exit(3)
    if name.startswith("bug"):
        raise RuntimeError("a bug in a reader")
    if name.startswith("much"):
        raise MemoryError
    return reading_apart.work(task)
