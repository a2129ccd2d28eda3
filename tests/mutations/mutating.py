"""Ways to damage a file. The same chance damages it the same way.

Each way takes the bytes and a ``random.Random`` and gives other bytes; ``mutated`` takes a few of
those that fit the file.
"""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable

from lxml import etree

from tests.mutations.sources import Source

Way = Callable[[bytes, random.Random], bytes]

EXTREMES = ("0", "-1", "-0", "1", "99", "128", "255", "1000000", "-99999", "2147483648",
            "1e999", "99999999999999999999", "0.1", "1/0", "NaN", "inf", "", "x", "\u00bd",
            "1" * 400)  # fmt: skip
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
HOW_MANY = (1, 1, 1, 1, 2, 3)
"""Ways that are taken with one file: of much damage only the first is seen."""


def mutated(source: Source, chance: random.Random) -> tuple[bytes, str]:
    """The damaged bytes, and what was done."""
    data, done = source.data, []
    for _ in range(chance.choice(HOW_MANY)):
        way = chance.choice(_ways(source.name))
        data = way(data, chance)
        done.append(way.__name__)
    return data, ", ".join(done)


def _ways(name: str) -> list[Way]:
    suffix = name.rpartition(".")[2]
    ways = [*BYTE_WAYS]
    if suffix in ("musicxml", "mei"):
        ways += TEXT_WAYS * 2 + XML_WAYS * 6
    elif suffix in ("krn", "abc"):
        ways += TEXT_WAYS * 3
    elif suffix == "mid":
        ways += MIDI_WAYS * 6
    elif suffix == "mxl":
        ways += ZIP_WAYS * 8
    return ways


def _span(data: bytes, chance: random.Random) -> tuple[int, int]:
    start = chance.randrange(len(data) + 1)
    return start, min(start + int(chance.expovariate(1 / 40)) + 1, len(data))


# -- any bytes --------------------------------------------------------------------------------


def flipped_bits(data: bytes, chance: random.Random) -> bytes:
    made = bytearray(data)
    for _ in range(chance.randint(1, 12) if made else 0):
        made[chance.randrange(len(made))] ^= 1 << chance.randrange(8)
    return bytes(made)


def other_bytes(data: bytes, chance: random.Random) -> bytes:
    start, end = _span(data, chance)
    return data[:start] + chance.randbytes(end - start) + data[end:]


def cut_off(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data) + 1)]


def without_start(data: bytes, chance: random.Random) -> bytes:
    return data[chance.randrange(min(len(data), 200) + 1) :]


def deleted_chunk(data: bytes, chance: random.Random) -> bytes:
    start, end = _span(data, chance)
    return data[:start] + data[end:]


def repeated_chunk(data: bytes, chance: random.Random) -> bytes:
    start, end = _span(data, chance)
    return data[:start] + data[start:end] * chance.choice((2, 3, 50)) + data[end:]


def swapped_chunks(data: bytes, chance: random.Random) -> bytes:
    (a, b), (c, d) = sorted((_span(data, chance), _span(data, chance)))
    if c < b:
        return data
    return data[:a] + data[c:d] + data[b:c] + data[a:b] + data[d:]


def foreign_bytes(data: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(data) + 1)
    piece = chance.choice((b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"<!--", b"]]>", b"&x;", b"\x1a",
                           "\u2028".encode(), "\U0001d11e".encode("utf-16"), b"\r"))  # fmt: skip
    return data[:at] + piece + data[at:]


def other_encoding(data: bytes, chance: random.Random) -> bytes:
    text = data.decode("utf-8", "replace")
    return text.encode(chance.choice(("utf-16", "utf-32", "latin-1", "cp500", "utf-7")), "replace")


BYTE_WAYS: list[Way] = [flipped_bits, other_bytes, cut_off, without_start, deleted_chunk,
                        repeated_chunk, swapped_chunks, foreign_bytes, other_encoding]  # fmt: skip


# -- text -------------------------------------------------------------------------------------


def extreme_number(data: bytes, chance: random.Random) -> bytes:
    numbers = list(_NUMBER.finditer(data))
    for found in sorted(chance.sample(numbers, min(len(numbers), chance.randint(1, 3))),
                        key=lambda one: -one.start()):  # fmt: skip
        data = data[: found.start()] + chance.choice(EXTREMES).encode() + data[found.end() :]
    return data


