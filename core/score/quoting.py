"""Text of somebody's file as it may stand in a sentence: one short line that can be printed."""

from __future__ import annotations

LONGEST = 60
"""Characters; enough to find the place in the file."""


def shown(text: str | None, *, longest: int = LONGEST) -> str:
    r"""The text, shortened, without line ends and signs that nobody sees.

    Examples
    --------
    >>> shown("a\n b\ufeff"), shown("9" * 100, longest=8), shown(None)
    ('a b', '9999999…', '')
    """
    line = "".join(filter(str.isprintable, " ".join((text or "").split())))
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"
