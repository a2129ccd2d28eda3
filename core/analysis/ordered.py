"""What follows from putting values in order: their median, and which there are.

numpy's own ``median`` and ``unique`` load its masked arrays at their first call, a fifth of numpy
more, which is as long as a short piece is analysed.
"""

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


def distinct(values: NDArray[np.int64]) -> NDArray[np.int64]:
    """The values that there are, each once, ascending.

    Examples
    --------
    >>> distinct(np.array([3, 1, 3, 2])).tolist()
    [1, 2, 3]
    """
    ordered = np.sort(values)
    return ordered[np.r_[True, ordered[1:] != ordered[:-1]]] if len(ordered) else ordered
