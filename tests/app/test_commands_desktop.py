"""Postil on the desktop: files in their places by the specifications, and all of them away again.

Sources: freedesktop.org, Desktop Entry Specification 1.4, Icon Theme Specification 0.13, Shared
MIME-info Database 0.21, XDG Base Directory Specification 0.8.
"""

from __future__ import annotations

import configparser
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree
from PySide6.QtCore import QByteArray
from PySide6.QtGui import QImage
from PySide6.QtSvg import QSvgRenderer

from app import commands_desktop
from app.commands_desktop import ICON_SIZES, KINDS, NOT_HERE, command
from app.main import run
from core.resources import resources
from core.score.formats.converting import SUFFIXES

pytestmark = pytest.mark.skipif(
    sys.platform in {"win32", "darwin"}, reason="these desktops have other ways"
)

MIME = "{http://www.freedesktop.org/standards/shared-mime-info}"


@pytest.fixture
def data(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    folder = tmp_path / "data of mine"
    monkeypatch.setenv("XDG_DATA_HOME", str(folder))
    return folder


@pytest.fixture
def installed(data: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(sys, "argv", ['/opt/my $music"s`/50%/postil'])
    assert run(["install-desktop"]) == 0
    return data


def entry(path: Path) -> configparser.SectionProxy:
    parser = configparser.RawConfigParser(interpolation=None)
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read_string(path.read_text(encoding="utf-8"))
    assert parser.sections() == ["Desktop Entry"]
    return parser["Desktop Entry"]


def arguments(value: str) -> list[str]:
    """A value of Exec taken apart, as the specification says."""
    value = re.sub(r"\\(.)", lambda found: {"s": " ", "\\": "\\"}[found[1]], value)
    found = re.findall(r'"((?:[^"\\]|\\["`$\\])*)"|(\S+)', value)
    return [
        re.sub(r'\\(["`$\\])', r"\1", quoted).replace("%%", "%") if quoted else bare
        for quoted, bare in found
    ]


def files_in(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_everything_is_put_in_its_place(installed: Path) -> None:
    ours = {name for name in files_in(installed) if "postil" in name}
    assert ours == {
        "applications/postil.desktop",
        "applications/postil-open.desktop",
        "mime/packages/postil.xml",
        "icons/hicolor/scalable/apps/postil.svg",
        *(f"icons/hicolor/{size}x{size}/apps/postil.png" for size in ICON_SIZES),
    } | {name for name in ours if name == "mime/application/x-postil-notebook.xml"}


def test_all_of_it_goes_away_again(installed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["install-desktop", "--remove"]) == 0
    assert not [name for name in files_in(installed) if "postil" in name]
    assert capsys.readouterr().out.endswith("Postil is no longer in the menu.\n")
    assert run(["install-desktop", "--remove"]) == 0
    assert capsys.readouterr().out == "Postil was not in the menu.\n"


def test_the_menu_opens_the_window_and_files_open_scores(installed: Path) -> None:
    menu = entry(installed / "applications" / "postil.desktop")
    program = '/opt/my $music"s`/50%/postil'
    assert arguments(menu["Exec"]) == [program]
    assert "NoDisplay" not in menu
    assert "MimeType" not in menu
    opening = entry(installed / "applications" / "postil-open.desktop")
    assert arguments(opening["Exec"]) == [program, "open", "%F"]
    assert opening["NoDisplay"] == "true"
    assert opening["MimeType"].split(";") == [*KINDS, ""]
    assert menu["Icon"] == opening["Icon"] == "postil"


def test_the_entries_are_valid(installed: Path) -> None:
    """Required keys, known types, registered categories: what a validator looks for."""
    for path in (installed / "applications").glob("postil*.desktop"):
        found = entry(path)
        assert {"Type", "Name", "Exec"} <= set(found)
        assert "@" not in path.read_text(encoding="utf-8")
        assert found["Type"] == "Application"
        for key in ("Terminal", "StartupNotify"):
            assert found[key] in {"true", "false"}
        if (validate := shutil.which("desktop-file-validate")) is not None:
            said = subprocess.run(
                [validate, str(path)], capture_output=True, text=True, check=False
            )
            assert said.stdout == ""


def test_what_runs_is_found_without_its_name(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(sys, "argv", ["pytest"])
    monkeypatch.setattr(sys, "executable", str(tmp_path / "bin" / "python"))
    assert arguments(command()) == [str(tmp_path / "bin" / "python"), "-m", "app.main"]
    (tmp_path / "bin").mkdir()
    (tmp_path / "bin" / "postil").touch()
    assert arguments(command()) == [str(tmp_path / "bin" / "postil")]


def test_a_data_folder_that_is_not_absolute_counts_as_none(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", "data")
    assert commands_desktop.data_home() == Path.home() / ".local" / "share"


def test_every_suffix_that_is_read_has_a_kind() -> None:
    tree = etree.parse(resources() / "desktop" / "postil.xml")
    kinds = {node.get("type"): node for node in tree.getroot().iter(f"{MIME}mime-type")}
    assert set(kinds) == set(KINDS)
    globs = {node.get("pattern") for node in tree.getroot().iter(f"{MIME}glob")}
    # Of .xml the first element decides, or all the world's tables would open as music.
    assert globs == {f"*{suffix}" for suffix in SUFFIXES if suffix != ".xml"} | {"*.postil"}
    roots = {node.get("localName") for node in tree.getroot().iter(f"{MIME}root-XML")}
    assert roots == {"score-partwise", "score-timewise", "mei"}


@pytest.mark.skipif(
    shutil.which("update-mime-database") is None, reason="no shared-mime-info on this machine"
)
def test_the_desktop_takes_the_kinds(installed: Path) -> None:
    globs = (installed / "mime" / "globs2").read_text(encoding="utf-8").splitlines()
    assert "50:application/vnd.recordare.musicxml:*.mxl" in globs
    assert "50:application/x-postil-notebook:*.postil" in globs
    namespaces = (installed / "mime" / "XMLnamespaces").read_text(encoding="utf-8")
    assert "http://www.music-encoding.org/ns/mei mei application/mei+xml" in namespaces


@pytest.mark.parametrize("size", ICON_SIZES)
def test_the_icon_is_drawn_in_its_size(size: int) -> None:
    """As ``tests/pictures/draw_icons.py`` draws it, and not only grey."""
    picture = QImage(str(resources() / "icons" / f"postil-{size}.png"))
    assert (picture.width(), picture.height()) == (size, size)
    assert picture.pixelColor(0, 0).alpha() == 0
    ink = [
        picture.pixelColor(x, y)
        for x in range(size // 2)
        for y in range(size)
        if picture.pixelColor(x, y).red() > picture.pixelColor(x, y).blue() + 50
    ]
    assert ink


def test_the_drawing_can_be_drawn() -> None:
    data = (resources() / "icons" / "postil.svg").read_bytes()
    assert QSvgRenderer(QByteArray(data)).isValid()


@pytest.mark.parametrize("platform", ["win32", "darwin"])
@pytest.mark.parametrize("options", [[], ["--remove"]])
def test_other_desktops_are_told_so(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    data: Path,
    platform: str,
    options: list[str],
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    assert run(["install-desktop", *options]) == 1
    assert capsys.readouterr().err == f"{NOT_HERE}\n"
    assert not data.exists()
