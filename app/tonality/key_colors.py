"""The colour of a key: computed from its place on the circle of fifths, never picked by eye.

Hue is 60 degrees plus 30 for each fifth from C, in OKLCH; chroma and lightness depend on mode
and theme alone. Keys carry their names too: the colour only helps to see where one ends.

References
----------
Ottosson, B. (2020). A perceptual color space for image processing ("OKLab"). The conversion to
linear sRGB and its matrices are that article's; the sRGB curve is IEC 61966-2-1.
"""

from __future__ import annotations

from math import cos, radians, sin

from PySide6.QtGui import QColor

CHROMA_LIGHT, CHROMA_DARK = 0.055, 0.05
LIGHTNESS = {
    ("major", False): 0.87,
    ("minor", False): 0.78,
    ("major", True): 0.48,
    ("minor", True): 0.40,
}
RULE_LIFT = 0.15
"""Thin rules in the dark theme are this much lighter."""
HUE_OF_C, HUE_STEP = 60.0, 30.0


def key_color(fifths: int, mode: str, *, is_dark: bool, is_rule: bool = False) -> QColor:
    """The colour of a key.

    Parameters
    ----------
    fifths : int
        Place of its tonic on the circle of fifths: C = 0, G = 1, F = -1 ...
    mode : str
        "minor" for every scale with a minor third, else "major".
    is_dark : bool
    is_rule : bool
        Whether it fills a thin rule rather than an area with text on it.
    """
    lightness = LIGHTNESS["minor" if mode == "minor" else "major", is_dark]
    if is_dark and is_rule:
        lightness += RULE_LIFT
    chroma = CHROMA_DARK if is_dark else CHROMA_LIGHT
    return oklch(lightness, chroma, HUE_OF_C + HUE_STEP * fifths)


def oklch(lightness: float, chroma: float, hue_degrees: float) -> QColor:
    """OKLCH to sRGB; what lies outside of sRGB is clipped.

    Parameters
    ----------
    lightness : float
        0 (black) to 1 (white).
    chroma : float
    hue_degrees : float
    """
    a, b = chroma * cos(radians(hue_degrees)), chroma * sin(radians(hue_degrees))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    red = 4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short
    green = -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short
    blue = -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short
    return QColor.fromRgbF(*(_curve(value) for value in (red, green, blue)))


def _curve(linear: float) -> float:
    """Linear light to an sRGB value, 0 to 1."""
    linear = min(max(linear, 0.0), 1.0)
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055