def every_such_number(data: bytes, chance: random.Random) -> bytes:
    numbers = _NUMBER.findall(data)
    if not numbers:
        return data
    return data.replace(chance.choice(numbers), chance.choice(EXTREMES).encode())


def moved_lines(data: bytes, chance: random.Random) -> bytes:
    lines = data.split(b"\n")
    at, to = chance.randrange(len(lines)), chance.randrange(len(lines))
    line = lines.pop(at) if chance.random() < 0.5 else lines[at]
    lines.insert(to, line)
    return b"\n".join(lines)


def deleted_line(data: bytes, chance: random.Random) -> bytes:
    lines = data.split(b"\n")
    del lines[chance.randrange(len(lines))]
    return b"\n".join(lines)


def swapped_signs(data: bytes, chance: random.Random) -> bytes:
    signs = b"|[]{}()<>:*^v=!.\t /\\\"'&~-_KMLQVXTz"
    made = bytearray(data)
    for _ in range(chance.randint(1, 6) if made else 0):
        made[chance.randrange(len(made))] = chance.choice(signs)
    return bytes(made)


TEXT_WAYS: list[Way] = [extreme_number, every_such_number, moved_lines, deleted_line,
                        swapped_signs]  # fmt: skip


# -- XML --------------------------------------------------------------------------------------


def other_tree(data: bytes, chance: random.Random) -> bytes:
    """One to four elements removed, doubled, moved, wrapped, renamed, or said to be extreme."""
    try:
        root = etree.fromstring(data)
    except (etree.XMLSyntaxError, ValueError):
        return data
    for _ in range(chance.randint(1, 4)):
        elements = [e for e in root.iter(etree.Element) if e is not root]
        if elements:
            _changed(chance.choice(elements), chance.choice(elements), chance)
    text: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return text


def _changed(element: etree._Element, other: etree._Element, chance: random.Random) -> None:
    act = chance.randrange(8)
    parent = element.getparent()
    if act == 0:
        parent.remove(element)
    elif act == 1:
        parent.insert(chance.randrange(len(parent) + 1), _copy(element))
    elif act == 2:
        other.append(_copy(element))
    elif act == 3:
        element.tag = other.tag
    elif act == 4:
        element.text = chance.choice(EXTREMES)
    elif act == 5 and element.attrib:
        del element.attrib[chance.choice(list(element.attrib))]
    elif act == 6 and element.attrib:
        element.set(chance.choice(list(element.attrib)), chance.choice(EXTREMES))
    else:
        element.clear()


def _copy(element: etree._Element) -> etree._Element:
    return etree.fromstring(etree.tostring(element, with_tail=False))


def nested_deep(data: bytes, chance: random.Random) -> bytes:
    depth = chance.choice((10, 200, 300, 20_000))
    at = data.find(b">", chance.randrange(len(data) + 1)) + 1
    return data[:at] + b"<a>" * depth + b"</a>" * depth + data[at:]


def with_entities(data: bytes, chance: random.Random) -> bytes:
    subset = chance.choice((b'<!ENTITY x "y">', b'<!ENTITY x SYSTEM "file:///etc/hostname">',
                            b'<!ENTITY % p "q">', b"<!ELEMENT a ANY>"))  # fmt: skip
    at = data.find(b"?>") + 2 if b"?>" in data else 0
    return data[:at] + b"<!DOCTYPE a [" + subset + b"]>" + data[at:].replace(b">1<", b">&x;<", 1)


XML_WAYS: list[Way] = [other_tree, other_tree, other_tree, nested_deep, with_entities]


# -- MIDI -------------------------------------------------------------------------------------


def other_header(data: bytes, chance: random.Random) -> bytes:
    made, at = bytearray(data), chance.randrange(4, 14)
    if at < len(made):
        made[at] = chance.choice((0, 1, 2, 3, 0x7F, 0x80, 0xE7, 0xFF))
    return bytes(made)


def other_chunk_length(data: bytes, chance: random.Random) -> bytes:
    starts = [found.start() for found in re.finditer(b"MTrk", data)]
    if not starts:
        return data
    at = chance.choice(starts) + 4
    length = int.from_bytes(data[at : at + 4], "big")
    made = chance.choice((0, 1, length - 1, length + 1, length * 2, 2**31, 2**32 - 1)) % 2**32
    return data[:at] + made.to_bytes(4, "big") + data[at + 4 :]


