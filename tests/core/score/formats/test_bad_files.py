"""Files of every format that are broken, hostile or absurd.

Each is read with what was left out told, or sent back with one sentence: what failed, where, what
to do. What is peculiar to MusicXML and MXL stands in ``test_safety``; many more files are damaged
by ``tests/mutations``.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from core.errors import UnreadableFileError
from core.score.formats.converting import SUFFIXES
from core.score.reading import read_score
from tests.core.score.formats.sent_back import read, refuse
from tests.core.score.formats.written_humdrum import PIECE as HUMDRUM
from tests.core.score.formats.written_mei import PIECE as MEI
from tests.core.score.formats.written_midi import metre, midi, track
from tests.core.score.written_scores import attributes, mxl, note, score

ABC = "X:1\nT:Invented\nM:4/4\nL:1/4\nK:G\nGABc|d2B2|cBAG|G4|\n"
MUSICXML = score([attributes() + note("C4", 4), note("D4", 4)])
WHOLE = {
    "MusicXML": MUSICXML,
    "MXL": mxl(MUSICXML),
    "MEI": MEI.encode(),
    "Humdrum": HUMDRUM.encode(),
    "ABC": ABC.encode(),
    "MIDI": midi(track([(i, 1, 60 + i) for i in range(8)], before=[metre(4, 4)])),
}
TEXTS = {"MEI": MEI, "Humdrum": HUMDRUM, "ABC": ABC}


# -- every format -----------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_files_that_hold_nothing_or_are_none(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"song{suffix}"
    with pytest.raises(UnreadableFileError, match=r"song\.\w+: The file is not there"):
        read_score(path)
    path.write_bytes(b"")
    with pytest.raises(UnreadableFileError, match=r"song\.\w+: The file is empty"):
        read_score(path)
    path.write_bytes(b" \r\n\t\n")
    with pytest.raises(UnreadableFileError, match=r"song\.\w+: The file is empty"):
        read_score(path)
    path.unlink()
    path.mkdir()
    with pytest.raises(UnreadableFileError, match=r"song\.\w+: This is a folder"):
        read_score(path)


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_file_that_may_not_be_read(
    suffix: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / f"song{suffix}"
    path.write_bytes(b"x")

    def forbid(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", forbid)
    with pytest.raises(UnreadableFileError, match=r"The file may not be read\. Change its perm"):
        read_score(path)


@pytest.mark.parametrize("name", WHOLE)
def test_a_wrong_ending_does_not_matter(name: str, tmp_path: Path) -> None:
    count = len(read(WHOLE[name]).notes)
    for suffix in (".xml", ".krn", ".abc", ".mid", ".pdf"):
        path = tmp_path / f"song{suffix}"
        path.write_bytes(WHOLE[name])
        assert len(read_score(path).score.notes) == count


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("MusicXML", "line 2: The file breaks off before its end"),
        ("MXL", "It is an MXL file whose zip is broken. Get a whole copy"),
        ("MEI", r"line \d+: The file breaks off before its end"),
        ("Humdrum", r"line \d+: The file breaks off before its end"),
        ("MIDI", "track 1 of 1: The file breaks off before its end"),
    ],
)
def test_a_file_that_breaks_off(name: str, message: str) -> None:
    for share in (0.5, 0.9):
        refuse(WHOLE[name][: int(len(WHOLE[name]) * share)], message)


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("MusicXML", "line 2: The file breaks off before its end"),
        ("MXL", "zip is broken"),
        ("MEI", "line 22: The file breaks off before its end"),
        ("Humdrum", r"line \d+: It holds bytes that are no text, so it is no Humdrum"),
        ("ABC", r"line \d+: It holds bytes that are no text, so it is no ABC"),
        ("MIDI", "breaks off"),
    ],
)
def test_binary_junk_behind_a_good_start(name: str, message: str) -> None:
    start = WHOLE[name][: len(WHOLE[name]) // 2]
    refuse(start + bytes(range(256)) * 8, message)


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-32", "cp1252"])
def test_other_encodings_are_read(name: str, encoding: str) -> None:
    text = TEXTS[name].replace("Invented", "Erf\u00e4nde")
    if name == "MEI":
        text = text.replace("UTF-8", encoding.removesuffix("-sig"))
        text = text.replace("\ue1d5", "")  # no sign of Windows-1252
    made = read(text.encode(encoding))
    assert made.title == "Erf\u00e4nde"


def test_wide_text_without_a_mark_is_known_where_it_begins_as_xml() -> None:
    data = MEI.replace("UTF-8", "UTF-16").encode("utf-16-le")
    assert len(read(data).notes) == len(read(MEI).notes)
    refuse(HUMDRUM.encode("utf-16-le"), "This looks like something else, not MusicXML")


FORTY = {
    "MusicXML": score(*([attributes() + note("C4", 4)] for _ in range(40))),
    "MEI": (
        '<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>'
        '<scoreDef meter.count="4" meter.unit="4"><staffGrp>'
        + "".join(f'<staffDef n="{n}" clef.shape="G" clef.line="2"/>' for n in range(40))
        + '</staffGrp></scoreDef><section><measure n="1">'
        + "".join(
            f'<staff n="{n}"><layer><note dur="1" pname="c" oct="4"/></layer></staff>'
            for n in range(40)
        )
        + "</measure></section></score></mdiv></body></music></mei>"
    ).encode(),
    "Humdrum": "".join(
        "\t".join([token] * 40) + "\n" for token in ("**kern", "*M4/4", "=1", "1c", "==", "*-")
    ).encode(),
    "ABC": (
        "X:1\nM:4/4\nL:1/4\nK:C\n" + "".join(f"V:{n}\nCDEF|GABc|\n" for n in range(40))
    ).encode(),
    "MIDI": midi(*(track([(0, 4, 60)]) for _ in range(40))),
}


@pytest.mark.parametrize("name", FORTY)
def test_forty_parts(name: str) -> None:
    made = read(FORTY[name])
    assert len(made.parts) == 40
    assert len(made.notes) % 40 == 0
    assert made.oddities == ()


@pytest.mark.parametrize(
    "data",
    [
        score([attributes()]),
        HUMDRUM[: HUMDRUM.index("4r")] + "=1\t=1\n2r\t2r\n==\t==\n*-\t*-\n",
        "X:1\nM:4/4\nL:1/4\nK:G\nz4|z4|\n",
        midi(track([])),
        MEI[: MEI.index("<measure")] + MEI[MEI.index("</section>") :],
    ],
)
def test_no_notes_at_all(data: bytes | str) -> None:
    refuse(data, "There is not one note in it|There are no notes in it|not one note")


# -- MEI --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("staffDef", "otherDef", "Its scoreDef defines no staff. Check the file"),
        ("<music>", "<sound>", "not well-formed"),
        ('oct="4"', 'oct="99"', r"measure 0 of part P1, line \d+: The octave of a pitch is '99'"),
        (
            "<section>",
            "<section>" * 3000,
            "It is not well-formed XML|The file breaks off",
        ),
        ('meter.unit="4"', 'meter.unit="99999999999999999999"', "The quarter note has '3999"),
    ],
)
def test_mei_that_is_sent_back(old: str, new: str, message: str) -> None:
    refuse(MEI.replace(old, new), message)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('oct="4"', 'oct="-4"', "5 notes are left out: they have no pitch that can be read."),
        ('oct="4"', f'oct="{"9" * 5000}"', "5 notes are left out: they have no pitch that"),
        ('dur="8"', 'dur="99999"', "4 durations can't be read; quarters are assumed."),
        ('staff n="1"', 'staff n="77"', "Staff '77' is left out: nothing defines it."),
    ],
)
def test_mei_that_is_read_with_what_was_left_out_told(old: str, new: str, told: str) -> None:
    assert any(told in oddity for oddity in read(MEI.replace(old, new)).oddities)


def test_mei_with_an_outside_document_type_is_read_and_nothing_fetched() -> None:
    doctype = '?>\n<!DOCTYPE mei SYSTEM "http://localhost:9/mei.dtd">'
    assert len(read(MEI.replace("?>", doctype, 1)).notes) == len(read(MEI).notes)
    external = '?>\n<!DOCTYPE mei [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    refuse(MEI.replace("?>", external, 1), "line 2: It defines entities of its own")


def test_mei_nested_deep_is_read_as_if_it_were_not() -> None:
    deep = MEI.replace("<section>", "<section>" * 200).replace("</section>", "</section>" * 200)
    assert len(read(deep).notes) == len(read(MEI).notes)


def test_quarter_tones_and_percussion_in_mei() -> None:
    sharper = read(MEI.replace('accid="s"', 'accid="1qs"'))
    assert 0.5 in {float(alter) for alter in sharper.notes.alter}
    assert len(read(MEI.replace('clef.shape="G"', 'clef.shape="perc"')).notes) == 17


# -- Humdrum ----------------------------------------------------------------------------------


def kern(token: str, tandem: str = "*") -> str:
    return f"**kern\n*M4/4\n{tandem}\n=1\n{token}\n=2\n4c\n==\n*-\n"


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (kern("99999c"), "line 5: The number 99999 can't be meant as a duration or a metre"),
        (kern("1" * 400 + "c"), r"line 5: The number 1+\u2026 can't be meant"),
        (kern("4c", "*M999/8"), "line 3: The number 999 can't be meant as a duration or a metre"),
        (kern("4c", "*M3+1e999/8"), "line 3: The number 999 can't be meant"),
        (kern("4" + "c" * 50), "measure 1 of part P1, line 5: The octave of a pitch is '53'"),
        (kern("4c", "*x"), "It can't be understood as Humdrum"),
        (kern("4c", "*^"), "line 4: It has 1 columns where 2 spines run"),
        (HUMDRUM + HUMDRUM, "line 31: A second piece begins here. Split the file"),
        (HUMDRUM.replace("\t", " "), r"It holds no \*\*kern spine, so no notes"),
        (
            "**kern\t**dynam\n*staff1\t*staff7\n=1\t=1\n1c\tp\n==\t==\n*-\t*-\n",
            r"It can't be understood as Humdrum\. Check the file",
        ),
    ],
)
def test_humdrum_that_is_sent_back(data: str, message: str) -> None:
    refuse(data, message)


@pytest.mark.parametrize("token", ["4c" + "#" * 30, "0%0c", "q", "[[[["])
def test_humdrum_tokens_that_are_left_out_are_told(token: str) -> None:
    made = read(kern(token))
    assert len(made.notes) == 1
    assert made.oddities == (f"Line 5: '{token}' can't be read and is left out.",)


def test_a_spine_without_notes_is_an_empty_part() -> None:
    made = read("**kern\t**kern\n*M4/4\t*M4/4\n=1\t=1\n1c\t.\n==\t==\n*-\t*-\n")
    assert len(made.parts) == 2
    assert len(made.notes) == 1


# -- ABC --------------------------------------------------------------------------------------


def abc(music: str, field: str = "T:x") -> str:
    return f"X:1\nM:4/4\nL:1/4\n{field}\nK:C\n{music} DEF|GABc|C4|\n"


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (abc("C9999"), "line 6: The number 9999 can't be meant as a duration or a metre"),
        (abc("[M:999/8]C"), "line 6: The number 999 can't be meant as a duration or a metre"),
        (abc("C", "M:1e999/4"), "line 4: The number 999 can't be meant as a duration"),
        (abc("C", "L:1/9999"), "line 4: The number 9999 can't be meant as a duration"),
        (abc("C", "L:99999999999999999999/16"), "measure 1 of part P1, line 5: A duration is '"),
        (abc("C", "M:4/0"), "It can't be understood as ABC"),
        (abc("C", "L:1/0"), "It can't be understood as ABC"),
        (abc("C/0"), "It can't be understood as ABC"),
        (abc("(0CDE"), r"It can't be understood as ABC \(cannot handle tuplet"),
        (abc("[CEG"), r"It can't be understood as ABC \(Bad chord indicator"),
        (abc("[" * 5000), "It can't be understood as ABC"),
        (abc("C" + "'" * 12), "measure 1 of part P1, line 5: The octave of a pitch is '16'"),
        (abc("C", "X:two"), "It is a book of 2 tunes, and each is a score by itself"),
    ],
)
def test_abc_that_is_sent_back(data: str, message: str) -> None:
    refuse(data, message)


@pytest.mark.parametrize(
    "music", ["C0", "(99CDE", "[]", "{", "}", "|||||", "C>>>>>D", "((((C", "C)))", "!x", "x",
              "[V:9]C", "[M:0/4]C", "(" * 500 + "C" + ")" * 500, "C,,,,,,,,,", "^^^^C"],
)  # fmt: skip
def test_odd_abc_is_read(music: str) -> None:
    assert len(read(abc(music)).notes) >= 8


def test_a_measure_of_many_metres_is_left_long() -> None:
    made = read(abc("C999"))
    assert len(made.measures) == 3
    assert made.quarters(made.measures[0].duration) == 1002
