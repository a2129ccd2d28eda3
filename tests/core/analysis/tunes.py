"""Small invented scores for the tests of tonality."""

from __future__ import annotations

from core.score.reading import read_bytes
from core.score.score import Score


def score_of(upper: str, lower: str = "", *, fifths: int | None = None, beats: int = 4) -> Score:
    """One or two parts in quarters (``x2`` behind a note lengthens it), measures by ``|``.

    Notes that sound together are joined by ``+``: "C3+E3+G3x4".
    """
    parts = [upper, *([lower] if lower else [])]
    names = "".join(f"<score-part id='P{i}'><part-name/></score-part>" for i in range(len(parts)))
    body = "".join(
        f"<part id='P{i}'>{_measures(part, fifths, beats)}</part>" for i, part in enumerate(parts)
    )
    document = (
        f"<score-partwise version='4.0'><part-list>{names}</part-list>{body}</score-partwise>"
    )
    return read_bytes(document.encode(), name="made.musicxml").score


def _measures(part: str, fifths: int | None, beats: int) -> str:
    key = "" if fifths is None else f"<key><fifths>{fifths}</fifths></key>"
    first = (
        f"<attributes><divisions>2</divisions>{key}"
        f"<time><beats>{beats}</beats><beat-type>4</beat-type></time></attributes>"
    )
    return "".join(
        f"<measure number='{number}'>{first if number == 1 else ''}"
        f"{''.join(_together(word) for word in measure.split())}</measure>"
        for number, measure in enumerate(part.split("|"), start=1)
    )


def _together(word: str) -> str:
    names, _, quarters = word.partition("x")
    duration = int(2 * float(quarters or 1))
    return "".join(
        _note(name, duration, is_chord=place > 0) for place, name in enumerate(names.split("+"))
    )


def _note(name: str, duration: int, *, is_chord: bool) -> str:
    alter = name.count("#") - name[1:].count("b")
    return (
        f"<note>{'<chord/>' if is_chord else ''}<pitch><step>{name[0]}</step>"
        f"<alter>{alter}</alter><octave>{name[-1]}</octave></pitch>"
        f"<duration>{duration}</duration></note>"
    )
