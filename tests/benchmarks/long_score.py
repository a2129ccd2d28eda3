"""A long score for measuring: the invented Barcarolle, again and again."""

from __future__ import annotations

import copy
from pathlib import Path

from lxml import etree

from core.resources import sample_library


def repeated(times: int) -> bytes:
    """The sample piece's 24 measures that many times, as MusicXML."""
    root = etree.parse(sample_library() / "barcarolle.musicxml").getroot()
    part = root.find("part")
    once = list(part)
    for number in range(1, times):
        for measure in once:
            again = copy.deepcopy(measure)
            again.set("number", str(number * len(once) + int(measure.get("number"))))
            for element in again.iter():
                if element.get("id") is not None:
                    element.set("id", f"{element.get('id')}r{number}")
            part.append(again)
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


def write_long_score(folder: Path, measures: int) -> Path:
    """A file of at least that many measures."""
    path = folder / f"long-{measures}.musicxml"
    path.write_bytes(repeated(-(-measures // 24)))
    return path
