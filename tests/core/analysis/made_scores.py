"""Scores made for the tests of the form: measures written as words, two staves.

A measure is ``melody / left hand``; each hand is a row of notes of equal length ("C5 E5 G5 E5",
"C3+E3" for a chord, "-" for a rest). ``|:`` and ``:|`` before a measure and behind it are signs,
``||`` behind it a double bar.
"""

from __future__ import annotations

from collections.abc import Sequence

from core.score.reading import read_bytes
from core.score.score import Score

DIVISIONS = 12
MEASURE = 4 * DIVISIONS


def score_of(*measures: str, unbarred: bool = False) -> Score:
    """A piano piece in 4/4; ``unbarred`` writes it as one long measure without a signature."""
    if unbarred:
        body = _measure(1, list(measures), _attributes("<time><senza-misura/></time>"))
    else:
        time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
        body = "".join(
            _measure(number, [text], _attributes(time) if number == 1 else "")
            for number, text in enumerate(measures, start=1)
        )
    document = (
        "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name/></score-part>"
        f"</part-list><part id='P1'>{body}</part></score-partwise>"
    )
    return read_bytes(document.encode(), name="made.musicxml").score


def _attributes(time: str) -> str:
    return (
        f"<attributes><divisions>{DIVISIONS}</divisions><key><fifths>0</fifths></key>{time}"
        "<staves>2</staves></attributes>"
    )


def _measure(number: int, texts: Sequence[str], attributes: str) -> str:
    text = texts[0]
    left = "<barline location='left'><repeat direction='forward'/></barline>"
    right = "<barline location='right'><repeat direction='backward'/></barline>"
    double = "<barline location='right'><bar-style>light-light</bar-style></barline>"
    before = left if text.startswith("|:") else ""
    behind = right if text.endswith(":|") else double if text.endswith("||") else ""
    hands = [t.removeprefix("|:").removesuffix(":|").removesuffix("||").split("/") for t in texts]
    upper = "".join(_hand(upper, 1) for upper, _ in hands)
    lower = "".join(_hand(lower, 2) for _, lower in hands)
    back = f"<backup><duration>{MEASURE * len(texts)}</duration></backup>"
    return f"<measure number='{number}'>{attributes}{before}{upper}{back}{lower}{behind}</measure>"


def _hand(words: str, staff: int) -> str:
    chords = words.split()
    each = MEASURE // len(chords)
    return "".join(_chord(chord, each, staff) for chord in chords)


def _chord(chord: str, duration: int, staff: int) -> str:
    tail = f"<duration>{duration}</duration><voice>{staff}</voice><staff>{staff}</staff></note>"
    if chord == "-":
        return f"<note><rest/>{tail}"
    notes = []
    for index, name in enumerate(chord.split("+")):
        alter = name.count("#") - name[1:].count("b")
        notes.append(
            f"<note>{'<chord/>' if index else ''}<pitch><step>{name[0]}</step>"
            f"<alter>{alter}</alter><octave>{name[-1]}</octave></pitch>{tail}"
        )
    return "".join(notes)
