"""Analysing as a job in a process of its own: what can be pickled and knows no notebook.

Read, work, record are three steps: the canonical form is read from the notebook here, the work
below is done elsewhere, and ``kept_analyses.keep_packed`` records what comes back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.notebook.analyses import Analysis, Progress

_BEFORE = 0.2
"""Share of reading, before analysis begins."""


def analyse_canonical(canonical: bytes, sha256: str, progress: Progress) -> Analysis:
    """Analyse a score by its canonical form.

    Parameters
    ----------
    canonical : bytes
        As ``Score.canonical``.
    sha256 : str
        Of the original bytes, as the store knows the score.
    progress : callable

    Raises
    ------
    UnreadableFileError
        The bytes are damaged.
    """
    # Whoever only names this function as a job doesn't load what it needs.
    progress(0.0, "getting ready")
    from core.notebook.analyses import analyse_score
    from core.score.reading import score_from_canonical

    progress(0.05, "reading")
    score = score_from_canonical(canonical, sha256=sha256)
    analysis = analyse_score(
        score, lambda share, word: progress(_BEFORE + share * (1 - _BEFORE), word)
    )
    progress(1.0, "done")
    return analysis


def analyse_to_keep(canonical: bytes, sha256: str, progress: Progress) -> tuple[Analysis, bytes]:
    """As ``analyse_canonical``, with what is kept of it: packed here, where nobody waits.

    Raises
    ------
    UnreadableFileError
        The bytes are damaged.
    """
    analysis = analyse_canonical(canonical, sha256, progress)
    from core.notebook.kept_analyses import packed

    return analysis, packed(analysis)
