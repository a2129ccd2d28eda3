"""The canonical form: partwise MusicXML in which everything one can point at has an id.

Conventions: notes (rests too), measures and directions keep the file's own id where it is an
XML name and the first of its kind. A later twin gets a suffix (``x-2``); what has none, or one
that is no name, is called ``n<part>.<ordinal>`` (m for measures, d for directions; part and
ordinal count from 1, the ordinal over the part's notes and rests). Parts are P1, P2 ... in the
order of the file. Nothing else changes, apart from comments and what stands before the root
element, which are left out. Making a canonical form canonical changes nothing.

Source: W3C, Namespaces in XML 1.0 (NCName); MusicXML 4.0 (document-wide ``id`` attributes).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cached_property
from typing import NamedTuple

from lxml import etree

from core.score.quoting import shown
from core.score.splicing import spliced

_NCNAME = re.compile(r"[^\W\d][\w.\-\u00b7]*")
_ANY_ID = re.compile(rb"id\s*=\s*[\"']([^\"']*)")
_LETTERS = {"note": "n", "measure": "m", "direction": "d"}
_PATHS = {"note": "measure/note", "measure": "measure", "direction": "measure/direction"}
"""Where they stand in a part."""
_ELEMENTS = {kind: etree.XPath(path) for kind, path in _PATHS.items()}
_GIVEN = {kind: etree.XPath(f"{path}/@id", smart_strings=False) for kind, path in _PATHS.items()}
_COUNT = {kind: etree.XPath(f"count({path})") for kind, path in _PATHS.items()}
_TOLD_ONE_BY_ONE = 20


class Canonical(NamedTuple):
    """A score made canonical.

    Parameters
    ----------
    text : bytes
        UTF-8 with an XML declaration.
    root : lxml element, ``score-partwise``.
        The tree of ``text``, except that notes may lack their ids.
    note_ids : list of str
        Of all notes and rests, in the order of the file.
    oddities : tuple of str
        What was mended, one sentence each.
    """

    text: bytes
    root: etree._Element
    note_ids: list[str]
    oddities: tuple[str, ...]


def canonicalise(root: etree._Element, text: bytes) -> Canonical:
    """Make a score canonical; the tree is changed in place.

    Parameters
    ----------
    root : lxml element, ``score-partwise`` or ``score-timewise``.
    text : bytes
        What the tree was parsed from, in UTF-8.
    """
    is_timewise = root.tag == "score-timewise"
    if is_timewise:
        root = _partwise(root)
    oddities, is_renamed = _name_parts(root)
    ids = _Ids(root, text)
    for part_number, part in enumerate(root.iterchildren("part"), 1):
        ids.name_all(part, part_number)
    needs_only_ids = not (is_timewise or is_renamed or ids.mended)
    made = spliced(text, ids.lacking) if needs_only_ids else None
    return Canonical(
        text=_serialised(root, ids.of_notes) if made is None else made,
        root=root,
        note_ids=ids.of_notes,
        oddities=(*oddities, *ids.told()),
    )


def _serialised(root: etree._Element, note_ids: list[str]) -> bytes:
    for note, note_id in zip(root.iterfind("part/measure/note"), note_ids, strict=True):
        note.set("id", note_id)
    text: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=True)
    return text


def is_ncname(text: str) -> bool:
    """Whether ``text`` can be the value of an XML id.

    Examples
    --------
    >>> is_ncname("m12"), is_ncname("12"), is_ncname("a b"), is_ncname("a:b")
    (True, False, False, False)
    """
    return _NCNAME.fullmatch(text) is not None


class _Ids:
    """Gives ids, one part after the other."""

    def __init__(self, root: etree._Element, text: bytes) -> None:
        self.used: set[str] = {part.get("id", "") for part in root.iterchildren("part")}
        self.of_notes: list[str] = []
        self.lacking: dict[str, list[str | None]] = {kind: [] for kind in _LETTERS}
        self.next_suffix: dict[str, int] = {}
        self.mended: list[str] = []
        self._text = text

    @cached_property
    def present(self) -> set[str]:
        """All ids in the text, and perhaps more; asked for only where an id has to be made.

        An id written with character references is no match, and no id that is made here has
        a character that anyone would write so.
        """
        return {found.decode("utf-8", "replace") for found in _ANY_ID.findall(self._text)}

    def name_all(self, part: etree._Element, part_number: int) -> None:
        """Name a part's notes, then its measures, then its directions."""
        for kind, letter in _LETTERS.items():
            own = _own_ids(part, kind)
            made = [f"{letter}{part_number}.{ordinal}" for ordinal in range(1, len(own) + 1)]
            lacking, names = self._all_at_once(own, made) or self._one_by_one(own, made, part, kind)
            self.used.update(names)
            self.lacking[kind] += lacking
            if kind == "note":
                self.of_notes += names
            elif any(lacking):
                for element, name in zip(_ELEMENTS[kind](part), names, strict=True):
                    element.set("id", name)

    def _all_at_once(
        self, own: list[str | None], made: list[str]
    ) -> tuple[list[str | None], list[str]] | None:
        """Which ids are lacking, and all ids, where none or all were there; the usual cases."""
        given = [name for name in own if name is not None]
        if not given and self.present.isdisjoint(made) and self.used.isdisjoint(made):
            return [*made], made
        is_whole = len(given) == len(own) == len(set(given)) and self.used.isdisjoint(given)
        if is_whole and all(map(_NCNAME.fullmatch, given)):
            return [None] * len(own), given
        return None

    def _one_by_one(
        self, own: list[str | None], made: list[str], part: etree._Element, kind: str
    ) -> tuple[list[str | None], list[str]]:
        lacking: list[str | None] = []
        names: list[str] = []
        for name, other, element in zip(own, made, _ELEMENTS[kind](part), strict=True):
            if name is not None and name not in self.used and is_ncname(name):
                lacking.append(None)
                names.append(name)
            else:
                fresh = self._free(other) if name is None else self._mended(name, other, element)
                lacking.append(fresh)
                names.append(fresh)
            self.used.add(names[-1])
        return lacking, names

    def _mended(self, own: str, made: str, element: etree._Element) -> str:
        measure = next(element.iterancestors("measure"), element)
        where = f"Measure {shown(measure.get('number')) or '?'}"
        if is_ncname(own):
            self.mended.append(f"{where}: the id {shown(own)} was there twice.")
            return self._free(own, first_suffix=2)
        self.mended.append(f"{where}: the id {shown(own)!r} is no XML name.")
        return self._free(made)

    def _free(self, base: str, *, first_suffix: int = 1) -> str:
        if first_suffix == 1 and base not in self.present and base not in self.used:
            return base
        suffix = self.next_suffix.get(base, 2)
        while (name := f"{base}-{suffix}") in self.present or name in self.used:
            suffix += 1
        self.next_suffix[base] = suffix + 1
        return name

    def told(self) -> Iterable[str]:
        """The mended ids, the first few one by one."""
        yield from self.mended[:_TOLD_ONE_BY_ONE]
        rest = len(self.mended) - _TOLD_ONE_BY_ONE
        if rest > 0:
            yield f"{rest} more ids were mended."


