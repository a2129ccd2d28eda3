"""Invented music for two hands of any length, written in every format.

Conventions: themes of eight measures come back whole, varied, shortened or in another key, and
new ones come all along, so that a piece of 10,000 measures is not one measure ten thousand times.
All durations are in sixteenths, pitches as (step, alter, octave). The same length gives the same
music. Measures have 4/4.
"""

from __future__ import annotations

import io
import random
from collections.abc import Callable, Iterator
from typing import NamedTuple

STEPS = "CDEFGAB"
SHARPS = "FCGDAEB"
SEMITONES = (0, 2, 4, 5, 7, 9, 11)
WHOLE = 16
RHYTHMS = (
    (4, 4, 4, 4), (6, 2, 4, 4), (2, 2, 2, 2, 4, 4), (8, 4, 4), (4, 2, 2, 8), (3, 1, 4, 6, 2),
    (1, 1, 1, 1, 4, 2, 2, 4), (12, 4), (2, 2, 4, 2, 2, 4),
)  # fmt: skip
WORDS = ("dolce", "rit.", "a tempo", "poco a poco cresc.", "marcato", "sempre piano")
TYPES = {16: ("whole", 0), 12: ("half", 1), 8: ("half", 0), 6: ("quarter", 1), 4: ("quarter", 0),
         3: ("eighth", 1), 2: ("eighth", 0), 1: ("16th", 0)}  # fmt: skip
THEME = 8
"""Measures."""

Pitch = tuple[str, int, int]
Voice = list[tuple[int, Pitch]]


class Measure(NamedTuple):
    """Two hands, the signature in force, and words over them."""

    upper: Voice
    lower: Voice
    fifths: int
    words: str


def invented(measure_count: int) -> list[Measure]:
    """So many measures."""
    chance, themes, made = random.Random(4), [], []
    while len(made) < measure_count:
        if len(themes) < 2 or chance.random() < 0.3:
            themes.append(_theme(chance))
        fifths = chance.choice((-3, -2, -1, 0, 0, 1, 2, 3))
        theme = chance.choice(themes[-6:])
        lift = chance.choice((0, 0, 0, 7))
        length = THEME if chance.random() < 0.8 else THEME // 2
        for upper, lower in theme[:length]:
            words = chance.choice(WORDS) if chance.random() < 0.1 else ""
            if chance.random() < 0.2:
                upper = _varied(upper, chance)
            made.append(Measure(_sung(upper, fifths, lift), _sung(lower, fifths, 0), fifths, words))
    return made[:measure_count]


Degrees = list[tuple[int, int]]


def _theme(chance: random.Random) -> list[tuple[Degrees, Degrees]]:
    """Durations and degrees above the tonic of octave 4, for both hands."""
    theme, degree = [], chance.randrange(5, 10)
    for index in range(THEME):
        upper = []
        for duration in chance.choice(RHYTHMS):
            degree = min(max(degree + chance.choice((-2, -1, -1, 1, 1, 2, 3)), 3), 16)
            upper.append((duration, degree))
        root = (0, 3, 4, 0, 5, 3, 4, 0)[index] - 14
        figure = chance.choice(((0, 4, 2, 4), (0, 2, 4, 7), (0, 4, 7, 4)))
        theme.append((upper, [(2, root + step) for step in figure * 2]))
    return theme


