"""The global key on passages made for the purpose."""

from __future__ import annotations

import numpy as np
import pytest

from core.analysis.key_profiles import ALBRECHT_SHANAHAN
from core.analysis.keys import KEYS, Key
from core.analysis.tonality import global_key, profile_fit
from core.score.reading import read_bytes
from core.score.score import Score

SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
CADENCE = "C4 E4 G4 C5|F4 A4 C5 F4|D4 G4 B4 F4|C4 E4 C5 C3"
"""A tune over I, IV, V7 and I; the last note is the lowest."""
MINOR_CADENCE = "A3 C4 E4 A4|D4 F4 A4 D4|E4 G#4 B4 D4|A3 C4 E4 A2"


def score_of(tune: str, *, fifths: int | None = 0, mode: str = "", signs: str = "") -> Score:
    """One voice in quarters, measures parted by ``|``; ``signs`` go into the last measure."""
    written = tune.split("|")
    body = [
        f"<measure number='{number}'>{_attributes(fifths, mode) if number == 1 else ''}"
        f"{''.join(map(_note, measure.split()))}{signs if number == len(written) else ''}</measure>"
        for number, measure in enumerate(written, start=1)
    ]
    document = (
        "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name/></score-part>"
        f"</part-list><part id='P1'>{''.join(body)}</part></score-partwise>"
    )
    return read_bytes(document.encode(), name="made.musicxml").score


def _attributes(fifths: int | None, mode: str) -> str:
    words = f"<mode>{mode}</mode>" if mode else ""
    key = f"<key><fifths>{fifths}</fifths>{words}</key>" if fifths is not None else ""
    time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
    return f"<attributes><divisions>1</divisions>{key}{time}</attributes>"


def _note(name: str) -> str:
    alter = name.count("#") - name[1:].count("b")
    return (
        f"<note><pitch><step>{name[0]}</step><alter>{alter}</alter><octave>{name[-1]}</octave>"
        "</pitch><duration>1</duration></note>"
    )


def key_of(score: Score) -> str:
    found = global_key(score)
    assert found is not None
    return found.value.name


def transposed(tune: str, fifths: int) -> str:
    """The tune moved along the line of fifths, spelled so."""
    return "|".join(
        " ".join(_moved(name, fifths) for name in measure.split()) for measure in tune.split("|")
    )


def _moved(name: str, fifths: int) -> str:
    line = "FCGDAEB"
    place = line.index(name[0]) + 7 * (name.count("#") - name[1:].count("b")) + fifths
    alter, letter = divmod(place, 7)
    before = SEMITONES[name[0]] + name.count("#") - name[1:].count("b")
    after = SEMITONES[line[letter]] + alter
    # The nearer of the two directions, so that the order of high and low is kept.
    move = (7 * fifths + 5) % 12 - 5
    octave = int(name[-1]) + (before + move - after) // 12
    return f"{line[letter]}{'#' * alter}{'b' * -alter}{octave}"


def test_cadences_tell_their_keys() -> None:
    assert key_of(score_of(CADENCE)) == "C major"
    assert key_of(score_of(MINOR_CADENCE)) == "A minor"


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.name)
def test_moved_along_the_line_of_fifths_the_key_moves_along(key: Key) -> None:
    tune = CADENCE if key.mode == "major" else MINOR_CADENCE
    assert key_of(score_of(transposed(tune, key.signature), fifths=key.signature)) == key.name


def test_without_a_signature_the_spelling_parts_enharmonic_keys() -> None:
    assert key_of(score_of(transposed(CADENCE, 6), fifths=None)) == "F# major"
    assert key_of(score_of(transposed(CADENCE, -6), fifths=None)) == "Gb major"


@pytest.mark.parametrize("fifths", [-3, -1, 1, 3, 6])
def test_the_signature_is_not_the_answer(fifths: int) -> None:
    assert key_of(score_of(CADENCE, fifths=fifths)) == "C major"
    assert key_of(score_of(MINOR_CADENCE, fifths=fifths)) == "A minor"


def test_the_signature_is_evidence() -> None:
    without, with_signature = (global_key(score_of(CADENCE, fifths=f)) for f in (None, 0))
    assert without is not None
    assert with_signature is not None
    assert with_signature.confidence > without.confidence


@pytest.mark.parametrize("mode", ["major", "minor", "dorian"])
def test_the_word_for_the_mode_is_not_read(mode: str) -> None:
    with_word = global_key(score_of(MINOR_CADENCE, mode=mode))
    without = global_key(score_of(MINOR_CADENCE))
    assert with_word == without


def test_the_close_is_where_the_playing_ends() -> None:
    # C major, then A minor; D.C. al Fine ends in C.
    fine = "<direction><sound fine='yes'/></direction>"
    document = score_of(f"{CADENCE}|{MINOR_CADENCE}|{MINOR_CADENCE}")
    assert key_of(document) == "A minor"
    tune = f"{CADENCE}|{MINOR_CADENCE}|{MINOR_CADENCE}"
    marked = score_of(tune, signs="<direction><sound dacapo='yes'/></direction>")
    canonical = marked.canonical.decode().replace("'", '"')
    head, tail = canonical.split('number="5"', 1)
    before = head.rindex("</measure>")
    canonical = head[:before] + fine + head[before:] + 'number="5"' + tail
    assert key_of(read_bytes(canonical.encode(), name="made.musicxml").score) == "C major"


def test_evidence_is_the_last_chord_and_the_tonic_triad_of_the_opening() -> None:
    score = score_of(CADENCE)
    found = global_key(score)
    assert found is not None
    last, *opening = (score.notes.row_of(note_id) for note_id in found.evidence)
    assert score.notes.midi_pitch[last] == 48
    assert score.notes.midi_pitch[opening].tolist() == [60, 64, 67, 72, 72]


def test_confidences_are_shares() -> None:
    found = global_key(score_of("C4 D4 E4 G4|A4 G4 E4 D4"))
    assert found is not None
    shares = [share for _, share in found.alternatives]
    assert shares == sorted(shares, reverse=True)
    assert found.confidence >= shares[0] >= 0.01
    assert found.confidence + sum(shares) <= 1


def test_an_ambiguous_tune_is_less_certain_than_a_cadence() -> None:
    open_tune = global_key(score_of("E4 G4 A4 G4|E4 G4 A4 E4", fifths=None))
    cadence = global_key(score_of(CADENCE))
    assert open_tune is not None
    assert cadence is not None
    assert open_tune.confidence < 0.8 < cadence.confidence


def test_a_profile_fits_its_own_key_best() -> None:
    for index, key in enumerate(KEYS):
        weights = np.roll(np.array(ALBRECHT_SHANAHAN[key.mode], float), key.pitch_class)
        fits = profile_fit(weights)
        assert fits[index] == pytest.approx(1.0)
        # Only the same tonic in the same mode, spelled otherwise, fits as well.
        same = [k.pitch_class == key.pitch_class and k.mode == key.mode for k in KEYS]
        assert np.all((fits > 1 - 1e-9) == same)


def test_even_weights_fit_nothing() -> None:
    assert not profile_fit(np.ones(12)).any()


def test_names_and_signatures_of_keys() -> None:
    assert [key.name for key in KEYS[:3]] == ["Cb major", "Gb major", "Db major"]
    assert [key.name for key in KEYS[-3:]] == ["G# minor", "D# minor", "A# minor"]
    assert [key.signature for key in KEYS] == [*range(-7, 8), *range(-7, 8)]
