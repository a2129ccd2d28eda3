"""One note, chord or rest as MusicXML.

Source: MusicXML 4.0 (``note``), order of elements by its schema.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from core.score.formats.drafts import Event
from core.score.formats.note_shapes import Shape
from core.score.formats.tuplets import CLOSES, OPENS
from core.score.formats.xml_text import xml_text

_TIES = {
    "": ("", ""),
    "start": ('<tie type="start"/>', '<tied type="start"/>'),
    "stop": ('<tie type="stop"/>', '<tied type="stop"/>'),
    "continue": (
        '<tie type="stop"/><tie type="start"/>',
        '<tied type="stop"/><tied type="start"/>',
    ),
}
_GRACES = {"": "", "slashed": '<grace slash="yes"/>', "plain": "<grace/>"}
_GROUPS = ("ornaments", "technical", "articulations")


def note_text(
    event: Event,
    shape: Shape | None,
    *,
    ticks: int,
    bracket: int,
    accidentals: Mapping[int, str],
    places: tuple[str, str],
) -> str:
    """The ``<note>`` elements of one event.

    Parameters
    ----------
    ticks : its duration in divisions.
    bracket : bits as in ``tuplets``.
    accidentals : MusicXML's name, by index of the pitch.
    places : its ``<voice>`` and ``<staff>`` as text.
    """
    grace = _GRACES[event.grace]
    duration = "" if grace else f"<duration>{ticks}</duration>"
    voice, staff = places
    kind, modification = _shape_text(shape) if shape else ("", "")
    beams = _beams_text(event.beams) if event.beams else ""
    marks = _notations(event, bracket)
    if not event.pitches:
        hidden = ' print-object="no"' if event.is_hidden else ""
        rest = '<rest measure="yes"/>' if event.is_whole_measure else "<rest/>"
        kind, modification = ("", "") if event.is_whole_measure else (kind, modification)
        return (
            f"<note{hidden}>{grace}{rest}{duration}{voice}{kind}{modification}{staff}"
            f"{_around(marks)}</note>"
        )
    written = []
    for index, pitch in enumerate(event.pitches):
        tie, tied = _TIES[pitch.tie]
        accidental = accidentals.get(index)
        written.append(
            f"<note>{grace}{'<chord/>' if index else ''}"
            f"{_pitch_text(pitch[:3], event.is_unpitched)}{duration}"
            f"{tie}{voice}{kind}"
            f"{f'<accidental>{accidental}</accidental>' if accidental else ''}"
            f"{modification}{staff}{'' if index else beams}"
            f"{_around(tied + ('' if index else marks))}"
            f"{_lyrics(event) if event.lyrics and not index else ''}</note>"
        )
    return "".join(written)


def _around(notations: str) -> str:
    return f"<notations>{notations}</notations>" if notations else ""


@lru_cache(maxsize=4096)
def _pitch_text(pitch: tuple[str, float, int], is_unpitched: bool) -> str:
    step, alter, octave = pitch
    if is_unpitched:
        return (
            f"<unpitched><display-step>{step}</display-step>"
            f"<display-octave>{octave}</display-octave></unpitched>"
        )
    altered = f"<alter>{alter:g}</alter>" if alter else ""
    return f"<pitch><step>{step}</step>{altered}<octave>{octave}</octave></pitch>"


@lru_cache(maxsize=1024)
def _shape_text(shape: Shape) -> tuple[str, str]:
    """Type with dots, and what stands behind the accidental."""
    name, dots, tuplet = shape
    kind = f"<type>{name}</type>" + "<dot/>" * dots
    if tuplet is None:
        return kind, ""
    actual, normal = tuplet
    return kind, (
        f"<time-modification><actual-notes>{actual}</actual-notes>"
        f"<normal-notes>{normal}</normal-notes></time-modification>"
    )


@lru_cache(maxsize=1024)
def _beams_text(beams: tuple[str, ...]) -> str:
    levels = enumerate(beams[:8], 1)
    return "".join(f'<beam number="{level}">{beam}</beam>' for level, beam in levels if beam)


def _notations(event: Event, bracket: int) -> str:
    if not (bracket or event.slurs or event.marks):
        return ""
    parts = [f'<slur number="{number}" type="{kind}"/>' for number, kind in event.slurs]
    if bracket & OPENS:
        parts.append('<tuplet number="1" type="start"/>')
    if bracket & CLOSES:
        parts.append('<tuplet number="1" type="stop"/>')
    for group in _GROUPS:
        inside = [mark.partition("/")[2] for mark in event.marks if mark.startswith(f"{group}/")]
        if inside:
            parts.append(f"<{group}>{''.join(map(_mark, inside))}</{group}>")
    parts += [f"<{mark}/>" for mark in event.marks if "/" not in mark]
    return "".join(parts)


def _mark(mark: str) -> str:
    tag, equals, text = mark.partition("=")
    return f"<{tag}>{xml_text(text)}</{tag}>" if equals else f"<{tag}/>"


def _lyrics(event: Event) -> str:
    return "".join(
        f'<lyric number="{number}"><syllabic>{syllabic}</syllabic>'
        f"<text>{xml_text(text)}</text></lyric>"
        for number, (syllabic, text) in enumerate(event.lyrics, 1)
        if text
    )
