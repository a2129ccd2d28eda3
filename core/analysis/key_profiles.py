"""Key profiles: how much each degree of a key is used, or belongs to it.

Twelve values in semitones above the tonic. They are compared by correlation, so only their
proportions matter.

Sources
-------
``ALBRECHT_SHANAHAN``: Joshua Albrecht and Daniel Shanahan, "The Use of Large Corpora to Train
a New Type of Key-Finding Algorithm: An Improved Treatment of the Minor Mode", Music Perception
31 (2013). Shares of the duration. Values from memory; they sum to 1 (minor: .998).
``KRUMHANSL_KESSLER``: Carol Krumhansl and Edward Kessler, "Tracing the Dynamic Changes in
Perceived Tonal Organization", Psychological Review 89 (1982). Ratings of probe tones.
"""

from __future__ import annotations

from types import MappingProxyType

from core.analysis.keys import Mode

Profile = tuple[float, ...]

ALBRECHT_SHANAHAN: MappingProxyType[Mode, Profile] = MappingProxyType(
    {
        "major": (
            0.238,
            0.006,
            0.111,
            0.006,
            0.137,
            0.094,
            0.016,
            0.214,
            0.009,
            0.080,
            0.008,
            0.081,
        ),
        "minor": (
            0.220,
            0.006,
            0.104,
            0.123,
            0.019,
            0.103,
            0.012,
            0.214,
            0.062,
            0.022,
            0.061,
            0.052,
        ),
    }
)
KRUMHANSL_KESSLER: MappingProxyType[Mode, Profile] = MappingProxyType(
    {
        "major": (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
        "minor": (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
    }
)
