"""The words lane: none over another, each whole, cut with "…", or a dot.

Each entry may reach up to where the next one begins; so an entry's place never depends on
what stands before it, and nothing jumps while one zooms or scrolls.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.form.form_parts import Words
from app.form.line_scale import LEFT, LineScale

GAP = 8.0
"""Between two texts of a lane, logical pixels."""
LEAST_TEXT = 28.0
"""A shorter beginning of a text says less than a dot."""
DOT = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneText:
    """One entry as it is drawn; ``text`` is empty for a dot."""

    x: float
    width: float
    text: str
    words: Words


def fitted(
    words: Sequence[Words],
    scale: LineScale,
    *,
    width: Callable[[str], float],
    cut: Callable[[str, float], str],
) -> list[LaneText]:
    """Fit what is seen of the words into their lane.

    What has no room even for a dot is left out. Takes time by what is seen, not by the piece.

    Parameters
    ----------
    words : by ``at``
    width : width of a text
    cut : the longest beginning of a text, with "…", that is no wider than so much
    """
    placed: list[LaneText] = []
    right = LEFT + scale.width
    # The last one before the left edge may reach into the lane.
    index = max(0, _first_from(words, scale.first_quarters, 0) - 1)
    while index < len(words):
        x = scale.x(words[index].at)
        if x > right - DOT:
            break
        following = index + 1
        ahead = scale.x(words[following].at) if following < len(words) else right
        entry = _entry(words[index], x, min(ahead - GAP, right), width, cut)
        placed.append(entry)
        free_from = x + entry.width + DOT
        index = following
        if ahead < free_from:
            moment = scale.first_quarters + (free_from - LEFT) / scale.pixels_a_quarter
            index = _first_from(words, moment, following)
    return placed


def _entry(
    words: Words,
    x: float,
    end: float,
    width: Callable[[str], float],
    cut: Callable[[str, float], str],
) -> LaneText:
    room = end - x
    # A cut text shorter than this says less than a dot; a whole one never does.
    shown = words.text if width(words.text) <= room else ""
    if not shown and room >= LEAST_TEXT:
        cut_text = cut(words.text, room)
        shown = cut_text if len(cut_text) > 1 else ""
    if shown:
        return LaneText(x=x, width=width(shown), text=shown, words=words)
    return LaneText(x=x, width=DOT, text="", words=words)


def _first_from(words: Sequence[Words], moment: float, low: int) -> int:
    return bisect_left(words, moment, lo=low, key=lambda entry: entry.at)