def _varied(line: Degrees, chance: random.Random) -> Degrees:
    index = chance.randrange(len(line))
    duration, degree = line[index]
    if duration % 2:
        return line
    return [*line[:index], (duration // 2, degree), (duration // 2, degree + 1), *line[index + 1 :]]


def _sung(line: Degrees, fifths: int, lift: int) -> Voice:
    tonic = fifths * 4 % 7
    sung = []
    for duration, degree in line:
        octave, step = divmod(tonic + degree + lift - (7 if lift else 0), 7)
        letter = STEPS[step]
        sung.append((duration, (letter, _in_key(letter, fifths), 4 + octave)))
    return sung


def _in_key(letter: str, fifths: int) -> int:
    return (fifths + 6 - SHARPS.index(letter)) // 7


# -- as files ---------------------------------------------------------------------------------


def as_musicxml(measures: list[Measure]) -> bytes:
    """MusicXML, one part of two staves."""
    text, fifths = [], 99
    for number, measure in enumerate(measures, 1):
        text.append(f'<measure number="{number}">')
        key = f"<key><fifths>{measure.fifths}</fifths></key>" if measure.fifths != fifths else ""
        first = "<divisions>4</divisions>" if number == 1 else ""
        rest = (
            "<time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>"
            if number == 1 else ""
        )  # fmt: skip
        fifths = measure.fifths
        if first or key:
            text.append(f"<attributes>{first}{key}{rest}</attributes>")
        if measure.words:
            text.append(
                f"<direction><direction-type><words>{measure.words}</words></direction-type>"
                "<staff>1</staff></direction>"
            )
        text += _xml_voice(measure.upper, 1)
        text.append("<backup><duration>16</duration></backup>")
        text += _xml_voice(measure.lower, 2)
        text.append("</measure>\n")
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0"><part-list>'
        '<score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">\n'
        f"{''.join(text)}</part></score-partwise>"
    ).encode()


def _xml_voice(voice: Voice, staff: int) -> Iterator[str]:
    for duration, (step, alter, octave) in voice:
        kind, dots = TYPES[duration]
        altered = f"<alter>{alter}</alter>" if alter else ""
        yield (
            f"<note><pitch><step>{step}</step>{altered}<octave>{octave}</octave></pitch>"
            f"<duration>{duration}</duration><voice>{4 * staff - 3}</voice><type>{kind}</type>"
            f"{'<dot/>' * dots}<staff>{staff}</staff></note>"
        )


def as_mei(measures: list[Measure]) -> bytes:
    """MEI, a brace of two staves."""
    signs = {1: "s", -1: "f", 0: "n"}
    text, fifths = [], None
    for number, measure in enumerate(measures, 1):
        if measure.fifths != fifths:
            fifths = measure.fifths
            key = f"{abs(fifths)}{'s' if fifths > 0 else 'f' if fifths < 0 else ''}"
            if number > 1:
                text.append(f'<scoreDef keysig="{key}"/>')
        text.append(f'<measure n="{number}">')
        for staff, voice in ((1, measure.upper), (2, measure.lower)):
            text.append(f'<staff n="{staff}"><layer n="1">')
            for duration, (step, alter, octave) in voice:
                kind, dots = _plain_type(duration)
                text.append(
                    f'<note dur="{kind}" dots="{dots}" pname="{step.lower()}" oct="{octave}" '
                    f'accid.ges="{signs[alter]}"/>'
                )
            text.append("</layer></staff>")
        if measure.words:
            text.append(f'<dir staff="1" tstamp="1">{measure.words}</dir>')
        text.append("</measure>\n")
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<mei xmlns="http://www.music-encoding.org/ns/mei">'
        f'<meiHead/><music><body><mdiv><score><scoreDef keysig="{_mei_key(measures[0].fifths)}" '
        'meter.count="4" meter.unit="4"><staffGrp symbol="brace">'
        '<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>'
        '<staffDef n="2" lines="5" clef.shape="F" clef.line="4"/></staffGrp></scoreDef>'
        f"<section>{''.join(text)}</section></score></mdiv></body></music></mei>"
    ).encode()


def _mei_key(fifths: int) -> str:
    return f"{abs(fifths)}{'s' if fifths > 0 else 'f' if fifths < 0 else ''}"


def _plain_type(duration: int) -> tuple[int, int]:
    """The number of the type, 4 for a quarter, and dots."""
    dots = duration in (3, 6, 12)
    return WHOLE // (duration * 2 // 3 if dots else duration), int(dots)


