"""The median, without numpy's: that one loads a fifth of numpy more at its first call."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def median(values: Sequence[float] | NDArray[np.float64] | NDArray[np.int64]) -> float:
    """The middle one of the values, or the mean of the two in the middle.

    Examples
    --------
    >>> median([3, 1, 2]), median([4, 1, 2, 3])
    (2.0, 2.5)

    Raises
    ------
    ValueError
        There are no values.
    """
    if not len(values):
        raise ValueError("values are empty; a median needs one at least")
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2
