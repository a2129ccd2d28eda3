"""Small invented scores for the tests, written out as MusicXML."""

from __future__ import annotations

import io
import zipfile

CONTAINER = (
    '<?xml version="1.0"?><container><rootfiles><rootfile full-path="{path}" '
    'media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>'
)


def note(pitch: str = "C4", duration: object = 1, extra: str = "", **attributes: str) -> str:
    """Write a note: "F#4" or "Bb3"; its duration (None for none), further children, attributes."""
    step, alter, octave = pitch[0], pitch[1:-1], pitch[-1]
    altered = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>", "": ""}[alter]
    return _note(
        f"<pitch><step>{step}</step>{altered}<octave>{octave}</octave></pitch>",
        duration,
        extra,
        attributes,
    )


def chord(pitch: str, duration: object = 1, extra: str = "", **attributes: str) -> str:
    """Write a note of the chord before it."""
    return note(pitch, duration, extra, **attributes).replace("<pitch>", "<chord/><pitch>")


def rest(duration: object = 1, extra: str = "", *, whole: bool = False) -> str:
    """Write a rest."""
    return _note('<rest measure="yes"/>' if whole else "<rest/>", duration, extra, {})


def _note(what: str, duration: object, extra: str, attributes: dict[str, str]) -> str:
    given = "".join(f' {name}="{value}"' for name, value in attributes.items())
    lasting = "" if duration is None else f"<duration>{duration}</duration>"
    return f"<note{given}>{what}{lasting}{extra}</note>"


def move(tag: str, duration: object) -> str:
    """Write a backup or forward."""
    return f"<{tag}><duration>{duration}</duration></{tag}>"


def words(text: str, extra: str = "") -> str:
    """Write a direction of words."""
    return f"<direction><direction-type><words>{text}</words></direction-type>{extra}</direction>"


def attributes(divisions: object = 1, time: str = "4/4", extra: str = "") -> str:
    """Write attributes; no time signature for an empty ``time``."""
    beats, _, beat_type = time.partition("/")
    signed = f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>"
    return (
        f"<attributes><divisions>{divisions}</divisions>{signed if time else ''}{extra}"
        "</attributes>"
    )


def score(*parts: list[str], head: str = "", version: str = "4.0") -> bytes:
    """Write a partwise score: each part a list of the contents of its measures."""
    names = "".join(
        f'<score-part id="P{n}"><part-name>Part {n}</part-name></score-part>'
        for n in range(1, len(parts) + 1)
    )
    body = "".join(
        f'<part id="P{n}">'
        + "".join(f'<measure number="{m}">{content}</measure>' for m, content in enumerate(part, 1))
        + "</part>"
        for n, part in enumerate(parts, 1)
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="{version}">{head}'
        f"<part-list>{names}</part-list>{body}</score-partwise>"
    ).encode()


def mxl(inside: bytes | None, *, path: str = "score.musicxml", named: str | None = None) -> bytes:
    """Pack an MXL file; ``named`` is what its container names, if not ``path``."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", CONTAINER.format(path=named or path))
        if inside is not None:
            archive.writestr(path, inside)
    return packed.getvalue()
