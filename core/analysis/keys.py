"""Major and minor keys, as they are spelled.

Conventions: a tonic is a position on the line of fifths (C is 0, G 1, F -1, B flat -2), so that
G sharp and A flat stay apart; ``pitch_class`` (C is 0) joins them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Mode = Literal["major", "minor"]
_LETTERS = "FCGDAEB"
MOST_SIGNS = 7
"""Signatures reach from seven flats to seven sharps."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A major or minor key.

    Parameters
    ----------
    tonic : int
        Position on the line of fifths.
    mode : "major" or "minor"

    Examples
    --------
    >>> Key(tonic=6, mode="minor").name, Key(tonic=-2, mode="major").name
    ('F# minor', 'Bb major')
    """

    tonic: int
    mode: Mode

    @property
    def name(self) -> str:
        """As the command line writes it: "F# minor"."""
        return f"{tonic_name(self.tonic)} {self.mode}"

    @property
    def pitch_class(self) -> int:
        """Of the tonic, 0 to 11; C is 0."""
        return 7 * self.tonic % 12

    @property
    def signature(self) -> int:
        """Sharps of its signature; flats count below 0."""
        return self.tonic - _TONICS_ABOVE_SIGNATURE[self.mode]


def tonic_name(fifths: int) -> str:
    """Of a position on the line of fifths: "Bb" for -2."""
    signs, letter = divmod(fifths + 1, len(_LETTERS))
    return f"{_LETTERS[letter]}{'#' * signs}{'b' * -signs}"


_TONICS_ABOVE_SIGNATURE: dict[Mode, int] = {"major": 0, "minor": 3}
KEYS: tuple[Key, ...] = tuple(
    Key(tonic=signature + above, mode=mode)
    for mode, above in _TONICS_ABOVE_SIGNATURE.items()
    for signature in range(-MOST_SIGNS, MOST_SIGNS + 1)
)
"""The thirty keys that have a signature of up to seven signs."""
