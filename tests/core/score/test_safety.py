"""Files that are no score, damaged, or hostile: one sentence each, with file and place."""

from __future__ import annotations

import io
import os
import struct
import zipfile
from pathlib import Path

import pytest

from core.errors import UnreadableFileError
from core.score import containers, safe_xml
from core.score.reading import read_bytes, read_score
from tests.core.score.written_scores import attributes, mxl, note, score

GOOD = score([attributes() + note("C4", 1, "<lyric><text>für</text></lyric>")])
HEAD = '<?xml version="1.0" encoding="UTF-8"?>'


def refuse(data: bytes, message: str, name: str = "song.musicxml") -> UnreadableFileError:
    with pytest.raises(UnreadableFileError, match=message) as caught:
        read_bytes(data, name=name)
    assert str(caught.value).startswith(name)
    assert str(caught.value).endswith((".", "it.", "that in."))
    return caught.value


def office(member: str) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr(member, b"x")
    return packed.getvalue()


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"%PDF-1.7\n", "a PDF"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"\xff\xd8\xff\xe0", "a picture"),
        (b"ID3\x03\x00", "a sound recording"),
        (b"<!DOCTYPE html><html><p>404", "a web page"),
        (b"\n<html lang='en'><br></html>", "a web page"),
        (b'{"notes": []}', "a JSON file"),
        (b"\x1f\x8b\x08\x00", "a packed archive"),
        (b"Dear student, practise slowly.", "something else"),
        (b"\x00\x01\x02\x03 binary", "something else"),
        (office("word/document.xml"), "a text document"),
        (office("content.xml"), "an office document"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"/>', "a picture"),
        (b"<library/>", "XML of another kind"),
    ],
)
def test_what_is_no_score_is_named(data, what):
    refuse(data, rf"^song\.x: This looks like {what}.*Export the piece as MusicXML", "song.x")


def test_a_list_of_scores_is_told_apart():
    refuse(b"<opus><title>Six</title></opus>", "list of several scores. Bring each in by itself")


@pytest.mark.parametrize("data", [b"", b"  \n\t ", b"\x00" * 40])
def test_an_empty_file(data):
    refuse(data, "The file is empty")


@pytest.mark.parametrize("kept", [0.2, 0.5, 0.9, 0.99])
def test_a_truncated_file_names_the_line(kept):
    data = score([attributes() + note() * 20])
    refuse(data[: int(len(data) * kept)], r"song\.musicxml, line 2: The file breaks off before")


def test_xml_that_is_not_well_formed_names_the_line():
    data = score([attributes() + "\n\n<note></pitch></note>" + note()])
    error = refuse(data, r"line 4: It is not well-formed XML \(.*mismatch")
    assert error.place == "line 4"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "latin-1", "cp1252"])
def test_a_declared_encoding_is_read(encoding):
    text = GOOD.decode().replace("UTF-8", encoding.upper())
    made = read_bytes(text.encode(encoding), name="song.musicxml").score
    assert "für".encode() in made.canonical


def test_utf_16_and_utf_8_by_their_byte_order_marks():
    text = GOOD.decode().partition("?>")[2]
    for data in (text.encode("utf-16"), b"\xef\xbb\xbf" + GOOD, text.encode("utf-8-sig")):
        assert len(read_bytes(data, name="song.musicxml").score.notes) == 1


def test_utf_8_that_calls_itself_utf_16_is_read():
    assert read_bytes(GOOD.replace(b"UTF-8", b"UTF-16"), name="song.musicxml").score.notes.ids


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (GOOD.decode().encode("latin-1"), "line 2: It holds bytes that are not in the encoding"),
        (GOOD.replace(b"UTF-8", b"KLINGON-1"), "declares the encoding klingon-1, which nobody"),
        (GOOD.replace(b"UTF-8", b"zlib"), "declares the encoding zlib, which nobody here knows"),
        (GOOD.decode().encode("utf-16")[:-1], "can't be decoded as utf-16, which it claims"),
        (GOOD.replace(b"UTF-8", b"shift_jis")[:-60] + b"\x81", "can't be decoded as shift_jis"),
    ],
)
def test_a_wrong_encoding(data, message):
    refuse(data, message + ".* Save it as UTF-8")


