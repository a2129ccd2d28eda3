"""Text as a notebook keeps it: NFC, and nothing that a database can't hold."""

from __future__ import annotations

import unicodedata

from core.errors import InvalidEntryError


def kept_text(field: str, text: str) -> str:
    """What was typed, in NFC, otherwise as typed.

    Raises
    ------
    InvalidEntryError
        It holds U+0000 or half of a surrogate pair, which no database keeps; ``field`` says
        what was typed.
    """
    for character in text:
        if character == "\0" or "\ud800" <= character <= "\udfff":
            rule = f"leave out the character U+{ord(character):04X}, which can't be kept"
            raise InvalidEntryError(field, text, rule)
    return unicodedata.normalize("NFC", text)


def mended_text(text: str) -> str:
    """Text that nobody typed (a file's name, a title), with what can't be kept replaced."""
    readable = text.replace("\0", "\ufffd").encode("utf-8", "surrogateescape")
    return unicodedata.normalize("NFC", readable.decode("utf-8", "replace"))
