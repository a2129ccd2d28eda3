"""What each process loads, and what it must not: every start waits for it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_library" / "barcarolle.musicxml"
SLOW_TO_LOAD = "music21 scipy verovio mido alembic partitura"

FIRST_STATEMENT = {
    "postil analyse": (
        f"from app.main import run; run(['analyse', {str(SAMPLE)!r}])",
        f"PySide6 shiboken6 sqlalchemy {SLOW_TO_LOAD}",
    ),
    "postil directions": (
        "from app.main import run; run(['directions', 'dolce'])",
        f"numpy lxml PySide6 shiboken6 sqlalchemy {SLOW_TO_LOAD}",
    ),
    "the window": (
        "import app.window, app.bootstrap",
        f"PySide6.QtMultimedia app.bringing.batch app.bringing.bringing_view app.crew "
        f"{SLOW_TO_LOAD}",
    ),
    "a reader of many files": (
        "from pathlib import Path; from app.bringing.reading_apart import work; "
        f"work(Path({str(SAMPLE)!r}))",
        f"PySide6 shiboken6 sqlalchemy {SLOW_TO_LOAD}",
    ),
    "the player's process": (
        "import app.sound.player_process, app.sound.performer, app.sound.outputs, app.midi.ports",
        f"PySide6.QtGui PySide6.QtWidgets app.theme app.window sqlalchemy {SLOW_TO_LOAD}",
    ),
}
"""What is run, and the modules that may not be there afterwards."""


@pytest.mark.parametrize("process", FIRST_STATEMENT)
def test_nothing_is_loaded_that_is_not_needed_to_begin(process: str) -> None:
    statement, unwanted = FIRST_STATEMENT[process]
    found = f"sorted(set({unwanted.split()!r}) & set(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; {statement}; print({found}, file=sys.stderr)"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stderr == "[]\n"


def test_the_entry_point_imports_next_to_nothing() -> None:
    program = "import sys; before = set(sys.modules); import app.main"
    heavy = "print(sorted({'numpy', 'lxml', 'core', 'pathlib'} & (set(sys.modules) - before)))"
    done = subprocess.run(
        # Without what an environment itself loads to begin.
        [sys.executable, "-S", "-c", f"{program}; {heavy}"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout == "[]\n"
