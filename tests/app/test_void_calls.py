"""The reason for the pins of PySide6 in pyproject.toml.

PySide6 6.12.0 on Python 3.11 gives back None at every call without a result, and loses one
reference to it each time: after some thousand calls the interpreter aborts ("deallocating None").
"""

from __future__ import annotations

import os
import subprocess
import sys

CALLS = 200_000

# A process of its own: an abort is then a failed test and not the end of all of them.
PROGRAM = f"""
from app import system_libraries
system_libraries.use_fetched_libraries()
from PySide6.QtWidgets import QApplication, QWidget
application = QApplication([])
widget = QWidget()
for _ in range({CALLS} // 2):
    widget.update()
    widget.setObjectName("name")
print("still here")
"""


def test_200_000_void_calls_leave_none_alive() -> None:
    child = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )

    assert (child.returncode, child.stdout) == (0, "still here\n"), child.stderr
