"""The report of ``postil analyse`` for a reader: keys, scales and cadences by measures."""

from __future__ import annotations

from dataclasses import replace

from app.report import report
from core.notebook.analyses import analyse_file
from core.resources import sample_library
from tests.app import barcarolle


def column(text: str, label: str) -> list[str]:
    """The lines from a label up to the next one, without it."""
    lines = text.splitlines()
    first = next(index for index, line in enumerate(lines) if line.startswith(f"  {label} "))
    found = [lines[first][14:]]
    for line in lines[first + 1 :]:
        if line[2:12].strip():
            break
        found.append(line[14:])
    return found


def test_keys_are_told_by_measures_as_the_window_tells_them() -> None:
    keys = column(report(barcarolle.analysis(), path="x"), "keys")
    assert keys[0].startswith("m. 1-4  G Dorian (")
    assert keys[1].startswith("m. 5-8  Bb major (")
    assert keys[-1].startswith("m. 20-24  G major (")


def test_scales_are_told_where_they_say_more_than_the_key() -> None:
    scales = column(report(barcarolle.analysis(), path="x"), "scales")
    assert scales[0].startswith("m. 1-4  G Dorian, second bent (")
    assert not any("Bb major" in line for line in scales)


def test_a_scale_under_two_keys_is_told_once() -> None:
    analysis = analyse_file(sample_library() / "lamplighters_round.musicxml")
    text = report(analysis, path="x")
    assert len(column(text, "keys")) == 3
    [scale] = column(text, "scales")
    assert scale.startswith("m. 1-36  D major, fourth and fifth bent (")


def test_cadences_are_told_and_what_does_not_fit_is_counted() -> None:
    analysis = barcarolle.analysis()
    assert column(report(analysis, path="x"), "cadences")[0] == "m. 4  authentic in G minor"
    many = replace(analysis, cadences=analysis.cadences[:1] * 11)
    assert column(report(many, path="x"), "cadences")[-1] == "and 3 more"


def test_what_there_is_not_has_no_line() -> None:
    text = report(barcarolle.analysis(), path="x")
    assert not any(line.startswith("  rivals") for line in text.splitlines())


def test_what_the_format_could_not_say_is_told_as_guessed() -> None:
    guessing = replace(barcarolle.analysis(), guesses=("The spelling is a guess.",))
    assert column(report(guessing, path="x"), "guessed") == ["The spelling is a guess."]
