"""The MIDI outputs of this machine, and why there are none.

python-rtmidi may not be installed (its wheels end at Python 3.12), and a system may have no MIDI
(no ALSA sequencer): both are said in a sentence, and everything else works.
"""

from __future__ import annotations

from typing import Protocol

from core.errors import PostilError

NO_RTMIDI = (
    "MIDI ports need python-rtmidi, which is not installed here. Passages play through the "
    "built-in piano, and can be saved as MIDI files."
)
NO_MIDI = (
    "This system offers no MIDI. Passages play through the built-in piano, and can be saved as "
    "MIDI files."
)
_BACKEND = "mido.backends.rtmidi"


class MidiPortError(PostilError):
    """A MIDI port can't be used: its ``port`` and the ``reason``, as sentences."""

    def __init__(self, port: str, reason: str) -> None:
        super().__init__(port, reason)
        self.port, self.reason = port, reason

    def __str__(self) -> str:
        return f"MIDI port {self.port}: {self.reason}"


class MidiOut(Protocol):
    """A port that messages are sent to; those of mido are."""

    def send(self, message: object, /) -> None: ...
    def close(self) -> None: ...


def output_names() -> tuple[str, ...]:
    """Names of the ports that can be played to; empty where there is no MIDI."""
    return _asked()[0]


def why_none() -> str | None:
    """A sentence where there is no MIDI here; None where there is, even without a port."""
    return _asked()[1]


def open_output(name: str) -> MidiOut:
    """Open a port.

    Raises
    ------
    MidiPortError
        It isn't there, or something else has it.
    """
    import mido

    try:
        port: MidiOut = mido.Backend(_BACKEND).open_output(name)
    except ImportError:
        raise MidiPortError(name, NO_RTMIDI) from None
    except (OSError, RuntimeError, ValueError) as error:
        raise MidiPortError(
            name, f"It can't be opened ({error}). Is it plugged in, and free?"
        ) from error
    return port


def _asked() -> tuple[tuple[str, ...], str | None]:
    import mido

    try:
        names = mido.Backend(_BACKEND).get_output_names()
    except ImportError:
        return (), NO_RTMIDI
    except (OSError, RuntimeError, ValueError):
        return (), NO_MIDI
    # A port of one name twice is one to a person; the first is opened.
    return tuple(dict.fromkeys(names)), None
