"""Each invented piece shows what the sample library promises, and is a clean MusicXML file.

Checked by Postil's own analysis and by music21, which reads the files independently. The schema
is MusicXML 3.1 (W3C Community Group, 2017) as it ships inside partitura.
"""

from __future__ import annotations

import warnings
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from core.notebook.analyses import Analysis, analyse_score
from core.resources import sample_library
from core.score.reading import read_score
from core.score.score import Score
from tests.reference.musicxml_schema import invalidities

music21 = pytest.importorskip("music21")

COMPOSED = {
    "between_two_bells": 40,
    "carousel": 54,
    "four_postcards": 40,
    "four_windows": 80,
    "lamplighters_round": 36,
    "wheel_at_oreby": 11,
}
"""Names of the files, and how many ``<measure>`` elements each has; one a phrase where there are
no barlines."""
EVERY = (*COMPOSED, "barcarolle")
NINTH_SEMITONES = 14
ASCENDING = music21.scale.Direction.ASCENDING


@cache
def score(name: str) -> Score:
    return read_score(_path(name)).score


@cache
def analysis(name: str) -> Analysis:
    return analyse_score(score(name))


@cache
def outside(name: str) -> Any:
    """The score as music21 reads it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return music21.converter.parse(_path(name), forceSource=True)


def _path(name: str) -> Path:
    return sample_library() / f"{name}.musicxml"


def _measures(name: str, staff: int = 0) -> list[Any]:
    return list(outside(name).parts[staff].getElementsByClass("Measure"))


def _pitch_names(name: str, first: int, last: int) -> set[str]:
    """Names of the notes in measures counted from 1, both included, by music21."""
    return {
        pitch.name
        for staff in (0, 1)
        for measure in _measures(name, staff)[first - 1 : last]
        for pitch in measure.pitches
    }


# Every piece


def test_the_library_holds_these_pieces() -> None:
    assert sorted(path.stem for path in sample_library().glob("*.musicxml")) == sorted(EVERY)


@pytest.mark.parametrize("name", EVERY)
def test_is_valid_musicxml(name: str) -> None:
    assert invalidities(_path(name).read_bytes()) == []


@pytest.mark.parametrize("name", EVERY)
def test_its_canonical_form_is_valid_too(name: str) -> None:
    assert invalidities(score(name).canonical) == []


@pytest.mark.parametrize("name", EVERY)
def test_is_read_without_repairs(name: str) -> None:
    assert score(name).oddities == ()
    assert score(name).guesses == ()


@pytest.mark.parametrize("name", EVERY)
def test_says_that_it_is_invented(name: str) -> None:
    assert score(name).composer.endswith("(invented)")
    if name in COMPOSED:
        text = _path(name).read_text(encoding="utf-8")
        assert "<rights>Invented for Postil" in text


@pytest.mark.parametrize(("name", "count"), COMPOSED.items())
def test_music21_counts_the_same_measures_and_notes(name: str, count: int) -> None:
    assert len(_measures(name)) == count == len(score(name).measures)
    pitches = [pitch for staff in (0, 1) for m in _measures(name, staff) for pitch in m.pitches]
    assert len(pitches) == len(score(name).notes)


@pytest.mark.parametrize(("name", "count"), COMPOSED.items())
def test_its_length_is_that_of_a_short_piece(name: str, count: int) -> None:
    metre = analysis(name).inferred_metre
    quarters = analysis(name).duration_quarters
    measures = count if metre is None else quarters / metre.value.measure_quarters
    assert 24 <= measures <= 80


@pytest.mark.parametrize("name", EVERY)
def test_lies_on_two_staves_and_under_two_hands(name: str) -> None:
    notes = score(name).notes
    assert set(notes.staff.tolist()) == {1, 2}
    for staff in (1, 2):
        for onset in np.unique(notes.onset[notes.staff == staff]):
            struck = notes.midi_pitch[(notes.staff == staff) & (notes.onset == onset)]
            assert int(struck.max() - struck.min()) <= NINTH_SEMITONES


@pytest.mark.parametrize("name", EVERY)
def test_has_dynamics_slurs_and_a_tempo_word(name: str) -> None:
    text = _path(name).read_text(encoding="utf-8")
    for sign in ("<dynamics>", '<slur type="start"', "<metronome", "<words"):
        assert sign in text


# (a) Written repeats, endings, D.S. al Coda

PLAYED = [*range(10), *range(2, 8), *range(10, 20), *range(12, 28), *range(2, 8), 10, 11]
PLAYED += range(28, 36)


def test_the_lamplighter_is_played_as_its_signs_say() -> None:
    assert list(analysis("lamplighters_round").playing_order.measure_indices) == PLAYED


def test_music21_sees_the_lamplighters_signs() -> None:
    signs = [
        (type(sign).__name__, sign.getContextByClass("Measure").number)
        for sign in outside("lamplighters_round").parts[0].recurse()
        if isinstance(sign, music21.repeat.RepeatExpression)
    ]
    assert signs == [("Segno", 3), ("Coda", 12), ("DalSegnoAlCoda", 28), ("Coda", 29)]
    brackets = outside("lamplighters_round").parts[0].recurse().getElementsByClass("RepeatBracket")
    spans = [(each.number, [m.number for m in each.getSpannedElements()]) for each in brackets]
    assert spans == [("1", [9, 10]), ("2", [11, 12])]


def test_music21_expands_the_lamplighters_repeats_and_endings_alike() -> None:
    """Without the jump: after one, music21 9.9 plays the first ending again at the first pass."""
    part = music21.converter.parse(_path("lamplighters_round"), forceSource=True).parts[0]
    for sign in list(part.recurse().getElementsByClass("RepeatExpression")):
        sign.activeSite.remove(sign)
    expanded = part.expandRepeats().getElementsByClass("Measure")
    first_pass = [*PLAYED[:42], *range(28, 36)]
    written = _measures("lamplighters_round")
    assert [_content(m) for m in expanded] == [_content(written[index]) for index in first_pass]


def _content(measure: Any) -> list[tuple[str, ...]]:
    return [tuple(p.nameWithOctave for p in note.pitches) for note in measure.recurse().notes]


# (b) The four forms of the minor, and a raised fourth


def test_the_four_windows_move_through_four_forms_and_a_raised_fourth() -> None:
    found = [(each.value.scale, each.value.altered) for each in _scales("four_windows")]
    assert found == [
        ("natural minor", ()),
        ("harmonic minor", ()),
        ("melodic minor", ()),
        ("dorian", ()),
        ("dorian", ("#4",)),
        ("natural minor", ()),
    ]
    assert {each.value.tonic for each in _scales("four_windows")} == {4}  # E


@pytest.mark.parametrize(
    ("first", "last", "names"),
    [
        (1, 16, "MinorScale"),
        (17, 32, "HarmonicMinorScale"),
        (33, 48, "MelodicMinorScale"),
        (49, 62, "DorianScale"),
    ],
)
def test_music21s_scales_hold_the_notes_of_each_window(first: int, last: int, names: str) -> None:
    made = getattr(music21.scale, names)("E")
    expected = {p.name for p in made.getPitches("E4", "E5", direction=ASCENDING)}
    assert _pitch_names("four_windows", first, last) == expected


def test_the_raised_fourth_stands_for_the_fourth() -> None:
    dorian = {p.name for p in music21.scale.DorianScale("E").getPitches("E4", "E5")}
    assert _pitch_names("four_windows", 63, 70) == dorian - {"A"} | {"A#"}


# (c) Unbarred, compound, in a mode


def test_the_wheel_has_no_metre_and_a_compound_one_is_inferred() -> None:
    found = analysis("wheel_at_oreby")
    assert found.is_unbarred
    assert found.inferred_metre is not None
    assert found.inferred_metre.value.signature == "6/8"
    assert found.inferred_metre.confidence > 0.8
    signatures = outside("wheel_at_oreby").recurse().getElementsByClass("TimeSignature")
    assert [each.ratioString for each in signatures if not isinstance(each, _senza_misura())] == []


def _senza_misura() -> type:
    made: type = music21.meter.SenzaMisuraTimeSignature
    return made


def test_the_wheel_is_in_a_mode_and_not_in_the_minor() -> None:
    assert [each.value.name for each in _scales("wheel_at_oreby")] == ["D Mixolydian"]
    expected = {p.name for p in music21.scale.MixolydianScale("D").getPitches("D4", "D5")}
    assert _pitch_names("wheel_at_oreby", 1, 11) == expected


def test_the_wheel_rolls() -> None:
    patterns = {(each.value.pattern, each.passage) for each in analysis_below("wheel_at_oreby")}
    assert {pattern for pattern, _ in patterns} == {"broken chords"}


def analysis_below(name: str) -> list[Any]:
    return [each for each in analysis(name).accompaniment if each.value.staff == 2]


# (d) Two tonics that compete


def test_two_bells_compete_twice() -> None:
    rivals = analysis("between_two_bells").tonic_rivals
    assert [each.value.name for each in rivals] == ["D and A", "D and A"]
    assert all(abs(each.value.balance - 0.5) < 0.1 for each in rivals)
    begins = [each.passage.start.measure_index for each in rivals if each.passage is not None]
    assert begins == [0, 26]


def test_by_music21_each_of_the_first_measures_is_one_of_the_two_chords() -> None:
    chords = [
        music21.chord.Chord(sorted(_pitch_names("between_two_bells", number, number)))
        for number in range(1, 13)
    ]
    assert all(chord.isMinorTriad() for chord in chords)
    assert [chord.root().name for chord in chords].count("D") == 6
    assert {chord.root().name for chord in chords} == {"D", "A"}


# (e) A rondo whose returns are varied, transposed and shortened


def test_the_carousels_refrain_returns_varied_transposed_and_shortened() -> None:
    returns = [
        (each.value.label, (each.value.relation or "").split("+"))
        for each in analysis("carousel").form.sections
        if each.value.of is not None
    ]
    relations = [relation for _, relation in returns]
    assert "varied" in relations[0]
    assert "transposed" in relations[1]
    assert "shortened" in relations[2]


def test_by_music21_the_second_return_is_the_refrain_a_fourth_higher() -> None:
    for staff in (0, 1):
        measures = _measures("carousel", staff)
        refrain = [_transposed(measure) for measure in measures[:8]]
        assert [_content(measure) for measure in measures[32:40]] == refrain


def test_by_music21_the_last_return_is_six_measures_of_eight() -> None:
    measures = _measures("carousel")
    assert [_content(m) for m in measures[44:49]] == [
        _content(measures[index]) for index in (0, 1, 2, 3, 6)
    ]
    assert len(measures[16].flatten().notes) > 2 * len(measures[0].flatten().notes)


def _transposed(measure: Any) -> list[tuple[str, ...]]:
    return [
        tuple(p.transpose("P4").nameWithOctave for p in note.pitches)
        for note in measure.recurse().notes
    ]


# (f) Words in four languages


def test_the_postcards_speak_four_languages() -> None:
    languages = {
        each.meaning.language for each in analysis("four_postcards").directions if each.meaning
    }
    assert {"it", "de", "fr", "en"} <= languages


@pytest.mark.parametrize(
    ("words", "is_known"),
    [
        ("wie durch ein Fenster gesehen", False),
        ("comme une adresse effacée", False),
        ("as if the ink were still wet", False),
        ("zart hervortretend", True),
        ("sotto voce, ma parlante", True),
        ("en dehors", True),
        ("hold back", True),
    ],
)
def test_some_of_their_words_have_no_standard_meaning(words: str, is_known: bool) -> None:
    [found] = [each for each in analysis("four_postcards").directions if each.text == words]
    assert found.meaning is not None
    assert found.meaning.is_known is is_known
    texts = outside("four_postcards").recurse().getElementsByClass("TextExpression")
    assert words in [text.content for text in texts]


def test_the_reply_brings_the_first_postcard_back() -> None:
    last = analysis("four_postcards").form.sections[-1]
    assert (last.value.label, last.value.of) == ("A'", 0)
    assert last.passage is not None
    assert analysis("four_postcards").onset_quarters(last.passage.start) == Fraction(128)


def _scales(name: str) -> tuple[Any, ...]:
    return analysis(name).scale_regions
