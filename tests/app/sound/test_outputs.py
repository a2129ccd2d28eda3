"""The output of this machine, where it has none or its libraries are missing."""

from __future__ import annotations

import sys

import pytest

from app import system_libraries
from app.sound.outputs import SoundError, open_default_output


def test_without_qtmultimedia_it_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "PySide6.QtMultimedia", None)
    monkeypatch.setattr(system_libraries, "missing_libraries", lambda _: ())
    with pytest.raises(SoundError, match=r"Sound can't be used here .* saved as WAV or MIDI"):
        open_default_output()


@pytest.mark.skipif(sys.platform != "linux", reason="other systems lack no library")
def test_missing_libraries_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "PySide6.QtMultimedia", None)
    monkeypatch.setattr(system_libraries, "missing_libraries", lambda _: ("libpulse.so.0",))
    with pytest.raises(SoundError, match=r"sudo apt-get install libpulse0\)\. The passage can"):
        open_default_output()
