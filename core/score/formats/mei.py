"""MEI: common Western notation into a draft.

Conventions: read with lxml. music21 reads MEI too, but gives up much of it (measured with 10.5:
keys and metres that are elements, all directions; it stops over words sung to one note).
Editorial elements are read through, of alternatives the first choice. Several movements are read
one after the other.

Source: Music Encoding Initiative, MEI Guidelines 5.0, 2023, modules shared and CMN.
"""

from __future__ import annotations

from lxml import etree

from core.errors import UnreadableFileError
from core.score.formats.drafts import Draft, DraftPart
from core.score.formats.foreign_text import CHECK
from core.score.formats.mei_music import MusicWalk
from core.score.formats.mei_notes import tag_of, text_in
from core.score.formats.sounding_accidentals import take_key_accidentals
from core.score.safe_xml import parse_xml

KIND = "MEI"
ACCIDENTALS_GUESSED = (
    "Its notes say no sounding accidentals; those of the key and the measure are taken."
)
MOVEMENTS_JOINED = "It holds {} movements; they are read one after the other."


def read_mei(data: bytes, *, name: str) -> Draft:
    """Read an MEI file.

    Raises
    ------
    UnreadableFileError
        It is not whole, or holds no score.
    """
    root = parse_xml(data, name=name, root_starts="mei>")
    music = root.find("{*}music") if tag_of(root) == "mei" else None
    definition = None if music is None else next(music.iter("{*}scoreDef"), None)
    if music is None or definition is None:
        reason = "It holds no score that begins with a scoreDef. Export it again, or as MusicXML."
        raise UnreadableFileError(name, reason)
    draft = Draft(title=_title(root), composer=_composer(root))
    draft.parts, staves = _parts(definition)
    if not draft.parts:
        raise UnreadableFileError(name, f"Its scoreDef defines no staff. {CHECK}")
    MusicWalk(draft, staves, music).walk(definition)
    movements = len(list(music.iter("{*}mdiv")))
    if movements > 1:
        draft.guesses.append(MOVEMENTS_JOINED.format(movements))
    if not any("accid.ges" in e.attrib for e in music.iter("{*}note", "{*}accid")):
        _infer_accidentals(draft)
    return draft


def _infer_accidentals(draft: Draft) -> None:
    changes = [c for part in draft.parts for m in part.measures for c in m.changes]
    if any(change.key is not None and change.key[0] for change in changes):
        draft.guesses.append(ACCIDENTALS_GUESSED)
    for part in draft.parts:
        take_key_accidentals(part)


def _title(root: etree._Element) -> str:
    for path in (
        "{*}meiHead/{*}workList/{*}work/{*}title",
        "{*}meiHead/{*}fileDesc/{*}titleStmt/{*}title",
    ):
        for element in root.iterfind(path):
            if title := text_in(element):
                return title
    return ""


def _composer(root: etree._Element) -> str:
    head = root.find("{*}meiHead")
    if head is None:
        return ""
    names = [text_in(e) for e in head.iter("{*}composer")]
    names += [text_in(e) for e in head.iter("{*}persName") if e.get("role") == "composer"]
    return next(filter(None, names), "")


def _parts(definition: etree._Element) -> tuple[list[DraftPart], dict[str, tuple[int, int]]]:
    """The parts, and where each staff is: part from 0, staff in it from 1, by its ``n``."""
    parts: list[DraftPart] = []
    staves: dict[str, tuple[int, int]] = {}
    for group in _groups(definition):
        label = next((text_in(e) for e in group if tag_of(e) == "label"), "")
        found = [group] if tag_of(group) == "staffDef" else list(group.iter("{*}staffDef"))
        for staff, element in enumerate(found, 1):
            staves[element.get("n", str(len(staves) + 1))] = len(parts), staff
        name = label or group.get("label", "")
        parts.append(DraftPart(name=" ".join(name.split()), staves=len(found)))
    return parts, staves


def _groups(definition: etree._Element) -> list[etree._Element]:
    """What is one part each: a brace of two or three staves, or one staff."""
    groups: list[etree._Element] = []
    for child in definition:
        tag = tag_of(child)
        if tag == "staffDef" or (tag == "staffGrp" and _is_brace(child)):
            groups.append(child)
        elif tag == "staffGrp":
            groups += _groups(child)
    return groups


def _is_brace(group: etree._Element) -> bool:
    symbols = [group.get("symbol")]
    symbols += [e.get("symbol") for e in group if tag_of(e) == "grpSym"]
    return "brace" in symbols and 1 < sum(tag_of(e) == "staffDef" for e in group) < 4
