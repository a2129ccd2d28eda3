"""How well one colour is told from another: WCAG 2.2, "relative luminance", "contrast ratio"."""

from __future__ import annotations

from PySide6.QtGui import QColor

LEAST_CONTRAST = 4.5
"""For text: WCAG 2.2, success criterion 1.4.3."""


def contrast(one: QColor, other: QColor) -> float:
    """1 to 21."""
    brighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def _luminance(color: QColor) -> float:
    red, green, blue = (_linear(share) for share in color.getRgbF()[:3])
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(share: float) -> float:
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
