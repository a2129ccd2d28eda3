"""What a converted score tells of its own making, kept in its MusicXML.

Conventions: one ``miscellaneous-field`` a sentence, so that it is still told when the score is
opened again from its canonical form. Source: MusicXML 4.0 (``miscellaneous``).
"""

from __future__ import annotations

from lxml import etree

GUESSED, LEFT_OUT = "postil-guessed", "postil-left-out"
"""Names of the fields: what the format can't say, what the file says and the score doesn't."""


def guesses_in(root: etree._Element) -> tuple[str, ...]:
    """What was inferred, as sentences."""
    return _told(root, GUESSED)


def losses_in(root: etree._Element) -> tuple[str, ...]:
    """What was left out, as sentences."""
    return _told(root, LEFT_OUT)


def _told(root: etree._Element, name: str) -> tuple[str, ...]:
    fields = root.iterfind("identification/miscellaneous/miscellaneous-field")
    return tuple(field.text or "" for field in fields if field.get("name") == name)
