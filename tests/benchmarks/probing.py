"""Runs a probe: a child process that opens the window as a person does and tells its figures."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]


def run_probe(
    module: str, score: Path, *, home: Path, compiled: Path, patience_seconds: float
) -> dict[str, Any]:
    """What a probe printed.

    Parameters
    ----------
    module : str
        Of this folder; run with the score and the moment of its start.
    score : pathlib.Path
    home : pathlib.Path
        The folder of its notebook.
    compiled : pathlib.Path
        Where Python keeps compiled modules between runs, whatever this process does.
    patience_seconds : float
    """
    plain = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    environment = {**plain, "POSTIL_HOME": str(home), "PYTHONPYCACHEPREFIX": str(compiled)}
    environment.setdefault("QT_QPA_PLATFORM", "offscreen")
    command = [sys.executable, "-m", f"tests.benchmarks.{module}", str(score)]
    done = subprocess.run(
        [*command, str(time.monotonic())],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=patience_seconds,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)  # type: ignore[no-any-return]  # as the probe writes it
