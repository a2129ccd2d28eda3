"""What stands between the notes as MusicXML: attributes, directions, barlines.

Source: MusicXML 4.0 (``attributes``, ``direction``, ``barline``), order by its schema.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from core.score.formats.drafts import Barline, Change, Clef, Sign
from core.score.formats.xml_text import xml_text

_DYNAMICS = {"p", "pp", "ppp", "pppp", "ppppp", "pppppp", "f", "ff", "fff", "ffff", "fffff",
             "ffffff", "mp", "mf", "sf", "sfp", "sfpp", "fp", "rf", "rfz", "sfz", "sffz", "fz",
             "n", "pf", "sfzp"}  # fmt: skip


def attributes_text(
    changes: Iterable[Change],
    *,
    divisions: int | None = None,
    staves: int = 1,
    transposition: tuple[int, int] | None = None,
) -> str:
    """One ``<attributes>``; with ``divisions`` it is a part's first. A staff 0 means every one."""
    changes = list(changes)
    parts = [f"<divisions>{divisions}</divisions>"] if divisions is not None else []
    parts += [_key(c) for c in changes if c.key is not None]
    parts += [_time(c.metre) for c in changes if c.metre is not None][:1]
    if divisions is not None and staves > 1:
        parts.append(f"<staves>{staves}</staves>")
    parts += [_clef(c.clef, c.staff) for c in changes if c.clef is not None]
    if divisions is not None and transposition is not None:
        diatonic, chromatic = transposition
        parts.append(
            f"<transpose><diatonic>{diatonic}</diatonic>"
            f"<chromatic>{chromatic}</chromatic></transpose>"
        )
    return f"<attributes>{''.join(parts)}</attributes>" if parts else ""


def _key(change: Change) -> str:
    fifths, mode = change.key or (0, "")
    number = f' number="{change.staff}"' if change.staff else ""
    said = f"<mode>{mode}</mode>" if mode else ""
    return f"<key{number}><fifths>{fifths}</fifths>{said}</key>"


def _time(metre: tuple[str, str]) -> str:
    beats, beat_type = metre
    if not beats:
        return "<time><senza-misura/></time>"
    return f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>"


def _clef(clef: Clef, staff: int) -> str:
    line = f"<line>{clef.line}</line>" if clef.line is not None else ""
    octaves = f"<clef-octave-change>{clef.octaves}</clef-octave-change>" if clef.octaves else ""
    number = f' number="{staff}"' if staff > 1 else ""
    return f"<clef{number}><sign>{clef.sign}</sign>{line}{octaves}</clef>"


def sign_text(sign: Sign, offset: Fraction, *, staves: int) -> str:
    """A ``<direction>``; ``offset`` in divisions from where it stands among the notes."""
    placement = "above" if sign.kind in ("words", "metronome", "rehearsal") else "below"
    moved = f"<offset>{offset}</offset>" if offset else ""
    staff = f"<staff>{sign.staff}</staff>" if staves > 1 else ""
    return (
        f'<direction placement="{placement}"><direction-type>{_shown(sign)}</direction-type>'
        f"{moved}{staff}</direction>"
    )


def _shown(sign: Sign) -> str:
    text = xml_text(sign.text)
    if sign.kind == "dynamics":
        mark = f"<{text}/>" if text in _DYNAMICS else f"<other-dynamics>{text}</other-dynamics>"
        return f"<dynamics>{mark}</dynamics>"
    if sign.kind == "wedge":
        return f'<wedge type="{text}" number="{sign.number}"/>'
    if sign.kind == "pedal":
        return f'<pedal type="{text}" line="no" sign="yes"/>'
    if sign.kind == "metronome":
        unit, dots, number = text.split("|")
        dotted = "<beat-unit-dot/>" * int(dots)
        return (
            f"<metronome><beat-unit>{unit}</beat-unit>{dotted}"
            f"<per-minute>{number}</per-minute></metronome>"
        )
    if sign.kind in ("segno", "coda"):
        return f"<{sign.kind}/>"
    return f"<{sign.kind}>{text}</{sign.kind}>"


def barline_text(location: str, barline: Barline | None) -> str:
    """A ``<barline>``, or nothing where there is nothing to say."""
    if barline is None:
        return ""
    style = f"<bar-style>{barline.style}</bar-style>" if barline.style else ""
    endings = "".join(
        f'<ending number="{number}" type="{kind}"/>' for number, kind in barline.endings[:1]
    )
    times = f' times="{barline.times}"' if barline.times > 2 else ""
    repeat = f'<repeat direction="{barline.repeat}"{times}/>' if barline.repeat else ""
    inside = f"{style}{endings}{repeat}"
    return f'<barline location="{location}">{inside}</barline>' if inside else ""
