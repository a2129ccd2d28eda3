"""XML from strangers into a tree: nothing is fetched, nothing is expanded.

Conventions: entities of any kind are refused before the parser sees them, so ``huge_tree``
(needed for long scores) is safe under ``BYTES_LIMIT``. Comments and processing instructions
carry no music and are dropped. Text is brought to UTF-8 first, by the declared encoding.

Source: W3C, Extensible Markup Language 1.0, 5th edition, 2.8 and 4.3.3 and appendix F.
"""

from __future__ import annotations

import re

from lxml import etree

from core.errors import UnreadableFileError
from core.score.looks_like import EXPORT, no_score, what_it_looks_like
from core.score.quoting import shown

BYTES_LIMIT = 256 * 1024 * 1024
"""Bytes of a score; the longest opera known to us has a tenth of it (from memory)."""

_WIDE_STARTS = (
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\xfe\xff", "utf-16"),
    (b"\xff\xfe", "utf-16"),
    (b"\x00<\x00", "utf-16-be"),
    (b"<\x00", "utf-16-le"),
)
_DECLARATION = re.compile(r"^\ufeff?\s*<\?xml[^>]*?\?>")
_DECLARED = re.compile(rb"^\s*<\?xml[^>]*?encoding\s*=\s*[\"']([A-Za-z0-9._:-]+)[\"']")
_SCORE = "score-"
_LOOSE_ENTITY = re.compile(rb"&(?!(?:amp|lt|gt|quot|apos);|#)")
_UTF8_NAMES = {"utf-8", "utf8", "utf-16", "utf16", "us-ascii", "ascii", "unicode"}
"""Declared by a file whose first bytes are single: it is read as UTF-8."""


def parse_xml(data: bytes, *, name: str, root_starts: str = _SCORE) -> etree._Element:
    """The root element of an XML document.

    Parameters
    ----------
    data : bytes
        In any encoding that it declares.
    name : str
        The file as the person named it, for the error.
    root_starts : str
        How the tag that ends the document begins, which tells a file that broke off. One who
        knows another than a score's has looked already at what kind of file it is.

    Raises
    ------
    UnreadableFileError
        Empty, too long, no XML, not well formed, undecodable, or with entities of its own.
    """
    if len(data) > BYTES_LIMIT:
        limit = BYTES_LIMIT // 1024**2
        raise UnreadableFileError(name, f"It is longer than {limit} MB. Split the score.")
    if not data.strip(b" \t\r\n\x00"):
        raise UnreadableFileError(name, f"The file is empty. {EXPORT}")
    text = utf8_text(data, name=name)
    if root_starts == _SCORE:
        _refuse_other_files(text, name)
    _refuse_entities(text, name)
    try:
        root = etree.fromstring(text, _parser())
    except etree.XMLSyntaxError as error:
        raise _told(error, text, name, root_starts) from error
    _refuse_undefined_entities(root, text, name)
    return root


def _parser() -> etree.XMLParser:
    return etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=True,
        remove_comments=True,
        remove_pis=True,
    )


def utf8_text(data: bytes, *, name: str) -> bytes:
    """The document in UTF-8, whatever it declares; bytes that are so already stay as they are.

    Raises
    ------
    UnreadableFileError
        The encoding is unknown, or the bytes are not in it.
    """
    encoding = next((e for start, e in _WIDE_STARTS if data.startswith(start)), None)
    if encoding is None:
        declared = _DECLARED.match(data[:400].removeprefix(b"\xef\xbb\xbf"))
        encoding = declared[1].decode("ascii").lower() if declared else "utf-8"
        if encoding in _UTF8_NAMES:
            return _with_declaration_utf8(data) if encoding != "utf-8" else data
    try:
        text = data.decode(encoding)
    except LookupError as error:
        declares = f"It declares the encoding {shown(encoding)}, which nobody here knows."
        reason = f"{declares} Save it as UTF-8."
        raise UnreadableFileError(name, reason, "line 1") from error
    except UnicodeError as error:
        reason = f"It can't be decoded as {encoding}, which it claims to be. Save it as UTF-8."
        raise UnreadableFileError(name, reason) from error
    return _DECLARATION.sub("", text, count=1).encode("utf-8", "surrogatepass")


def _with_declaration_utf8(data: bytes) -> bytes:
    head, tail = data[:400].decode("latin-1"), data[400:]
    head = head.removeprefix("\xef\xbb\xbf")
    return _DECLARATION.sub("", head, count=1).encode("latin-1") + tail


def _refuse_other_files(text: bytes, name: str) -> None:
    start = text[:64].removeprefix(b"\xef\xbb\xbf").lstrip()
    if start.startswith(b"<") and b"<score-" in text[:4096]:
        return
    what = what_it_looks_like(text)
    if what or not start.startswith(b"<"):
        raise UnreadableFileError(name, no_score(what))


def _refuse_entities(text: bytes, name: str) -> None:
    at = text.find(b"!")  # a rare byte is found much faster than a word
    while at >= 0 and not text.startswith(b"<!ENTITY", max(at - 1, 0)):
        at = text.find(b"!", at + 1)
    if at >= 0:
        reason = (
            "It defines entities of its own, which can reach outside the file or swell without "
            f"end. {EXPORT}"
        )
        raise UnreadableFileError(name, reason, f"line {_line_at(text, at)}")


def _refuse_undefined_entities(root: etree._Element, text: bytes, name: str) -> None:
    if b"&" not in text or not _LOOSE_ENTITY.search(text):
        return
    for node in root.iter(etree.Entity):
        reason = f"It uses the entity {shown(node.text)}, which is not defined. {EXPORT}"
        raise UnreadableFileError(name, reason, f"line {node.sourceline}")


def _told(
    error: etree.XMLSyntaxError, text: bytes, name: str, root_starts: str
) -> UnreadableFileError:
    line = f"line {error.position[0]}" if error.position and error.position[0] else ""
    if error.code == etree.ErrorTypes.ERR_INVALID_ENCODING or "encod" in str(error.msg).lower():
        reason = "It holds bytes that are not in the encoding it claims (UTF-8 unless it says so)."
        return UnreadableFileError(name, f"{reason} Save it as UTF-8.", line)
    if not text.rstrip().endswith(b">") or f"</{root_starts}".encode() not in text[-4096:]:
        reason = "The file breaks off before its end. Get a whole copy, or export it again."
        return UnreadableFileError(name, reason, line)
    detail = shown(str(error.msg).split(", line")[0], longest=120)
    return UnreadableFileError(name, f"It is not well-formed XML ({detail}). {EXPORT}", line)


def _line_at(text: bytes, at: int) -> int:
    return text.count(b"\n", 0, at) + 1
