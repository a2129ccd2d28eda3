"""What a file that is no MusicXML looks like, for the sentence that sends it back.

Conventions: the table is asked from the top; a pattern is matched at the start of the bytes,
after a byte order mark and white space.
"""

from __future__ import annotations

import re

EXPORT = "Export the piece as MusicXML, and bring that in."

_HEAD_BYTES = 4096
_FLAGS = re.DOTALL | re.IGNORECASE
_MUSICXML = b"<score-"
_ZIP = b"PK"
"""What lies in it is asked by ``what_the_zip_looks_like``."""
_SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (rb"MThd", "a MIDI file"),
    (rb"%PDF", "a PDF"),
    (rb"\x89PNG|\xff\xd8\xff|GIF8|II\*\x00|MM\x00\*|RIFF....WEBP", "a picture"),
    (rb"RIFF|ID3|fLaC|OggS|\xff\xfb", "a sound recording"),
    (rb"\x1f\x8b|BZh|7z\xbc\xaf|\xfd7zXZ|Rar!", "a packed archive"),
    (rb"\{\\rtf|\xd0\xcf\x11\xe0", "a text document"),
    (rb"\*\*\w+|!!+ ?\w", "a Humdrum file"),
    (rb"%abc|((%|[A-Z]:)[^\n]*\n\s*)*X:\s*\d+", "an ABC file"),
    (rb"(<\?xml.*?)?(<!--.*?-->\s*)*<!doctype html|(<\?xml.*?)?<html", "a web page"),
    (rb"(<\?[^>]*>\s*)*(<!.*?>\s*)*<(\w+:)?mei\b", "an MEI file"),
    (rb"(<\?[^>]*>\s*)*(<!.*?>\s*)*<svg\b", "a picture"),
    (rb"[\[{]\s*[\"\[{\d]", "a JSON file"),
)
_ZIP_MEMBERS: tuple[tuple[str, str], ...] = (
    (r"word/document\.xml", "a text document"),
    (r"(ppt|xl)/.*", "an office document"),
    (r"content\.xml", "an office document"),
    (r".*\.opf", "an electronic book"),
)


def what_it_looks_like(data: bytes) -> str | None:
    r"""Name the kind of file, with its article; None when nothing known fits.

    Examples
    --------
    >>> what_it_looks_like(b"MThd\x00\x00\x00\x06")
    'a MIDI file'
    """
    head = data[:_HEAD_BYTES].removeprefix(b"\xef\xbb\xbf")
    text = head.lstrip()
    # The usual files need no patterns; making them takes longer than reading the first notes.
    if text.startswith(_ZIP) or (text.startswith(b"<?xml") and _MUSICXML in text):
        return None
    return next((what for pattern, what in _SIGNATURES if re.match(pattern, text, _FLAGS)), None)


def what_the_zip_looks_like(members: list[str]) -> str | None:
    """Name what a zip with these members is; None when nothing known fits."""
    for pattern, what in _ZIP_MEMBERS:
        if any(re.fullmatch(pattern, member) for member in members):
            return what
    return None


def no_score(what: str | None) -> str:
    """The sentence for a file that is no score."""
    return f"This looks like {what or 'something else'}, not MusicXML. {EXPORT}"