def _own_ids(part: etree._Element, kind: str) -> list[str | None]:
    """The ids that the file gives; asked so that notes needn't be touched one by one."""
    given: list[str | None] = _GIVEN[kind](part)
    count = int(_COUNT[kind](part))
    if given and len(given) < count:
        return [element.get("id") for element in _ELEMENTS[kind](part)]
    return given or [None] * count


def _name_parts(root: etree._Element) -> tuple[list[str], bool]:
    """Call the parts P1 ...; what was odd about them, and whether anything was changed."""
    before = _part_ids(root)
    oddities: list[str] = []
    part_list = root.find("part-list")
    if part_list is None:
        part_list = etree.Element("part-list")
        first_part = root.find("part")
        root.insert(root.index(first_part) if first_part is not None else len(root), part_list)
        oddities.append("The list of parts was missing; one was made.")
    listed: dict[str, etree._Element] = {}
    for score_part in part_list.iterchildren("score-part"):
        listed.setdefault(score_part.get("id", ""), score_part)
    parts = list(root.iterchildren("part"))
    for number, part in enumerate(parts, 1):
        own = part.get("id", "")
        score_part = listed.pop(own, None)
        if score_part is None:
            score_part = etree.SubElement(part_list, "score-part")
            etree.SubElement(score_part, "part-name")
            oddities.append(
                f"Part {number} ({shown(own) or 'without id'}) was not in the list of parts."
            )
        score_part.set("id", f"P{number}")
        part.set("id", f"P{number}")
    unplayed = [e for e in part_list.iterchildren("score-part") if e in listed.values()]
    for number, score_part in enumerate(unplayed, len(parts) + 1):
        oddities.append(f"Part {shown(score_part.get('id'))!r} is listed and has no music.")
        score_part.set("id", f"P{number}")
    return oddities, before != _part_ids(root) or bool(oddities)


def _part_ids(root: etree._Element) -> list[str | None]:
    parts = [*root.iterchildren("part"), *root.iterfind("part-list/score-part")]
    return [part.get("id") for part in parts]


def _partwise(timewise: etree._Element) -> etree._Element:
    """Turn measures of parts into parts of measures; a part absent somewhere gets a gap."""
    measures = list(timewise.iterchildren("measure"))
    part_ids = dict.fromkeys(
        part.get("id", "") for measure in measures for part in measure.iterchildren("part")
    )
    root = etree.Element("score-partwise", dict(timewise.attrib))
    root.text = timewise.text
    for child in list(timewise):
        if child.tag != "measure":
            root.append(child)
    parts = {part_id: etree.SubElement(root, "part", id=part_id) for part_id in part_ids}
    for measure in measures:
        _deal_out(measure, parts)
    return root


def _deal_out(measure: etree._Element, parts: dict[str, etree._Element]) -> None:
    attributes = dict(measure.attrib)
    dealt = {part_id: etree.SubElement(part, "measure") for part_id, part in parts.items()}
    for target in dealt.values():
        target.attrib.update(attributes)
        attributes.pop("id", None)
    for source in measure.iterchildren("part"):
        dealt[source.get("id", "")].extend(list(source))
