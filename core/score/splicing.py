"""Ids set in the text of a score itself, instead of writing out its tree.

Conventions: a start tag is found by its name alone, which is safe only where nothing else can
look like one: no comments, CDATA sections or processing instructions anywhere. Such a text is
left to the serialiser. It is worth the care, since serialising takes a fifth of the whole
reading, and what was printed in the file stays as it was to the byte.

Source: W3C, Extensible Markup Language 1.0, 5th edition, 2.4: "<" stands for nothing but
markup outside comments, processing instructions and CDATA sections.
"""

from __future__ import annotations

DECLARATION = b"<?xml version='1.0' encoding='UTF-8'?>\n"

_ROOT = b"<score-partwise"
_NAME_ENDS = b" >/\t\r\n"
_LOOK_ALIKES = ((b"!", (b"<!--", b"<![CDATA[")), (b"?", (b"<?",)))
"""A rare byte, which is looked for first since that costs nothing, and what has it."""


def spliced(text: bytes, ids: dict[str, list[str | None]]) -> bytes | None:
    r"""Set ids in start tags.

    Parameters
    ----------
    text : bytes
        A well-formed partwise score in UTF-8.
    ids : dict of lists of str or None
        For each tag, for each element of that name in the order of the file: the id that it
        lacks, or None where it has one.

    Returns
    -------
    bytes or None
        With an XML declaration, and from the root element on; None where it can't be done.

    Examples
    --------
    >>> spliced(b"<score-partwise><note/></score-partwise>", {"note": ["n1.1"]}).split(b"\n")[1]
    b'<score-partwise><note id="n1.1"/></score-partwise>'
    """
    start = text.find(_ROOT)
    if start < 0 or text.find(_ROOT, start + 1) >= 0:
        return None  # a second one stands in a comment
    body = text[start:].rstrip()
    if any(rare in body and any(sign in body for sign in signs) for rare, signs in _LOOK_ALIKES):
        return None
    for tag, lacking in ids.items():
        named = _with_ids(body, b"<" + tag.encode(), lacking)
        if named is None:
            return None
        body = named
    return DECLARATION + body


def _with_ids(body: bytes, opening: bytes, lacking: list[str | None]) -> bytes | None:
    """Set ids behind an opening such as ``<note``, which also begins ``<notations``."""
    if not any(lacking):
        return body
    before, *pieces = body.split(opening)
    ids = iter([b' id="%b"' % own.encode() if own else b"" for own in lacking])
    try:
        named = [next(ids) + piece if piece[0] in _NAME_ENDS else piece for piece in pieces]
    except StopIteration:
        return None
    return None if any(True for _ in ids) else opening.join([before, *named])
