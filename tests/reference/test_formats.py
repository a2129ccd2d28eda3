"""The same work in several formats gives the same notes, and every canonical form is valid.

The works are those of music21's corpus, and the example that ships inside partitura, read when
the test runs. Their MEI is written by Verovio 6 from their MusicXML. Sources for what is
compared: the files themselves; music21's own readers of Humdrum and ABC; the MusicXML 3.1 schema.
"""

from __future__ import annotations

import warnings
from collections import Counter
from importlib.util import find_spec
from pathlib import Path

import pytest

from core.score.containers import is_zip, score_inside
from core.score.formats.stream_notes import exact
from core.score.formats.tune_books import scores_in
from core.score.reading import read_score
from core.score.score import Score
from core.score.score_files import bytes_of
from tests.reference.musicxml_schema import invalidities
from tests.reference.readings import corpus_folder

HUMDRUM = ("bach/bwv281.krn", "chopin/mazurka06-2.krn", "palestrina/Gloria_14_f.krn")
ABC = ("ryansMammoth/SmithsReel.abc", "ryansMammoth/BonnieAnnieClog.abc", "essenFolksong/irl.abc")
BY_WAY_OF_MEI = (
    "bach/bwv281.mxl",
    "mozart/k155/movement2.mxl",
    "schumann_robert/opus48no2.mxl",
    "joplin/maple_leaf_rag.mxl",
)
OTHER_EDITION = {(3, 16.0, 1.0, 53, False), (3, 16.0, 1.0, 57, False)}
"""BWV 281, measure 4: the bass has F in the Humdrum file, A in the MusicXML file."""
TWO_EDITIONS = {"beethoven/opus18no1/movement1": 60, "beethoven/opus18no1/movement3": 3}
"""Notes that the two files print differently: accidentals, dots that one of them lacks (measure 21
of the scherzo is a dotted half in the Humdrum file, a half in a measure of 3/4 in the other).
Movement 2 has 92 such of 3,008; in movement 4 the MusicXML file lacks a barline."""
AS_MUSICXML = (
    "bach/bwv281.mxl",
    "beethoven/opus18no1/movement1.mxl",
    "corelli/opus3no1/1grave.xml",
    "haydn/opus1no1/movement1.mxl",
    "joplin/maple_leaf_rag.mxl",
    "liliuokalani/aloha_oe.mxl",
    "monteverdi/madrigal.3.1.mxl",
    "mozart/k155/movement2.mxl",
    "schoenberg/opus19/movement2.mxl",
    "schumann_robert/opus48no2.mxl",
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.xml",
)
INVALID = ("haydn/opus1no1/movement1.mxl", "liliuokalani/aloha_oe.mxl")
"""An ``alter`` where none can stand; ``swing``, which came with MusicXML 4.0."""
TIES_APART = {"schumann_robert/opus48no2.mxl": 1}
"""A tie that its MusicXML begins and never ends, which Verovio joins to the next such note."""

Rows = Counter[tuple[int, float, float, int, bool]]


def rows(score: Score) -> Rows:
    """(staff of the score, onset, duration, MIDI pitch, grace), times in quarters."""
    notes = score.notes
    return Counter(
        (
            int(notes.staff[row]) - 1,
            round(float(notes.quarters(int(notes.onset[row]))), 4),
            round(float(notes.quarters(int(notes.duration[row]))), 4),
            int(notes.midi_pitch[row]),
            bool(notes.is_grace[row]),
        )
        for row in range(len(notes))
    )


def by_music21(path: Path, *, tune: int = 0) -> Rows:
    """The same of music21's parse; each of its parts is a staff."""
    from music21 import converter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        parsed = converter.parse(path, forceSource=True)
    score = parsed.scores[tune] if "Opus" in parsed.classes else parsed
    found: Rows = Counter()
    for staff, part in enumerate(score.parts):
        for element in part.recurse().notes:
            if "Harmony" in element.classes:
                continue
            onset = round(float(exact(element.getOffsetInHierarchy(part))), 4)
            duration = round(float(element.duration.quarterLength), 4)
            for pitch in element.pitches:
                found[staff, onset, duration, pitch.midi, element.duration.isGrace] += 1
    return found


@pytest.mark.parametrize("name", HUMDRUM)
def test_humdrum_against_music21(name: str) -> None:
    path = corpus_folder() / name
    score = read_score(path).score
    assert rows(score) == by_music21(path)
    assert invalidities(score.canonical) == []


@pytest.mark.parametrize("name", ABC)
def test_abc_against_music21(name: str) -> None:
    path = corpus_folder() / name
    for tune, place in enumerate(scores_in(path)[:4]):
        score = read_score(place).score
        assert rows(score) == by_music21(path, tune=tune)
        assert invalidities(score.canonical) == []


