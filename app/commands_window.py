"""``postil``, ``postil open``, ``postil demo``: a window that is there comes forward, or one opens.

Little is imported before it is known that this process opens a window of its own.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence
from pathlib import Path

from app.kept_where import NOTEBOOK_SUFFIX
from app.main import SOME_FAILED, SUCCESS, WRONG_USAGE
from app.one_window import hand_over, notebook_key

ALONE = "postil: A notebook is opened by itself, without scores."
NO_NOTEBOOK = "postil: {}: There is no notebook here."


def open_demo() -> int:
    """``postil demo``: its notebook is nobody's, so each start has a window."""
    problem = _why_no_window()
    return _complain(problem, SOME_FAILED) if problem else _run(None, demo=True)


def open_window(names: Sequence[str]) -> int:
    """``postil`` and ``postil open``, with scores or the file of one notebook."""
    notebooks = [name for name in names if name.endswith(NOTEBOOK_SUFFIX)]
    notebook = notebooks[0] if notebooks else None
    if notebook is not None and len(names) > 1:
        return _complain(ALONE, WRONG_USAGE)
    if notebook is not None and not Path(notebook).is_file():
        return _complain(NO_NOTEBOOK.format(notebook), SOME_FAILED)
    scores = () if notebook is not None else tuple(Path(name) for name in names)
    if hand_over([str(score) for score in scores], notebook_key(notebook)):
        return SUCCESS
    if problem := _why_no_window():
        return _complain(problem, SOME_FAILED)
    if notebook is not None:
        return _run(None, notebook=Path(notebook))
    if len(scores) > 1:
        return _run(None, scores=scores)
    return _run(scores[0] if scores else None)


def _why_no_window() -> str | None:
    from app.system_libraries import explain_missing, has_display, no_display_sentence

    problem = explain_missing()
    return no_display_sentence() if problem is None and not has_display() else problem


def _run(
    score: Path | None,
    *,
    demo: bool = False,
    scores: tuple[Path, ...] = (),
    notebook: Path | None = None,
) -> int:
    # ``main`` put it off; the window is open for hours.
    gc.enable()
    from app.bootstrap import run_window

    return run_window(score, demo=demo, scores=scores, notebook=notebook)


def _complain(sentence: str, status: int) -> int:
    print(sentence, file=sys.stderr)
    return status
