"""Ids set in the text of a score itself, instead of writing out its tree.

Conventions: a start tag is found by its name alone, which is safe only where nothing else can
look like one: no comments, CDATA sections or processing instructions anywhere. Such a text is
left to the serialiser. It is worth the care, since serialising takes a fifth of the whole
reading, and what was printed in the file stays as it was to the byte.

Source: W3C, Extensible Markup Language 1.0, 5th edition, 2.4: "<" stands for nothing but
markup outside comments, processing instructions and CDATA sections.
"""

from __future__ import annotations

import re

DECLARATION = b"<?xml version='1.0' encoding='UTF-8'?>\n"

_ROOT = re.compile(rb"<score-partwise(?=[\s>/])")
_NAMED = re.compile(rb"(<(?:note|measure|direction))(?=[\s>/])")
_LOOK_ALIKES = (b"<!--", b"<![CDATA[", b"<?")


def spliced(text: bytes, ids: list[str | None]) -> bytes | None:
    r"""Set ids in start tags.

    Parameters
    ----------
    text : bytes
        A well-formed partwise score in UTF-8.
    ids : list of str or None
        For each note, measure and direction in the order of the file: the id that it lacks,
        or None where it has one.

    Returns
    -------
    bytes or None
        With an XML declaration, and from the root element on; None where it can't be done.

    Examples
    --------
    >>> spliced(b"<score-partwise><note/></score-partwise>", ["n1.1"]).split(b"\n")[1]
    b'<score-partwise><note id="n1.1"/></score-partwise>'
    """
    roots = [found.start() for found in _ROOT.finditer(text)]
    if len(roots) != 1:
        return None  # one of them stands in a comment
    body = text[roots[0] :].rstrip()
    pieces = _NAMED.split(body)
    tags = pieces[1::2]
    if len(tags) != len(ids) or any(sign in body for sign in _LOOK_ALIKES):
        return None
    pieces[1::2] = [
        tag if own is None else b'%b id="%b"' % (tag, own.encode())
        for tag, own in zip(tags, ids, strict=True)
    ]
    return b"".join((DECLARATION, *pieces))
