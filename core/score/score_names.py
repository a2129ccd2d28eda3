"""Title and composer of a score, as far as the file names them.

Source: MusicXML 4.0 (``work``, ``movement-title``, ``identification``, ``credit``).
"""

from __future__ import annotations

import re

from lxml import etree

from core.score.printed_directions import squeezed


def title_of(root: etree._Element) -> str:
    """The work's title and the movement's; without them a credit of page 1 that looks like one.

    Returns
    -------
    str
        "work, movement" where both are given and differ; empty when nothing is.
    """
    work = squeezed(root.findtext("work/work-title"))
    movement = squeezed(root.findtext("movement-title"))
    if work and movement and movement.casefold() not in work.casefold():
        return movement if work.casefold() in movement.casefold() else f"{work}, {movement}"
    return work or movement or _credit(root, "title") or _largest_credit(root)


def composer_of(root: etree._Element) -> str:
    """The creators of type composer, joined by a comma; without them a credit of that type."""
    creators = [
        squeezed(creator.text)
        for creator in root.iterfind("identification/creator")
        if creator.get("type", "").strip().lower() == "composer"
    ]
    return ", ".join(dict.fromkeys(filter(None, creators))) or _credit(root, "composer")


def _first_page(root: etree._Element) -> list[etree._Element]:
    return [c for c in root.iterchildren("credit") if c.get("page", "1").strip() == "1"]


def _credit(root: etree._Element, kind: str) -> str:
    for credit in _first_page(root):
        if squeezed(credit.findtext("credit-type")).lower() == kind:
            return squeezed(" ".join(w.text or "" for w in credit.iterchildren("credit-words")))
    return ""


def _largest_credit(root: etree._Element) -> str:
    """The largest centred words without a type of their own; a size is needed to tell."""
    best, best_size = "", 0.0
    for credit in _first_page(root):
        words = credit.find("credit-words")
        if words is None or credit.find("credit-type") is not None:
            continue
        size = words.get("font-size", "")
        is_centred = "center" in (words.get("justify"), words.get("halign"))
        if is_centred and re.fullmatch(r"\d+(\.\d+)?", size) and float(size) > best_size:
            best, best_size = squeezed(words.text), float(size)
    return best