def as_humdrum(measures: list[Measure]) -> bytes:
    """Humdrum, a spine a staff, the lower first."""
    lines = ["**kern\t**kern", "*Ipiano\t*Ipiano", "*clefF4\t*clefG2", "*M4/4\t*M4/4"]
    fifths = None
    for number, measure in enumerate(measures, 1):
        lines.append(f"={number}\t={number}")
        if measure.fifths != fifths:
            fifths = measure.fifths
            key = "".join(
                f"{letter.lower()}{'#' if fifths > 0 else '-'}"
                for letter in (SHARPS if fifths > 0 else SHARPS[::-1])[: abs(fifths)]
            )
            lines.append(f"*k[{key}]\t*k[{key}]")
        upper, lower = _kern(measure.upper), _kern(measure.lower)
        onsets = sorted(upper | lower)
        lines += [f"{lower.get(onset, '.')}\t{upper.get(onset, '.')}" for onset in onsets]
    lines += ["==\t==", "*-\t*-", ""]
    return "\n".join(lines).encode()


def _kern(voice: Voice) -> dict[int, str]:
    tokens, onset = {}, 0
    for duration, (step, alter, octave) in voice:
        kind, dots = _plain_type(duration)
        letter = step.lower() * (octave - 3) if octave >= 4 else step * (4 - octave)
        tokens[onset] = f"{kind}{'.' * dots}{letter}{'#' * alter}{'-' * -alter}"
        onset += duration
    return tokens


def as_abc(measures: list[Measure]) -> bytes:
    """ABC, two voices in a brace."""
    first = measures[0].fifths
    names = {-3: "Eb", -2: "Bb", -1: "F", 0: "C", 1: "G", 2: "D", 3: "A"}
    text = ["X:1", "T:Invented", "M:4/4", "L:1/16", "%%score {1 2}", "V:1 clef=treble",
            "V:2 clef=bass", f"K:{names[first]}"]  # fmt: skip
    for voice_number in (1, 2):
        text.append(f"V:{voice_number}")
        fifths, line = first, []
        for index, measure in enumerate(measures, 1):
            key = f"[K:{names[measure.fifths]}]" if measure.fifths != fifths else ""
            fifths = measure.fifths
            voice = measure.upper if voice_number == 1 else measure.lower
            line.append(key + "".join(map(_abc_note, voice)))
            if index % 4 == 0 or index == len(measures):
                text.append(" | ".join(line) + " |")
                line = []
    return ("\n".join(text) + "\n").encode()


def _abc_note(note: tuple[int, Pitch]) -> str:
    duration, (step, _, octave) = note  # all are in the key
    letter = step if octave < 5 else step.lower()
    moved = "," * (4 - octave) if octave < 5 else "'" * (octave - 5)
    return f"{letter}{moved}{duration}"


def as_midi(measures: list[Measure]) -> bytes:
    """A MIDI file of one track a hand."""
    import mido

    file = mido.MidiFile(type=1, ticks_per_beat=480)
    for hand in ("upper", "lower"):
        track = mido.MidiTrack()
        track.append(mido.MetaMessage("time_signature", numerator=4, denominator=4))
        for measure in measures:
            for duration, (step, alter, octave) in getattr(measure, hand):
                pitch = 12 * (octave + 1) + SEMITONES[STEPS.index(step)] + alter
                track.append(mido.Message("note_on", note=pitch, velocity=64, time=0))
                track.append(mido.Message("note_off", note=pitch, time=120 * duration))
        file.tracks.append(track)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


WRITERS: dict[str, Callable[[list[Measure]], bytes]] = {
    "MusicXML": as_musicxml,
    "MEI": as_mei,
    "Humdrum": as_humdrum,
    "ABC": as_abc,
    "MIDI": as_midi,
}
"""By the format's name."""
