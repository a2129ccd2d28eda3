"""Key profiles: how much of a piece's duration each degree of its key takes.

Twelve values in semitones above the tonic, in thousandths. They are compared by correlation,
so only their proportions matter.

Source: Joshua Albrecht and Daniel Shanahan, "The Use of Large Corpora to Train a New Type of
Key-Finding Algorithm: An Improved Treatment of the Minor Mode", Music Perception 31 (2013).
Values from memory; they sum to 1000 (minor: 998).
"""

from __future__ import annotations

from collections.abc import Mapping

from core.analysis.keys import Mode

ALBRECHT_SHANAHAN: Mapping[Mode, tuple[int, ...]] = {
    "major": (238, 6, 111, 6, 137, 94, 16, 214, 9, 80, 8, 81),
    "minor": (220, 6, 104, 123, 19, 103, 12, 214, 62, 22, 61, 52),
}
