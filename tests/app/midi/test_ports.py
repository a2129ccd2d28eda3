"""Ports where there is no MIDI, and where there is."""

from __future__ import annotations

from collections.abc import Callable

import mido
import pytest

from app.midi.ports import (
    NO_MIDI,
    NO_RTMIDI,
    MidiPortError,
    open_output,
    output_names,
    why_none,
)


class Backend:
    """What mido would find; ``answer`` gives the names or raises."""

    def __init__(self, answer: Callable[[], list[str]]) -> None:
        self.answer = answer

    def get_output_names(self) -> list[str]:
        return self.answer()

    def open_output(self, name: str) -> object:
        raise OSError(f"unknown port {name!r}")


def found(monkeypatch: pytest.MonkeyPatch, answer: Callable[[], list[str]]) -> None:
    monkeypatch.setattr(mido, "Backend", lambda _: Backend(answer))


def raising(error: Exception) -> Callable[[], list[str]]:
    def answer() -> list[str]:
        raise error

    return answer


def test_without_rtmidi_there_are_no_ports_and_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    found(monkeypatch, raising(ModuleNotFoundError("No module named 'rtmidi'")))
    assert (output_names(), why_none()) == ((), NO_RTMIDI)


def test_without_a_midi_system_there_are_no_ports_and_a_sentence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found(monkeypatch, raising(OSError("error creating ALSA sequencer client object")))
    assert (output_names(), why_none()) == ((), NO_MIDI)


def test_ports_are_named_once(monkeypatch: pytest.MonkeyPatch) -> None:
    found(monkeypatch, lambda: ["Stage piano", "Through", "Stage piano"])
    assert (output_names(), why_none()) == (("Stage piano", "Through"), None)


def test_a_port_that_is_gone_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    found(monkeypatch, list)
    with pytest.raises(MidiPortError, match=r"MIDI port Gone: It can't be opened .*plugged in"):
        open_output("Gone")


def test_asking_this_machine_never_raises() -> None:
    assert isinstance(output_names(), tuple)
