"""Text that can be found again in a PDF: a ligature there is one sign that nobody searches for."""

from __future__ import annotations

from PySide6.QtGui import QFont

_LIGATURES = ("liga", "dlig", "clig", "hlig")
"""OpenType's features for ligatures (Microsoft, OpenType registry of layout tags)."""


def findable(font: QFont) -> QFont:
    """The font without ligatures."""
    for name in _LIGATURES:
        font.setFeature(QFont.Tag(name), 0)
    return font
