"""The canonical form: ids for everything, and nothing else changed."""

from __future__ import annotations

import hashlib
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from core.score.canonical import is_ncname
from core.score.note_table import NoteTable, RestTable
from core.score.reading import read_bytes, score_from_canonical
from core.score.score import Score
from tests.core.score.written_scores import (
    attributes,
    chord,
    move,
    mxl,
    note,
    rest,
    score,
    words,
)

PLAIN = attributes() + words("dolce") + note() + rest() + note("D4", 2)


def read(data: bytes) -> Score:
    return read_bytes(data, name="small.musicxml").score


def ids(made: Score, tag: str) -> list[str]:
    return [element.get("id") for element in etree.fromstring(made.canonical).iter(tag)]


def same_tables(one: Score, other: Score) -> bool:
    """Whether two scores have equal tables, column by column."""
    plain = ("parts", "measures", "directions", "title", "composer", "sha256", "canonical")
    return all(getattr(one, name) == getattr(other, name) for name in plain) and all(
        np.array_equal(getattr(a, column), getattr(b, column))
        for a, b, kind in ((one.notes, other.notes, NoteTable), (one.rests, other.rests, RestTable))
        for column in kind.__dataclass_fields__
    )


def test_what_has_no_id_gets_one_by_part_and_ordinal():
    made = read(score([PLAIN, PLAIN], [PLAIN]))
    assert ids(made, "note") == [f"n1.{n}" for n in range(1, 7)] + ["n2.1", "n2.2", "n2.3"]
    assert ids(made, "measure") == ["m1.1", "m1.2", "m2.1"]
    assert ids(made, "direction") == ["d1.1", "d1.2", "d2.1"]
    assert made.notes.ids == ("n1.1", "n2.1", "n1.3", "n2.3", "n1.4", "n1.6")
    assert made.rests.ids == ("n1.2", "n2.2", "n1.5")
    assert [m.id for m in made.measures] == ["m1.1", "m1.2"]
    assert [d.id for d in made.directions] == ["d1.1", "d2.1", "d1.2"]


def test_own_ids_are_kept_and_made_ones_keep_clear_of_them():
    taken = note("C4", 1, id="n1.2") + note("D4") + note("E4", 1, id="Überklang-7.b")
    made = read(score([attributes() + taken + words("x").replace(">", ' id="n1.9">', 1)]))
    assert ids(made, "note") == ["n1.2", "n1.2-2", "Überklang-7.b"]
    assert ids(made, "direction") == ["n1.9"]


def test_a_made_id_keeps_clear_of_the_ids_of_other_elements():
    slur = '<notations><slur type="start" id="n1.1"/></notations>'
    made = read(score([attributes() + note("C4", 1, slur) + note()]))
    assert ids(made, "note") == ["n1.1-2", "n1.2"]


def test_twins_are_suffixed():
    twins = note(id="x") + note(id="x") + note(id="x-2") + note(id="x")
    made = read(score([attributes() + twins]))
    assert ids(made, "note") == ["x", "x-3", "x-2", "x-4"]
    assert made.oddities == ("Measure 1: the id x was there twice.",) * 2


@pytest.mark.parametrize("bad", ["12", "a b", "xml:id", "-x", "é!", "3rd", ""])
def test_an_id_that_is_no_name_is_replaced(bad):
    made = read(score([attributes() + note(id=bad) + note()]))
    assert ids(made, "note") == ["n1.1", "n1.2"]
    assert not is_ncname(bad)


def test_many_mended_ids_are_told_in_short():
    made = read(score([attributes() + note(id="x") * 30]))
    assert len(made.oddities) == 21
    assert made.oddities[-1] == "9 more ids were mended."
    assert len(set(made.notes.ids)) == 30


