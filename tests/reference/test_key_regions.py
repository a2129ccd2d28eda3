"""Key regions against the Roman-numeral analyses of Bach chorales.

Source: the analyses of chorales 1 to 20 of Riemenschneider's edition by Andrew Jones, proofread by
Dmitri Tymoczko and Hamish Robb, which the music21 corpus carries beside the scores. Left out, since
score and analysis don't lie on one another: two whose measures are counted otherwise, two whose
score is in another key, one whose score is not there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from core.analysis.key_regions import key_regions
from core.analysis.keys import Key
from core.analysis.tonality import global_key
from core.score.reading import read_score
from core.score.score import Score

music21 = pytest.importorskip("music21")
CHORALES = Path(music21.__file__).parent / "corpus" / "bach"
_LETTERS = "FCGDAEB"
LEAST_SHARE = 0.78
"""Of the beats, on average."""
OTHERWISE_COUNTED, IN_ANOTHER_KEY, NOT_THERE = {11, 15}, {14, 17}, {9}
CHOSEN = sorted({*range(1, 21)} - OTHERWISE_COUNTED - IN_ANOTHER_KEY - NOT_THERE)


def analysed_keys(text: str) -> Iterator[tuple[str, Fraction, Key]]:
    """Printed measure number, beat from 0 and key of every change of key."""
    for line in text.splitlines():
        words = line.split()
        if not words or not re.fullmatch(r"m\d+", words[0]):
            continue
        beat = Fraction(0)
        for word in words[1:]:
            if re.fullmatch(r"b[\d.]+", word):
                beat = Fraction(word[1:]) - 1
            elif re.fullmatch(r"[A-Ga-g][#b]*:", word):
                yield words[0][1:], beat, _key(word[:-1])


def _key(word: str) -> Key:
    signs = word.count("#") - word[1:].count("b")
    tonic = _LETTERS.index(word[0].upper()) - 1 + 7 * signs
    return Key(tonic=tonic, mode="minor" if word[0].islower() else "major")


def beats_in(score: Score, changes: list[tuple[str, Fraction, Key]]) -> dict[int, Key]:
    """The analysed key at each quarter of a score."""
    measures = {measure.number: measure for measure in reversed(score.measures)}
    starts = []
    for number, beat, key in changes:
        if number in measures:
            measure = measures[number]
            short = (measure.nominal_duration or measure.duration) - measure.duration
            # Beats of a pickup count from where its full measure would have begun.
            missing = short if measure.index == 0 else 0
            onset = measure.onset + int(beat * score.ticks_per_quarter) - missing
            starts.append((max(onset, 0), key))
    starts[0] = (0, starts[0][1])
    quarters = range(0, score.duration, score.ticks_per_quarter)
    return {at: [key for start, key in starts if start <= at][-1] for at in quarters}


def chorale(number: int) -> tuple[str, Score]:
    """The analysis as it stands, and the score."""
    text = (CHORALES / "choraleAnalyses" / f"riemenschneider{number:03}.rntxt").read_text()
    found = re.search(r"BWV: *([\d.]+)", text)
    assert found is not None
    (path,) = CHORALES.glob(f"bwv{found[1]}.mxl")
    return text, read_score(path).score


def agreement(number: int) -> float:
    """Share of the quarters of a chorale in which the key is the analyst's."""
    text, score = chorale(number)
    analysed = beats_in(score, list(analysed_keys(text)))
    mine = [
        (score.onset_of(region.passage.start), region.value)
        for region in key_regions(score, global_key(score))
        if region.passage is not None
    ]
    right = [
        _same([key for start, key in mine if start <= at][-1], key) for at, key in analysed.items()
    ]
    return sum(right) / len(right)


def _same(first: Key, second: Key) -> bool:
    return (first.pitch_class, first.mode) == (second.pitch_class, second.mode)


def test_the_keys_of_chorales_agree_with_their_analyst() -> None:
    shares = [agreement(number) for number in CHOSEN]
    assert sum(shares) / len(shares) >= LEAST_SHARE
    assert min(shares) >= 0.5


@pytest.mark.parametrize("number", CHOSEN)
def test_score_and_analysis_count_their_measures_alike(number: int) -> None:
    text, score = chorale(number)
    last = max(int(found) for found in re.findall(r"^m(\d+) ", text, flags=re.MULTILINE))
    assert abs(int(score.measures[-1].number) - last) <= 1


def test_the_analyses_are_read_as_they_stand() -> None:
    text = "m0 b3 G: I\nm4 V || b3 e: i\nm5 V6 b2.5 Bb: I\nNote: a: b"
    assert [(m, b, k.name) for m, b, k in analysed_keys(text)] == [
        ("0", 2, "G major"),
        ("4", 2, "E minor"),
        ("5", Fraction(3, 2), "Bb major"),
    ]
