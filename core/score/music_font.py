"""The music font's outlines and boxes, from the data that Verovio brings with it.

The font is Leipzig (SIL Open Font License), addressed by SMuFL code points. Outlines are SVG
paths with y up, in font units: one em is four staff spaces and 1000 units. Times ``Glyph.scale``
(0.72 for signs of full size) they are drawing units.
"""

from __future__ import annotations

import re
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

NAME = "Leipzig"
UNITS_AN_EM = 1000.0
"""Font units."""

DYNAMICS = dict(
    zip(
        (f"{code:04X}" for code in range(0xE520, 0xE53E)),
        "p m f r s z n pppppp ppppp pppp ppp pp mp mf pf ff fff ffff fffff ffffff "
        "fp fz sf sfp sfpp sfz sfzp sffz rf rfz".split(),
        strict=True,
    )
)
"""Letters of SMuFL's dynamics signs (SMuFL 1.4, "Dynamics", U+E520 to U+E53D)."""


@lru_cache(maxsize=1)
def _data() -> Path:
    """The folder of Verovio's fonts, found without importing its library of 10 MB."""
    spec = find_spec("verovio")
    if spec is None or spec.origin is None:
        raise RuntimeError("Verovio is not installed; Postil depends on it")
    return Path(spec.origin).parent / "data"


@lru_cache(maxsize=1)
def _metrics() -> dict[str, tuple[float, float, float, float, float]]:
    """Code point to x, y (lower left), width, height and advance, in font units."""
    text = (_data() / f"{NAME}.xml").read_text(encoding="utf-8")
    found = {}
    for glyph in re.finditer(r"<g ([^>]*?)/?>", text):
        fields = dict(re.findall(r'([\w-]+)="([^"]*)"', glyph.group(1)))
        if "c" in fields:
            x, y, w, h, advance = (
                float(fields.get(key, 0)) for key in ("x", "y", "w", "h", "h-a-x")
            )
            found[fields["c"]] = (x, y, w, h, advance)
    return found


def load() -> None:
    """Read the boxes of all signs, which the first ``bounds`` or ``advance`` does otherwise."""
    _metrics()


def bounds(code: str) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of a glyph in font units, y up; an empty box if unknown."""
    x, y, width, height, _ = _metrics().get(code, (0.0, 0.0, 0.0, 0.0, 0.0))
    return x, y, x + width, y + height


def advance(code: str) -> float:
    """How far the next glyph stands, in font units."""
    return _metrics().get(code, (0.0, 0.0, 0.0, 0.0, 0.0))[4]


@lru_cache(maxsize=512)
def outline(code: str) -> str:
    """SVG path of a glyph, y up; empty if the font has none."""
    source = _data() / NAME / f"{code}.xml"
    if not source.is_file():
        return ""
    found = re.search(r'\bd="([^"]*)"', source.read_text(encoding="utf-8"))
    return found.group(1) if found else ""
