"""Text of a file of any kind as it may stand in XML.

Source: W3C, Extensible Markup Language 1.0, 5th edition, 2.2 (``Char``) and 2.4.
"""

from __future__ import annotations

import re

_NO_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})


def xml_text(text: str) -> str:
    r"""Text without what XML can't hold, escaped.

    Examples
    --------
    >>> xml_text("a < b\x00")
    'a &lt; b'
    """
    return _NO_XML.sub("", text).translate(_ESCAPES)