def test_one_chorale_in_humdrum_and_musicxml() -> None:
    ours = read_score(corpus_folder() / "bach/bwv281.krn").score
    other = read_score(corpus_folder() / "bach/bwv281.mxl").score
    apart = (rows(ours) - rows(other)) + (rows(other) - rows(ours))
    assert set(apart) == OTHER_EDITION
    for mine, theirs in zip(ours.measures, other.measures, strict=True):
        assert (mine.number, mine.signature, mine.fifths) == (
            theirs.number, theirs.signature, theirs.fifths,
        )  # fmt: skip


@pytest.mark.parametrize("name", TWO_EDITIONS)
def test_quartet_movements_in_humdrum_and_musicxml(name: str) -> None:
    ours, other = (read_score(corpus_folder() / f"{name}.{end}").score for end in ("krn", "mxl"))
    assert len(ours.measures) == len(other.measures)
    mine, theirs = in_measures(ours), in_measures(other)
    apart = max((mine - theirs).total(), (theirs - mine).total())
    assert apart <= TWO_EDITIONS[name]
    assert mine.total() == theirs.total() > 1000


def in_measures(score: Score) -> Counter[tuple[object, ...]]:
    """Notes without grace notes, as they stand in their measures: staff, time, spelled pitch."""
    notes = score.notes
    found: Counter[tuple[object, ...]] = Counter()
    for row in range(len(notes)):
        measure = score.measures[int(notes.measure[row])]
        if not notes.is_grace[row]:
            onset = score.quarters(int(notes.onset[row]) - measure.onset)
            pitch = int(notes.step[row]), float(notes.alter[row]), int(notes.octave[row])
            duration = notes.quarters(int(notes.duration[row]))
            found[measure.index, int(notes.staff[row]), onset, duration, pitch] += 1
    return found


def test_one_score_packed_and_not() -> None:
    name = "trecento/PMFC_13_01-Kyrie-Summe-Clementissime"
    packed, plain = (read_score(corpus_folder() / f"{name}{end}").score for end in (".mxl", ".xml"))
    assert rows(packed) == rows(plain)
    assert len(packed.notes) == 212


@pytest.mark.parametrize("name", BY_WAY_OF_MEI)
def test_mei_and_musicxml(name: str, tmp_path: Path) -> None:
    import verovio

    origin = read_score(corpus_folder() / name).score
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.loadData(origin.canonical.decode())
    path = tmp_path / "written.mei"
    path.write_text(toolkit.getMEI({}), encoding="utf-8")
    score = read_score(path).score
    assert spelled(score) == spelled(origin)
    ties_apart = (tied(score) - tied(origin)) + (tied(origin) - tied(score))
    assert ties_apart.total() <= 2 * TIES_APART.get(name, 0)
    assert [shape(m, score) for m in score.measures] == [shape(m, origin) for m in origin.measures]
    assert invalidities(score.canonical) == []


@pytest.mark.parametrize("name", AS_MUSICXML)
def test_the_canonical_form_of_musicxml_is_as_valid_as_the_file(name: str) -> None:
    """By the 3.1 schema: a file that breaks it breaks it in the same way afterwards."""
    path = corpus_folder() / name
    original = bytes_of(path)
    if is_zip(original):
        original = score_inside(original, name=name)
    before, after = (
        Counter(said.partition(": ")[2] for said in invalidities(form))
        for form in (original, read_score(path).score.canonical)
    )
    assert after == before
    assert (name in INVALID) == bool(before)


def spelled(score: Score) -> Counter[tuple[object, ...]]:
    notes = score.notes
    times = (rows_of_time(score, row) for row in range(len(notes)))
    names = zip(notes.staff.tolist(), notes.step.tolist(), notes.alter.tolist(),
                notes.octave.tolist(), strict=True)  # fmt: skip
    return Counter((*time, *name) for time, name in zip(times, names, strict=True))


def tied(score: Score) -> Counter[tuple[object, ...]]:
    notes = score.notes
    return Counter((*rows_of_time(score, row), int(notes.tie[row])) for row in range(len(notes)))


def rows_of_time(score: Score, row: int) -> tuple[float, float]:
    notes = score.notes
    return (
        float(notes.quarters(int(notes.onset[row]))),
        float(notes.quarters(int(notes.duration[row]))),
    )


def shape(measure: object, score: Score) -> tuple[object, ...]:
    """What a measure says of itself."""
    found = [getattr(measure, name) for name in ("number", "signature", "fifths", "repeat_start",
                                                 "repeat_end", "endings", "has_fine")]  # fmt: skip
    return (*found, score.quarters(measure.duration))  # type: ignore[attr-defined]


def test_one_example_in_four_formats() -> None:
    found = find_spec("partitura")
    assert found is not None
    assert found.origin is not None
    folder = Path(found.origin).parent / "assets"
    read = {
        kind: rows(read_score(folder / f"score_example.{kind}").score)
        for kind in ("musicxml", "mei", "krn", "mid")
    }
    as_pitches = {kind: {(o, d, p) for _, o, d, p, _ in found} for kind, found in read.items()}
    assert as_pitches["mei"] == as_pitches["musicxml"]
    assert as_pitches["krn"] == as_pitches["musicxml"]
    assert as_pitches["mid"] == as_pitches["musicxml"]
