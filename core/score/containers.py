"""MXL: the zip container of MusicXML, opened with distrust.

Conventions: sizes in the zip's own headers are never believed; the score is inflated in
pieces and given up at a limit. Nothing is written to disk.

Source: MusicXML 4.0 (W3C Community Group, 2021), "Compressed .MXL files": the container names
the score in ``META-INF/container.xml``; the first rootfile is the score; stored or deflated.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

from core.errors import UnreadableFileError
from core.score.looks_like import EXPORT, no_score, what_the_zip_looks_like
from core.score.quoting import shown
from core.score.safe_xml import BYTES_LIMIT, parse_xml

CONTAINER = "META-INF/container.xml"
CONTAINER_LIMIT = 1024 * 1024
RATIO_LIMIT = 400
"""Inflated over packed bytes. Scores reach 20 to 50; deflate itself can't pass 1032."""
RATIO_COUNTS_FROM = 16 * 1024 * 1024
"""Bytes below which the ratio is not asked: nothing that small can hurt."""

_PIECE = 1024 * 1024
_SCORE_TYPES = ("", "application/vnd.recordare.musicxml+xml", "application/vnd.recordare.musicxml",
                "text/xml", "application/xml")  # fmt: skip
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError, RuntimeError,
           ValueError, struct.error)  # fmt: skip


def is_zip(data: bytes) -> bool:
    """Whether the bytes begin as a zip does."""
    return data[:4] in (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")


def score_inside(data: bytes, *, name: str) -> bytes:
    """The bytes of the MusicXML inside an MXL file.

    Raises
    ------
    UnreadableFileError
        A broken zip, no container, a container that points outside itself or at nothing,
        an encrypted score, or one that inflates beyond ``BYTES_LIMIT`` or ``RATIO_LIMIT``.
    """
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except _BROKEN as error:
        reason = "It is an MXL file whose zip is broken. Get a whole copy, or export it again."
        raise UnreadableFileError(name, reason) from error
    with archive:
        members = archive.namelist()
        if CONTAINER not in members:
            raise UnreadableFileError(name, _without_container(members))
        rootfile = _rootfile(_inflated(archive, CONTAINER, CONTAINER_LIMIT, name), members, name)
        return _inflated(archive, rootfile, BYTES_LIMIT, name)


def _without_container(members: list[str]) -> str:
    what = what_the_zip_looks_like(members)
    if what:
        return no_score(what)
    return f"It is a zip without {CONTAINER}, so not an MXL file. {EXPORT}"


def _rootfile(container: bytes, members: list[str], name: str) -> str:
    try:
        root = parse_xml(container, name=name, root_starts="container")
    except UnreadableFileError as error:
        raise UnreadableFileError(name, error.reason, CONTAINER) from error
    paths = [
        element.get("full-path", "")
        for element in root.iter("{*}rootfile")
        if element.get("media-type", "") in _SCORE_TYPES
    ]
    if not paths or not paths[0]:
        raise UnreadableFileError(name, f"Its container names no score. {EXPORT}", CONTAINER)
    path: str = paths[0]
    if path.startswith(("/", "\\")) or ".." in path.replace("\\", "/").split("/") or ":" in path:
        reason = f"Its container points outside itself, at {shown(path)}. {EXPORT}"
        raise UnreadableFileError(name, reason, CONTAINER)
    if path not in members:
        reason = f"Its container names {shown(path)}, which is not in it. {EXPORT}"
        raise UnreadableFileError(name, reason, CONTAINER)
    return path


def _inflated(archive: zipfile.ZipFile, member: str, limit: int, name: str) -> bytes:
    info = archive.getinfo(member)
    if info.flag_bits & 1:
        raise UnreadableFileError(name, f"The score in it is locked by a password. {EXPORT}")
    if info.compress_type not in _METHODS:
        raise UnreadableFileError(name, f"The score in it is packed in an unknown way. {EXPORT}")
    pieces, size = [], 0
    try:
        with archive.open(info) as source:
            while piece := source.read(_PIECE):
                size += len(piece)
                _refuse_bomb(size, info.compress_size, limit, name)
                pieces.append(piece)
    except _BROKEN as error:
        reason = f"The file {shown(member)} in it is damaged. Get a whole copy, or export it again."
        raise UnreadableFileError(name, reason) from error
    return b"".join(pieces)


def _refuse_bomb(size: int, packed_size: int, limit: int, name: str) -> None:
    swollen = size > RATIO_COUNTS_FROM and size > RATIO_LIMIT * max(packed_size, 1)
    if size > limit or swollen:
        reason = f"What is packed in it swells beyond {size // 1024**2} MB, as no score does. "
        raise UnreadableFileError(name, reason + EXPORT)
