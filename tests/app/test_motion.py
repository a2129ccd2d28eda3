"""Nothing in the window moves by itself, so there is no motion to be reduced.

Motion of 120 ms would be allowed, and off where the platform asks for less. Qt 6.11
tells a program of no such wish (``QAccessibilityHints`` knows contrast alone). Whoever adds the
first motion has to ask for one, and to take this test's place.
"""

from __future__ import annotations

import re
from pathlib import Path

from PySide6.QtGui import QAccessibilityHints

APP = Path(__file__).parents[2] / "app"
MOTION = re.compile(
    r"Q(?:Property|Variant|Abstract|Parallel|Sequential|Pause)?Animation\w*|QTimeLine"
    r"|QGraphics(?:Opacity|Blur)Effect|setAnimated|setBusyIndicator|setRange\(0, 0\)|smooth_scroll"
)


def test_no_part_of_the_window_moves_by_itself() -> None:
    sources = sorted(APP.rglob("*.py"))
    assert len(sources) > 100
    moving = {path.name: MOTION.findall(path.read_text(encoding="utf-8")) for path in sources}
    assert {name: found for name, found in moving.items() if found} == {}


def test_qt_knows_no_wish_for_less_motion() -> None:
    assert not [name for name in dir(QAccessibilityHints) if "motion" in name.lower()]