def test_parts_are_renamed_with_what_refers_to_them():
    named = score([PLAIN], [PLAIN]).replace(b'"P1"', b'"Violin"').replace(b'"P2"', b'"7"')
    made = read(named)
    root = etree.fromstring(made.canonical)
    assert [p.get("id") for p in root.iter("part")] == ["P1", "P2"]
    assert [p.get("id") for p in root.iter("score-part")] == ["P1", "P2"]
    assert [p.name for p in made.parts] == ["Part 1", "Part 2"]


def test_part_names_follow_their_part_when_listed_in_another_order():
    turned = score([PLAIN], [PLAIN])
    turned = re.sub(rb'<part id="P1">', b'<part id="PX">', turned)
    turned = turned.replace(b'<part id="P2">', b'<part id="P1">').replace(b'"PX"', b'"P2"')
    assert [p.name for p in read(turned).parts] == ["Part 2", "Part 1"]


def test_a_part_that_is_not_listed_is_added_and_one_without_music_kept():
    unlisted = score([PLAIN]).replace(b'<score-part id="P1">', b'<score-part id="P9">')
    made = read(unlisted)
    listed = [p.get("id") for p in etree.fromstring(made.canonical).iter("score-part")]
    assert listed == ["P2", "P1"]
    assert made.oddities == (
        "Part 1 (P1) was not in the list of parts.",
        "Part 'P9' is listed and has no music.",
    )


def test_a_missing_part_list_is_made():
    made = read(re.sub(rb"<part-list>.*</part-list>", b"", score([PLAIN])))
    assert [child.tag for child in etree.fromstring(made.canonical)] == ["part-list", "part"]


def test_nothing_but_ids_changes():
    original = score(
        [PLAIN, chord("E4") + note()], head="<work><work-title>A &amp; B</work-title></work>"
    )
    canonical = etree.fromstring(read(original).canonical)
    for element in canonical.iter("note", "measure", "direction"):
        del element.attrib["id"]
    assert etree.tostring(canonical, method="c14n") == etree.tostring(
        etree.fromstring(original), method="c14n"
    )


def test_the_canonical_form_is_utf8_without_a_document_type():
    doctype = (
        b'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        b'"http://www.musicxml.org/dtds/partwise.dtd">'
    )
    made = read(score([PLAIN]).replace(b"\n", b"\n" + doctype + b"<!-- by hand -->\n", 1))
    assert made.canonical.startswith(b"<?xml version='1.0' encoding='UTF-8'?>\n<score-partwise")
    assert b"DOCTYPE" not in made.canonical


def test_a_timewise_score_is_transposed():
    measures = "".join(
        f'<measure number="{n}" id="bar{n}" implicit="no">'
        f'<part id="A">{attributes() + note("C5", 4)}</part>'
        + (f'<part id="B">{attributes() + note("C3", 4)}</part>' if n != 2 else "")
        + "</measure>"
        for n in (1, 2, 3)
    )
    timewise = (
        '<score-timewise version="3.1"><part-list><score-part id="A"><part-name>U</part-name>'
        '</score-part><score-part id="B"><part-name>L</part-name></score-part></part-list>'
        f"{measures}</score-timewise>"
    ).encode()
    made = read(timewise)
    root = etree.fromstring(made.canonical)
    assert (root.tag, root.get("version")) == ("score-partwise", "3.1")
    assert ids(made, "measure") == ["bar1", "bar2", "bar3", "m2.1", "m2.2", "m2.3"]
    assert [m.number for m in made.measures] == ["1", "2", "3"]
    assert made.notes.onset.tolist() == [0, 0, 4, 8, 8]
    assert made.notes.part.tolist() == [0, 1, 0, 0, 1]


def test_a_score_is_known_by_its_bytes_and_an_mxl_by_those_inside():
    data = score([PLAIN])
    container = mxl(data)
    packed = read_bytes(container, name="small.mxl")
    assert packed.score.sha256 == read(data).sha256 == hashlib.sha256(data).hexdigest()
    assert packed.original == container
    assert packed.score.canonical == read(data).canonical


