"""Small invented piano pieces for tests of performances."""

from __future__ import annotations

from core.score.reading import read_bytes
from core.score.score import Score
from tests.core.score.written_scores import attributes, move, note, score


def read(*parts: list[str]) -> Score:
    """The score of some parts, each a list of the contents of its measures."""
    return read_bytes(score(*parts), name="invented.musicxml").score


def dynamics(mark: str, staff: int = 1) -> str:
    """A printed dynamic mark."""
    return (
        f"<direction><direction-type><dynamics><{mark}/></dynamics></direction-type>"
        f"<staff>{staff}</staff></direction>"
    )


def wedge(kind: str) -> str:
    """The beginning or the end of a hairpin."""
    return (
        f'<direction><direction-type><wedge type="{kind}"/></direction-type>'
        "<staff>1</staff></direction>"
    )


def metronome(unit: str, per_minute: int, *, dotted: bool = False) -> str:
    """A printed metronome mark."""
    dot = "<beat-unit-dot/>" if dotted else ""
    return (
        f"<direction><direction-type><metronome><beat-unit>{unit}</beat-unit>{dot}"
        f"<per-minute>{per_minute}</per-minute></metronome></direction-type></direction>"
    )


def two_hands() -> Score:
    """Two measures of 4/4 at quarter = 60: quarter notes above, whole notes below."""
    right = "".join(note(pitch, 1, "<staff>1</staff>") for pitch in ("C5", "D5", "E5", "F5"))
    left = move("backup", 4) + note("C3", 4, "<staff>2</staff>")
    head = attributes(extra="<staves>2</staves>") + metronome("quarter", 60)
    return read([head + right + left, right + left])
