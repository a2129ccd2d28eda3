"""The README: keys that are in the table, commands that there are, pictures of the real window."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtGui import QImage

from app.desk.action_table import ACTIONS
from app.main import run

ROOT = Path(__file__).parents[3]
README = (ROOT / "README.md").read_text(encoding="utf-8")
KEY = re.compile(r"`((?:(?:Ctrl|Shift|Alt)\+)+[^`]+|F\d+)`")
PICTURE = re.compile(r"!\[([^\]]+)\]\(([^)]+)\)", re.DOTALL)
COMMAND = re.compile(r"\.venv/bin/postil ([a-z-]+)")
MOST_BYTES = 400_000


def test_its_keys_are_in_the_table() -> None:
    named = set(KEY.findall(README))
    assert {"Ctrl+O", "Ctrl+K", "F1"} <= named
    assert named <= {key for action in ACTIONS for key in action.keys}


@pytest.mark.parametrize("command", sorted(set(COMMAND.findall(README))))
def test_its_commands_are_there(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        run([command, "--help"])
    assert stop.value.code == 0
    assert command in capsys.readouterr().out


def test_its_pictures_are_there_described_and_of_moderate_size() -> None:
    pictures = PICTURE.findall(README)
    assert len(pictures) == 2
    for words, name in pictures:
        assert len(words) > 20
        path = ROOT / name
        assert path.stat().st_size < MOST_BYTES
        assert QImage(str(path)).width() == 1440


def test_its_links_lead_somewhere() -> None:
    targets = re.findall(r"\]\(([^)#]+)\)", README)
    assert not [target for target in targets if not (ROOT / target).exists()]
