"""Reading bytes that are bad: what is read of them, or the sentence they come back with."""

from __future__ import annotations

import pytest

from core.errors import UnreadableFileError, UnsupportedScoreError
from core.score.reading import read_bytes
from core.score.score import Score


def read(data: bytes | str, name: str = "song.x") -> Score:
    return read_bytes(data.encode() if isinstance(data, str) else data, name=name).score


def refuse(data: bytes | str, message: str) -> None:
    with pytest.raises((UnreadableFileError, UnsupportedScoreError), match=message) as caught:
        read(data)
    said = str(caught.value)
    assert said.startswith("song.x")
    assert said.endswith(".")
    assert said.isprintable()
    assert len(said) < 400
