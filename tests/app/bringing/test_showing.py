"""What the top line says of files that come in."""

from __future__ import annotations

import pytest

from app.bringing.showing import MOST_LETTERS, _shortened


@pytest.mark.parametrize("name", ["", "Scores, spring", "x" * MOST_LETTERS])
def test_a_name_that_has_room_is_whole(name: str) -> None:
    assert _shortened(name) == name


def test_of_a_long_name_both_ends_are_told() -> None:
    name = "Everything that I ever played, second shelf from the left"
    assert _shortened(name) == "Everything that…lf from the left"
    assert len(_shortened("x" * 500)) == MOST_LETTERS + 1
