"""Measuring in tests of the form line."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

import pytest


@pytest.fixture
def best_of() -> Callable[[Callable[[], object]], float]:
    """The shortest of three times, in seconds: other work on the machine only adds."""

    def measure(act: Callable[[], object]) -> float:
        times = []
        for _ in range(3):
            begun = perf_counter()
            act()
            times.append(perf_counter() - begun)
        return min(times)

    return measure