def test_making_the_canonical_form_canonical_changes_nothing():
    made = read(score([attributes() + note(id="1") + note(id="x") + note(id="x")]))
    assert read(made.canonical).canonical == made.canonical


def test_a_stored_score_opens_with_the_same_tables():
    made = read(score([PLAIN, PLAIN], [PLAIN]))
    assert same_tables(made, score_from_canonical(made.canonical, sha256=made.sha256))


_IDS = st.sampled_from(["", "x", "n1.1", "n1.2", "n2.1-2", "m1.1", "7", "a b", "P1", "é"])
_NOTES = st.builds(
    lambda pitch, length, own, is_chord, staff: (chord if is_chord else note)(
        pitch,
        length,
        f"<voice>{staff}</voice><staff>{staff}</staff>",
        **({"id": own} if own else {}),
    ),
    st.sampled_from(["C4", "F#5", "Bb2"]),
    st.sampled_from([1, 2, 3, "0.5", 0]),
    _IDS,
    st.booleans(),
    st.integers(1, 2),
)
_CONTENTS = st.one_of(
    _NOTES,
    st.builds(move, st.sampled_from(["backup", "forward"]), st.integers(0, 5)),
    st.builds(words, st.sampled_from(["Fine", "D.C. al Fine", "dolce", "To Coda"])),
    st.builds(rest, st.integers(1, 4), whole=st.booleans()),
    st.builds(attributes, st.sampled_from([1, 2, 3, "1.5"]), st.sampled_from(["3/8", "4/4", ""])),
)
_PARTS = st.lists(
    st.lists(st.lists(_CONTENTS, max_size=6).map("".join), min_size=1, max_size=4),
    min_size=1,
    max_size=3,
)


@settings(max_examples=60, deadline=None)
@given(_PARTS)
def test_whatever_was_read_opens_again_the_same(parts):
    parts[0][0] += note()
    made = read(score(*parts))
    again = score_from_canonical(made.canonical, sha256=made.sha256)
    assert same_tables(made, again)
    everything = [e.get("id") for e in etree.fromstring(made.canonical).iter() if e.get("id")]
    pointed = ids(made, "note") + ids(made, "measure") + ids(made, "direction")
    assert len(set(pointed)) == len(pointed)
    assert all(map(is_ncname, everything))
    assert (np.diff(made.notes.onset) >= 0).all()
    ends = made.notes.onset + made.notes.duration
    assert ends.max(initial=0) <= made.duration


# What spares the serialiser, and what doesn't: the canonical form is the same score either way.
@pytest.mark.parametrize(
    ("changed", "by"),
    [
        (b"", b""),
        (b"<part-list>", b"<!-- a <note> by hand --><part-list>"),
        (b"<score-partwise", b"<!-- <score-partwise> --><score-partwise"),
        (b"<part-list>", b"<?note <measure> ?><part-list>"),
        (b"<words>dolce</words>", b"<words><![CDATA[<note> dolce <direction >]]></words>"),
        (b"<note>", b"<note\n\tdefault-x='3'  >"),
        (b"</part>", b"</part>\n\n  "),
    ],
)
def test_ids_are_set_in_the_text_or_in_the_tree_to_one_effect(changed, by):
    data = score([PLAIN, PLAIN]).replace(changed, by)
    made = read(data)
    expected = etree.fromstring(data, etree.XMLParser(remove_comments=True, remove_pis=True))
    names = {"note": "n", "measure": "m", "direction": "d"}
    for tag, letter in names.items():
        for ordinal, element in enumerate(expected.iter(tag), 1):
            element.set("id", f"{letter}1.{ordinal}")
    found = etree.fromstring(made.canonical)
    assert etree.tostring(found, method="c14n") == etree.tostring(expected, method="c14n")
    assert made.canonical.startswith(b"<?xml version='1.0' encoding='UTF-8'?>\n<score-partwise")
    assert read(made.canonical).canonical == made.canonical