def long_wait(data: bytes, chance: random.Random) -> bytes:
    """A time of 2^28 ticks, or one that never ends, before some event."""
    wait = chance.choice((b"\xff\xff\xff\x7f", b"\xff" * 9, b"\x80\x80\x80\x80\x00", b"\x81"))
    at = chance.randrange(min(22, len(data)), len(data) + 1)
    return _with_lengths(data[:at] + wait + data[at + 1 :], chance)


def other_event(data: bytes, chance: random.Random) -> bytes:
    event = chance.choice((
        b"\x00\xff\x58\x04\x00\x00\x18\x08", b"\x00\xff\x58\x04\xff\xff\x18\x08",
        b"\x00\xff\x58\x04\x01\x06\x18\x08", b"\x00\xff\x58\x01\x04",
        b"\x00\xff\x51\x03\x00\x00\x00",
        b"\x00\xff\x51\x03\x00\x00\x01", b"\x00\xff\x51\x00", b"\x00\xff\x59\x02\x7f\x01",
        b"\x00\xff\x59\x02\x80\x05", b"\x00\xff\x59\x00", b"\x00\xff\x2f\x00", b"\x00\xf0\xff\x7f",
        b"\x00\xff\x03\xff\xff\xff\x7f", b"\x00\xf7\x00", b"\x00\xf4", b"\x00\x90\xff\xff",
        b"\x00\xff\x54\x05\xff\xff\xff\xff\xff", b"\x00\x9f\x3c\x40",
    ))  # fmt: skip
    # Behind the end of an event that lets a key go, where a whole event can stand.
    places = [22, *(found.end() for found in re.finditer(rb"[\x80-\x8f][\x00-\x7f]{2}", data))]
    at = chance.choice(places)
    return _with_lengths(data[:at] + event + data[at:], chance)


def other_event_bytes(data: bytes, chance: random.Random) -> bytes:
    """Some bytes of the events are others; the chunks stay whole."""
    made = bytearray(data)
    for _ in range(chance.randint(1, 8) if len(made) > 22 else 0):
        made[chance.randrange(22, len(made))] = chance.choice((0, 1, 60, 64, 127, 144, 128, 255))
    return bytes(made)


def _with_lengths(data: bytes, chance: random.Random) -> bytes:
    """Mostly with the lengths of its tracks put right, so that what is in them is read."""
    if chance.random() < 0.1:
        return data
    head, *tracks = data.split(b"MTrk")
    return head + b"".join(
        b"MTrk" + max(len(track) - 4, 0).to_bytes(4, "big") + track[4:] for track in tracks
    )


MIDI_WAYS: list[Way] = [other_header, other_chunk_length, long_wait, other_event, other_event,
                        other_event, other_event_bytes, other_event_bytes]  # fmt: skip


# -- zip --------------------------------------------------------------------------------------


def damaged_member(data: bytes, chance: random.Random) -> bytes:
    """What is packed in it is damaged and packed again."""
    ways = BYTE_WAYS + TEXT_WAYS * 2 + XML_WAYS * 4
    return _packed_again(data, lambda name, inside: (
        name, inside if name.startswith("META") else chance.choice(ways)(inside, chance)
    ))  # fmt: skip


def renamed_member(data: bytes, chance: random.Random) -> bytes:
    names = ("/etc/passwd", "../../up.xml", "META-INF/container.xml", "", "a" * 5000, "\u202e.xml")
    return _packed_again(data, lambda name, inside: (
        chance.choice(names) if chance.random() < 0.5 else name, inside))  # fmt: skip


def other_method(data: bytes, chance: random.Random) -> bytes:
    made = bytearray(data)
    for found in re.finditer(rb"PK\x01\x02|PK\x03\x04", data):
        at = found.start() + chance.randrange(4, 30)
        if chance.random() < 0.5 and at < len(made):
            made[at] = chance.randrange(256)
    return bytes(made)


def _packed_again(data: bytes, change: Callable[[str, bytes], tuple[str, bytes]]) -> bytes:
    packed = io.BytesIO()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(packed, "w", 8) as new:
            for member in dict.fromkeys(old.namelist()):
                name, inside = change(member, old.read(member))
                if name and name not in new.namelist():
                    new.writestr(name, inside)
    except Exception:  # noqa: BLE001 - a zip that is damaged already stays as it is
        return data
    return packed.getvalue()


ZIP_WAYS: list[Way] = [damaged_member, damaged_member, damaged_member, damaged_member,
                       renamed_member, other_method]  # fmt: skip
