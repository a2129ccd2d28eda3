"""The process of its own that ``app.main.main`` is: when memory is looked through."""

from __future__ import annotations

import gc
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from app import bootstrap, main, system_libraries
from app.kept_where import HOME_VARIABLE

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_library" / "barcarolle.musicxml"


@pytest.fixture
def collecting() -> Iterator[None]:
    """The garbage collector as it was, whatever a test does to it."""
    yield
    gc.enable()


@pytest.mark.usefixtures("collecting")
def test_a_window_frees_what_it_no_longer_needs(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(HOME_VARIABLE, str(tmp_path))
    found: list[bool] = []

    def open_window(*_: object, **__: object) -> int:
        found.append(gc.isenabled())
        return 0

    monkeypatch.setattr(system_libraries, "explain_missing", lambda: None)
    monkeypatch.setattr(system_libraries, "has_display", lambda: True)
    monkeypatch.setattr(bootstrap, "run_window", open_window)
    monkeypatch.setattr(sys, "argv", ["postil"])
    frozen = gc.get_freeze_count()
    assert main.main() == 0
    assert found == [True]
    assert gc.get_freeze_count() == frozen


def test_an_analysis_looks_for_nothing_to_free() -> None:
    program = (
        "import gc, sys; from app.main import main; "
        "gc.callbacks.append(lambda *_: print('collecting', file=sys.stderr)); "
        "status = main(); gc.callbacks.clear(); sys.exit(status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, "analyse", str(SAMPLE), "--json"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout.startswith("{")
    assert "collecting" not in done.stderr
