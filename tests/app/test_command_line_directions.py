"""``postil directions`` as a person meets it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from app.main import run

ROOT = Path(__file__).parents[2]
FIELDS = {
    "text": str,
    "language": str,
    "category": list,
    "normal_form": str,
    "translation": str,
    "known": bool,
    "alternatives": list,
    "confidence": float,
}


def postil(*arguments: str, given: str | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "app.main", "directions", *arguments],
        cwd=ROOT,
        input=given,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )


def test_one_object_a_direction_in_order(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["directions", "--json", "poco rit.", "sehr zart"]) == 0
    first, second = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert {name: type(value) for name, value in first.items()} == FIELDS
    assert first["text"] == "poco rit."
    assert first["normal_form"] == "poco ritardando"
    assert first["translation"] == "slowing down a little"
    assert first["category"] == ["tempo change"]
    assert first["known"] is True
    assert first["alternatives"][0] == {
        "normal_form": "poco ritenuto",
        "translation": "held back a little",
    }
    assert (second["language"], second["translation"]) == ("de", "very tender")


def test_standard_input_is_read_a_direction_a_line() -> None:
    done = postil("--stdin", "--json", given="dolce\n\nxyzzy\nTrès doux\r\n")
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert [line["text"] for line in lines] == ["dolce", "", "xyzzy", "Très doux"]
    assert [line["known"] for line in lines] == [True, False, False, True]
    assert [line["translation"] for line in lines][1:3] == [None, None]
    assert (done.returncode, done.stderr) == (0, "")


def test_another_language(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["directions", "--to", "fr", "--json", "sempre p"]) == 0
    assert json.loads(capsys.readouterr().out)["translation"] == "toujours doux"


def test_without_json_it_is_told_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["directions", "rit.", "comme un oiseau"]) == 0
    printed = capsys.readouterr().out
    assert "slowing down" in printed
    assert "held back" in printed
    assert "no standard meaning" in printed


def test_words_or_standard_input_and_not_both(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["directions"]) == 2
    assert "give the words to read, or --stdin" in capsys.readouterr().err
    assert run(["directions", "--stdin", "dolce"]) == 2


def test_a_language_without_renderings_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        run(["directions", "--to", "xx", "dolce"])
    assert stop.value.code == 2
    assert "invalid choice: 'xx'" in capsys.readouterr().err


def test_bytes_that_are_no_text_end_nothing() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "app.main", "directions", "--stdin", "--json"],
        cwd=ROOT,
        input=b"\xff\xfe\ndolce\n",
        capture_output=True,
        timeout=60,
        check=False,
    )
    lines = [json.loads(line) for line in done.stdout.decode().splitlines()]
    assert [line["known"] for line in lines] == [False, True]
    assert done.returncode == 0
