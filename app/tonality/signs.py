"""Accidentals in words: as core writes them ("Bb major", "b2") and as they are shown ("B♭", "♭2").

The bundled text fonts have no accidentals: whoever paints such text takes the signs from the
music font (``app.margin.signed_text``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping

SIGNS: Mapping[str, str] = {
    "##": "\N{MUSICAL SYMBOL DOUBLE SHARP}",
    "bb": "\N{MUSICAL SYMBOL DOUBLE FLAT}",
    "#": "\N{MUSIC SHARP SIGN}",
    "b": "\N{MUSIC FLAT SIGN}",
}
GLYPHS: Mapping[str, str] = {
    "\N{MUSIC FLAT SIGN}": "E260",
    "\N{MUSIC NATURAL SIGN}": "E261",
    "\N{MUSIC SHARP SIGN}": "E262",
    "\N{MUSICAL SYMBOL DOUBLE SHARP}": "E263",
    "\N{MUSICAL SYMBOL DOUBLE FLAT}": "E264",
}
"""Signs to SMuFL code points of the music font."""
_SPOKEN: Mapping[str, str] = {
    "\N{MUSIC FLAT SIGN}": "flat",
    "\N{MUSIC NATURAL SIGN}": "natural",
    "\N{MUSIC SHARP SIGN}": "sharp",
    "\N{MUSICAL SYMBOL DOUBLE SHARP}": "double sharp",
    "\N{MUSICAL SYMBOL DOUBLE FLAT}": "double flat",
}
_NOTE = re.compile(r"\b([A-G])(##|bb|#|b)(?![\w#])")
_DEGREE = re.compile(r"(?<![\w#])(##|bb|#|b)(?=1?\d\b)")
_NUMERAL = re.compile(r"(?<![\w#])(#|b)(?=[IViv])")
_SIGN = re.compile(f" ?([{''.join(_SPOKEN)}]) ?")


def with_signs(text: str) -> str:
    """Words with accidentals as signs.

    Examples
    --------
    >>> with_signs("Bb major with b2, F# and Abb")
    'B♭ major with ♭2, F♯ and A𝄫'
    >>> with_signs("bII6 in F# minor")
    '♭II6 in F♯ minor'
    """
    text = _NOTE.sub(lambda found: found[1] + SIGNS[found[2]], text)
    text = _NUMERAL.sub(lambda found: SIGNS[found[1]], text)
    return _DEGREE.sub(lambda found: SIGNS[found[1]], text)


def spoken(text: str) -> str:
    """Words for a screen reader, which may know no accidentals.

    Examples
    --------
    >>> spoken("B♭ major, ♭2 bent")
    'B flat major, flat 2 bent'
    """
    return _SIGN.sub(lambda found: f" {_SPOKEN[found[1]]} ", text).strip().replace(" ,", ",")