def entities(subset: str, used: str) -> bytes:
    return GOOD.replace(b"\n", f"\n<!DOCTYPE score-partwise [{subset}]>\n".encode(), 1).replace(
        "für".encode(), used.encode()
    )


def test_an_external_entity_is_refused(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("diary")
    data = entities(f'<!ENTITY x SYSTEM "{secret.as_uri()}">', "&x;")
    error = refuse(data, "line 2: It defines entities of its own, which can reach outside the file")
    assert "diary" not in str(error)


def test_an_entity_bomb_is_refused_before_it_swells():
    laughs = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    refuse(entities(f'<!ENTITY a0 "ha">{laughs}', "&a11;"), "or swell without end")


def test_a_bomb_in_utf_16_is_refused_as_well():
    data = entities('<!ENTITY a "ha">', "&a;").decode().replace("UTF-8", "UTF-16").encode("utf-16")
    refuse(data, "It defines entities of its own")


def test_a_parameter_entity_is_refused():
    data = entities('<!ENTITY % p SYSTEM "http://localhost:9/x.dtd"> %p;', "x")
    refuse(data, "It defines entities of its own")


def test_an_undefined_entity_is_refused():
    doctype = b'\n<!DOCTYPE score-partwise SYSTEM "http://localhost:9/partwise.dtd">\n'
    data = GOOD.replace(b"\n", doctype, 1).replace("für".encode(), b"f&uuml;r")
    refuse(data, r"It uses the entity &uuml;, which is not defined|not well-formed")


def test_the_usual_document_type_is_never_fetched():
    doctype = b'\n<!DOCTYPE score-partwise PUBLIC "x" "http://localhost:9/partwise.dtd">\n'
    assert read_bytes(GOOD.replace(b"\n", doctype, 1), name="song.musicxml").score.notes.ids


def test_deep_nesting_does_not_crash():
    data = GOOD.replace(b"<measure", b"<a>" * 100_000 + b"<measure", 1)
    refuse(data, "It is not well-formed XML")


def test_a_long_file_is_refused_by_its_length(monkeypatch, tmp_path):
    monkeypatch.setattr(safe_xml, "BYTES_LIMIT", 1024)
    monkeypatch.setattr("core.score.score_files.BYTES_LIMIT", 1024)
    refuse(GOOD.ljust(2000), "It is longer than 0 MB. Split the score")
    path = tmp_path / "long.musicxml"
    path.write_bytes(GOOD.ljust(2000))
    with pytest.raises(UnreadableFileError, match="It is longer than"):
        read_score(path)


# -- MXL --------------------------------------------------------------------------------------


def test_an_mxl_is_read_whatever_its_name():
    made = read_bytes(mxl(GOOD, path="deep/inside.xml"), name="song.zip")
    assert len(made.score.notes) == 1


@pytest.mark.parametrize("media_type", ["", ' media-type="application/vnd.recordare.musicxml+xml"'])
def test_the_first_rootfile_is_the_score(media_type):
    container = (
        '<container xmlns="urn:oasis:names:tc:opendocument:xmlns:container"><rootfiles>'
        '<rootfile full-path="page.pdf" media-type="application/pdf"/>'
        f'<rootfile full-path="a.xml"{media_type}/><rootfile full-path="b.xml"/>'
        "</rootfiles></container>"
    )
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("META-INF/container.xml", container)
        archive.writestr("a.xml", GOOD)
    assert read_bytes(packed.getvalue(), name="song.mxl").score.notes.ids


@pytest.mark.parametrize(
    "path", ["../../etc/passwd", "/etc/passwd", "..\\x.xml", "file:///etc/passwd", "a/../../b.xml"]
)
def test_a_container_that_points_outside_itself(path):
    refuse(mxl(GOOD, named=path), "META-INF/container.xml: Its container points outside itself")


def test_containers_that_lead_nowhere():
    refuse(mxl(None), r"Its container names score\.musicxml, which is not in it")
    refuse(office("song.xml"), "It is a zip without META-INF/container.xml, so not an MXL file")
    nameless = io.BytesIO()
    with zipfile.ZipFile(nameless, "w") as archive:
        archive.writestr("META-INF/container.xml", "<container><rootfiles/></container>")
    refuse(nameless.getvalue(), "META-INF/container.xml: Its container names no score")


@pytest.mark.parametrize("cut", [6, 40, 0.5, 0.9])
def test_a_broken_zip(cut):
    data = mxl(GOOD)
    size = cut if cut >= 1 else int(len(data) * cut)
    refuse(data[:size], "It is an MXL file whose zip is broken. Get a whole copy")


def test_a_damaged_member():
    data = bytearray(mxl(GOOD * 1))
    start = data.index(b"score.musicxml") + 20
    data[start : start + 30] = bytes(30)
    refuse(bytes(data), r"The file score\.musicxml in it is damaged")


def test_a_locked_score():
    data = bytearray(mxl(GOOD))
    directory = data.rindex(b"PK\x01\x02")
    data[directory + 8] |= 1
    refuse(bytes(data), "The score in it is locked by a password")


def test_a_zip_bomb_is_given_up_early(monkeypatch):
    bomb = mxl(GOOD + b" " * 64 * 1024 * 1024)
    assert len(bomb) < 100_000
    refuse(bomb, r"swells beyond \d+ MB, as no score does")


def test_a_zip_bomb_is_given_up_at_the_limit_whatever_its_ratio(monkeypatch):
    monkeypatch.setattr(containers, "BYTES_LIMIT", 1000)
    refuse(mxl(GOOD + os.urandom(20).hex().encode() * 100), "swells beyond")


def test_the_sizes_in_the_zip_are_not_believed():
    data = bytearray(mxl(GOOD))
    directory = data.rindex(b"PK\x01\x02")
    data[directory + 24 : directory + 28] = struct.pack("<I", 50)
    refuse(bytes(data), "is damaged|breaks off")


def test_a_container_with_entities_is_refused():
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("META-INF/container.xml", '<!DOCTYPE c [<!ENTITY a "b">]><c/>')
    refuse(packed.getvalue(), "It defines entities of its own")


def test_an_mxl_of_something_else_says_so():
    refuse(mxl(b"%PDF-1.4"), "This looks like a PDF")


# -- files ------------------------------------------------------------------------------------


def test_a_file_is_read_and_its_bytes_kept(tmp_path):
    path = tmp_path / "song.musicxml"
    path.write_bytes(GOOD)
    made = read_score(path)
    assert made.original == GOOD
    assert made.score.parts[0].name == "Part 1"


def test_a_folder(tmp_path):
    with pytest.raises(UnreadableFileError, match=r"This is a folder\. Choose a score in it"):
        read_score(tmp_path)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(
        UnreadableFileError, match=r"gone\.mxl: The file is not there, or no longer"
    ):
        read_score(tmp_path / "gone.mxl")


@pytest.mark.parametrize(
    ("raised", "message"),
    [
        (FileNotFoundError(2, "No such file"), "The file is not there, or no longer"),
        (PermissionError(13, "Permission denied"), "The file may not be read"),
        (OSError(5, "Input/output error"), r"can't be read \(Input/output error\)"),
    ],
)
def test_a_file_that_fails_while_it_is_read(tmp_path, monkeypatch, raised, message):
    path = tmp_path / "song.musicxml"
    path.write_bytes(GOOD)

    def fail(self: Path) -> bytes:
        raise raised

    monkeypatch.setattr(Path, "read_bytes", fail)
    with pytest.raises(UnreadableFileError, match=message):
        read_score(path)


def test_a_device_is_no_file():
    if not Path("/dev/zero").exists():
        pytest.skip("no devices here")
    with pytest.raises(UnreadableFileError, match="This is no file with contents"):
        read_score(Path("/dev/zero"))
